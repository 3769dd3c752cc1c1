"""A battery that a solar panel charges by day: charge that nobody counts, and no false rest."""

import pytest

from keeper.charge import Charge
from keeper.records import START, TRIP

from .bench import SITE, Bench, part

PANEL = {"panel_fitted": 1, "empty_mv": 12000, "charged_mv": 12600}
CAPACITY_MAH = SITE["capacity_mah"]
TRUST_MAH = CAPACITY_MAH // 7


@pytest.mark.parametrize(
    ("rest_mv", "left_mah"),
    [
        (12600, CAPACITY_MAH - TRUST_MAH),
        (12949, CAPACITY_MAH - TRUST_MAH),
        (12300, CAPACITY_MAH // 2 - TRUST_MAH),
        (12950, 5000),
        (14400, 5000),
        (12100, 5000),
    ],
)
def test_a_rest_voltage_that_says_more_is_believed(rest_mv: int, left_mah: int) -> None:
    """But for a seventh; and not while the panel lifts it."""
    counted = part(Charge, **PANEL)
    counted.facts.left_mah = 5000
    counted.check(rest_mv)
    assert counted.facts.left_mah == pytest.approx(left_mah, abs=20)


def test_without_a_panel_the_count_is_not_raised() -> None:
    counted = part(Charge, **{**PANEL, "panel_fitted": 0})
    counted.facts.left_mah = 5000
    counted.check(12600)
    assert counted.facts.left_mah == 5000


def test_a_battery_held_at_the_limit_of_its_controller_is_no_rest() -> None:
    """The sag would look like a weak supply; the pump starts, and learns a sound one."""
    bench = Bench(**PANEL)
    bench.rest_mv = 14400
    bench.go("run")
    assert bench.records(START)[-1]["rest_mv"] == 12600
    bench.ticks(20000)
    assert not bench.records(TRIP)
    assert bench.keeper.facts.resistance_mohm < bench.settings.resistance_warn_mohm


def test_midnight_shows_what_the_day_has_put_in() -> None:
    bench = Bench(clock="19:00:00", set1_unit=0, **PANEL)
    bench.keeper.facts.left_mah = 5000
    bench.rest_mv = 12300
    bench.sleep_until("23:59:00")
    assert bench.keeper.facts.left_mah < 5000
    bench.sleep_until("00:02:00")
    assert bench.keeper.facts.left_mah == pytest.approx(CAPACITY_MAH // 2 - TRUST_MAH, abs=20)


@pytest.mark.parametrize("why", ["just pumped", "no clock", "bad channel", "noon"])
def test_a_midnight_that_shows_nothing(why: str) -> None:
    bench = Bench(clock="23:50:00" if why != "noon" else "11:50:00", set1_unit=0, **PANEL)
    if why == "just pumped":
        bench.go("done")
    elif why == "no clock":
        bench.clock_ok = 0
    elif why == "bad channel":
        bench.raw = {"battery": 0}
    bench.keeper.facts.left_mah = 5000
    bench.rest_mv = 12600
    bench.sleep(1200)
    assert bench.keeper.facts.left_mah <= 5000


def test_the_sun_does_not_end_flat_but_the_dark_does() -> None:
    """By day the panel lifts even an empty battery; rested in the dark it must hold."""
    bench = Bench(set1_unit=0, **PANEL)
    bench.go("flat")
    bench.rest_mv = 13500
    bench.sleep_until("20:00:00")
    assert bench.state == "flat"
    bench.rest_mv = 12400
    bench.sleep_until("06:00:00")
    assert bench.state == "flat"
    bench.rest_mv = 12520
    bench.sleep_until("23:55:00")
    assert bench.state == "flat"
    bench.sleep_until("00:05:00")
    assert bench.state == "idle"
