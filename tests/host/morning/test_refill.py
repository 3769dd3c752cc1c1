"""When the source wants refilling: the sample log by hand, and nights in the plant.

The sample's nights take 320 L, 88 L and nothing; only the first was whole.
"""

import json
from dataclasses import replace

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.morning.report import json_document
from rillkeeper.morning.report.refill import refill_of
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.runlog.source import sunk_along
from rillkeeper.site.file import demo_site
from rillkeeper.verdict import ACT, GOOD, LOOK, Answer
from rillsim.replay import replay
from rillsim.site import SetSpec, Site, WeatherSpec
from tests.host.runlog.sample_log import sample

DRY = replace(demo_site(), faults=(), battery_trips=(), weather=WeatherSpec(rain_chance=0.0))


def sourced(**water: float) -> Site:
    return replace(DRY, water=replace(DRY.water, **{"fall_m_per_day": 0.0, **water}))


def of_sample(**water: float) -> Report:
    return report_of(sample().lines, sourced(**water))


def answer(report: Report) -> Answer:
    return verdict_of(report)["source"]


def test_what_is_left_and_until_when() -> None:
    """1000 L less 408 L are 592 L: one night more, and the second finds 272 L."""
    report = of_sample(stored_m3=1.0)
    refill = refill_of(report)
    assert refill
    assert refill.left_m3 == pytest.approx(0.592)
    assert refill.night_m3 == pytest.approx(0.320)
    assert refill.nights == 1.0
    said = answer(report)
    assert said.state == LOOK
    assert said.short == "By the evening of Fri 5 Jun"
    assert (
        said.detail == "By the litres counted 592 L of 1000 L were left, and a night takes 320 L."
    )


@pytest.mark.parametrize(
    ("stored_m3", "state", "short"),
    [
        (0.6, ACT, "Before the next night"),
        (2.0, GOOD, "By the evening of Mon 8 Jun"),
        (0.25, LOOK, "Not known"),
    ],
)
def test_the_states(stored_m3: float, state: str, short: str) -> None:
    """192 L are no night; 1592 L are four; 408 L out of 250 L were refilled meanwhile."""
    said = answer(of_sample(stored_m3=stored_m3))
    assert (said.state, said.short) == (state, short)


def test_a_spring_comes_in_from_noon_to_noon_and_runs_over() -> None:
    """0.1 L/min are 144 L a day: 600 - 320 + 84 (14 h) + 60 - 88 + 84 + 144 = 564 L, brim 600."""
    refill = refill_of(of_sample(stored_m3=0.6, inflow_m3_s=1e-4 / 60.0))
    assert refill
    assert refill.left_m3 == pytest.approx(0.564, abs=0.001)
    enough = of_sample(stored_m3=0.6, inflow_m3_s=3e-4 / 60.0)
    said = answer(enough)
    assert (said.state, said.short) == (GOOD, "It holds out")
    assert json.loads(json_document.text_of(enough))["source"]["nights"] is None


def test_what_comes_in_before_the_evening_counts() -> None:
    """4.8 L an hour: 290 L at the last noon are 340 L at 22:30, and a night takes 320 L."""
    refill = refill_of(of_sample(stored_m3=0.4, full_m3=0.4, inflow_m3_s=0.0048 / 3600.0))
    assert refill
    assert refill.left_m3 == pytest.approx(0.290, abs=0.001)
    assert refill.nights == 1.0


def test_what_falls_by_itself_is_not_there() -> None:
    """A tank of 1 m2 that seeps by 10 cm a day: 300 L less after three, and 100 L a night."""
    refill = refill_of(of_sample(stored_m3=1.6, cover_m=1.6, fall_m_per_day=0.1))
    assert refill
    assert refill.left_m3 == pytest.approx(1.6 - 0.408 - 0.3)
    assert refill.nights == 2.0


def test_a_roof_asks_for_the_rain() -> None:
    report = of_sample(stored_m3=1.0, roof_m2=30.0)
    assert "Rain is not counted in" in answer(report).detail
    wet = replace(sourced(stored_m3=1.0, roof_m2=100.0), weather=WeatherSpec(rain_chance=0.5))
    # 100 m2 x 3 mm x 0.8 are 240 L a day, 105 L of it from noon to 22:30: the evenings find 697,
    # 617, 537, 457, 377 and 297 L.
    said = answer(report_of(sample().lines, wet))
    assert said.detail.endswith("With the usual rain: 5 nights.")


def test_nobody_asks_of_a_pond() -> None:
    for report in (of_sample(), report_of(sample().lines), report_of([], sourced(stored_m3=1.0))):
        assert refill_of(report) is None
        assert "source" not in [one.key for one in verdict_of(report).answers]
    assert json.loads(json_document.text_of(of_sample()))["source"] is None


def test_count_and_plant_agree() -> None:
    """Two nights in the plant: what the board counts and what is there, to a fiftieth."""
    site = replace(
        sourced(stored_m3=1.0, cover_m=1.0, lift_m=0.5), sets=(SetSpec(22 * 3600, amount=12.0),)
    )
    week = replay(site, settings_of(site), nights=2, fast=True)
    refill = refill_of(report_of(week.log, site, week.truth, week.trace))
    assert refill
    assert refill.left_m3 == pytest.approx(float(week.trace.source_m3[-1]), abs=0.02)
    runs = nights_of(read_log(week.log), site.board).runs
    sunk = sunk_along(site, runs)[runs[-1].place]
    assert sunk.end_m == pytest.approx(1.0 - refill.left_m3, abs=1e-6)
    assert sunk.start_m < sunk.end_m - 0.15
