"""What the page shows is what the sizing finds; still water by the law of hydrostatics."""

from dataclasses import replace

import numpy as np
import pytest

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.advise import cost_between
from rillkeeper.design.size.facts import facts_of
from rillkeeper.design.size.staircases import heads_of
from rillkeeper.design.size.workings import work_out as size
from rillkeeper.desk.answer import PARTS, document, work_out
from rillkeeper.site.change import with_value
from rillkeeper.site.file import demo_site
from tests.host.desk.serving import Open

DEMO = demo_site()


@pytest.fixture(scope="module")
def sized() -> object:
    return size(DEMO)


def test_the_whole_answer_is_that_of_the_sizing() -> None:
    sized, worked = size(DEMO), work_out(DEMO, None, whole=True)
    assert worked.facts == sized.facts
    assert worked.verdict == sized.verdict
    told = document(worked, DEMO)
    assert told["sentence"] == sized.verdict.sentence
    assert [one["key"] for one in told["answers"]] == [one.key for one in sized.verdict.answers]
    assert told["volts"]["rest"] == round(sized.volts.rest_v, 3)
    assert [one["on"] for one in told["volts"]["steps"]] == [
        round(one.loaded_v, 3) for one in sized.volts.steps
    ]


def test_the_quick_answer_leaves_open_only_what_it_did_not_ask() -> None:
    quick, whole = (document(work_out(DEMO, None, whole=way), DEMO) for way in (False, True))
    of_whole = {one["key"]: one for one in whole["answers"]}
    assert {one["key"] for one in quick["answers"]} == set(of_whole) - {"limits"}
    for one in quick["answers"]:
        if one["key"] != "battery":  # The size that would do is looked for by the whole one only.
            assert one == of_whole[one["key"]]
    for name in ("scene", "pressure", "volts", "plot"):
        assert quick[name] == whole[name]


def test_every_question_has_its_place_in_the_drawing() -> None:
    sites = [
        DEMO,
        with_value(DEMO, "water.lift", 9.0),
        with_value(with_value(DEMO, "water.lift", -4.0), "line.rise", 1.0),
        with_value(DEMO, "water.stored", 3.0),
    ]
    for site in sites:
        for one in work_out(site, None, whole=True).verdict.answers:
            assert one.key in PARTS


def test_the_pressures_close_on_the_operating_point() -> None:
    worked = work_out(DEMO, None, whole=False)
    point = worked.drawn.middle.point
    marks = {one["name"]: one for one in document(worked, DEMO)["pressure"]["marks"]}
    assert marks["pump"]["on"] == pytest.approx(point.pump_pa / 1e5, abs=2e-4)
    assert marks["suction line and lift"]["on"] == pytest.approx(point.inlet_pa / 1e5, abs=2e-4)
    assert marks["stand"]["on"] == pytest.approx(point.nozzle_pa / 1e5, abs=2e-4)
    assert marks["nozzle"]["on"] == pytest.approx(0.0, abs=2e-4)


@pytest.mark.published
@pytest.mark.parametrize(("lift_m", "rise_m"), [(1.4, 1.2), (0.5, 6.0), (-1.0, 3.0), (2.0, 0.4)])
def test_standing_water_weighs_as_the_law_of_hydrostatics_says(
    lift_m: float, rise_m: float
) -> None:
    """p = rho g h (Stevin): at 17 C water weighs 998.8 kg/m3 (CRC Handbook, from memory)."""
    site = with_value(with_value(DEMO, "water.lift", lift_m), "line.rise", rise_m)
    marks = document(work_out(site, None, whole=False), site)["pressure"]["marks"]
    off = {one["name"]: one["off"] for one in marks}
    bar_m = 998.8 * 9.80665 / 1e5
    assert off["suction line and lift"] == pytest.approx(-lift_m * bar_m, abs=5e-4)
    assert off["pump"] == pytest.approx(rise_m * bar_m, abs=5e-4)
    assert off["hose"] == pytest.approx(1.0 * bar_m, abs=5e-4), "under a stand of a metre"
    assert off["nozzle"] == pytest.approx(0.0, abs=5e-4)


def test_without_a_foot_valve_the_suction_line_hangs_empty() -> None:
    site = with_value(DEMO, "suction.foot_valve", "none")
    assert heads_of(WorkingSite(site)).still_m("lift to the pump") == 0.0
    assert heads_of(WorkingSite(site)).still_m("pump") == pytest.approx(1.2)
    below = with_value(DEMO, "line.rise", -2.0)
    assert heads_of(WorkingSite(below)).still_m("pump") == pytest.approx(0.0), "it has run out"


def test_a_full_battery_throws_farther_and_changes_no_verdict() -> None:
    full, low = (work_out(DEMO, charge, whole=False) for charge in (1.0, 0.3))
    assert full.verdict == low.verdict
    assert full.drawn.middle.point.throw_m > low.drawn.middle.point.throw_m
    assert work_out(DEMO, 0.75, whole=False).drawn.middle == WorkingSite(DEMO).middle


def test_the_map_is_the_water_of_a_night() -> None:
    worked = work_out(DEMO, None, whole=False)
    plot = document(worked, DEMO)["plot"]
    assert np.mean(plot["map"]) == pytest.approx(worked.facts.watering.set_mm, rel=0.01)
    assert plot["need"] == pytest.approx(worked.facts.watering.need_mm, abs=1e-3)


def test_a_dry_site_shows_no_figure_that_needs_water() -> None:
    site = with_value(DEMO, "water.lift", 9.0)
    told = document(work_out(site, None, whole=True), site)
    assert not told["runs"]
    shown = {one["key"]: one["value"] for one in told["figures"]}
    assert shown["nights"] == shown["throw"] == "no water"
    assert shown["weight"] == "22 kg"
    assert np.sum(told["plot"]["map"]) == 0.0


def test_what_is_changed_costs_its_rank() -> None:
    """Ranks of `parts`: a suction line 2, a battery 6, a tenth a size farther."""
    assert cost_between(DEMO, DEMO) == 0.0
    assert cost_between(DEMO, with_value(DEMO, "water.lift", 1.0)) == 0.0
    wider = with_value(DEMO, "suction.bore", 25.4e-3)
    assert cost_between(DEMO, wider) == cost_between(wider, DEMO) == 2.0
    larger = with_value(wider, "battery.capacity", 120.0)
    assert cost_between(DEMO, larger) == pytest.approx(8.1)
    assert cost_between(wider, larger) == pytest.approx(6.1)


def test_over_the_socket_it_is_the_same(desk: Open) -> None:
    sheet = desk.sheet()
    changes = {"suction.bore": "1 in", "charge": "100 %"}
    found = desk.ask("answer", id=sheet, changes=changes, whole=True).table
    site = with_value(DEMO, "suction.bore", 25.4e-3)
    assert found == {"mistakes": [], **document(work_out(site, 1.0, whole=True), DEMO)}
    beside = desk.ask("answer", id=sheet, changes=changes, before=changes).table
    cost = {one["key"]: one["value"] for one in beside["figures"]}["cost"]
    assert cost == "nothing to buy", "counted from the site beside it"


def test_american_units_come_throughout(desk: Open) -> None:
    site = replace(DEMO, units="us")
    told = document(work_out(site, None, whole=True), site)
    assert told["pressure"]["unit"] == "psi"
    assert told["plot"]["unit"] == "in"
    assert told["scene"]["unit"] == "ft"
    marks = {one["name"]: one["on"] for one in told["pressure"]["marks"]}
    assert marks["pump"] == pytest.approx(
        facts_of(DEMO, limits=False).pump_pa / 6894.757, abs=2e-3
    )
