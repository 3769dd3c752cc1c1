"""A battery that a solar panel charges by day: charge that nobody counts, and no false rest."""

import pytest

from keeper.charge import STEP_MV, Charge
from keeper.records import BATTERY, START, TRIP

from .bench import SITE, Bench, part

PANEL = {
    "panel_fitted": 1,
    "empty_mv": 12000,
    "charged_mv": 12600,
    "held_mv": 14100,
}
CAPACITY_MAH = SITE["capacity_mah"]


def share(rest_mv: int) -> int:
    """Charge on the straight line from 12.0 to 12.6 V."""
    return CAPACITY_MAH * min(rest_mv - 12000, 600) // 600


@pytest.mark.parametrize(
    ("rest_mv", "left_mah"),
    [
        (12600, share(12600 - STEP_MV)),
        (12300, share(12300 - STEP_MV)),
        (12110, 5000),
    ],
)
def test_in_the_dark_a_rest_voltage_that_says_more_is_believed(
    rest_mv: int, left_mah: int
) -> None:
    """But for what a battery may read more by itself."""
    counted = part(Charge, **PANEL)
    counted.facts.left_mah = 5000
    counted.check(rest_mv, True)
    assert counted.facts.left_mah == pytest.approx(left_mah, abs=50)


@pytest.mark.parametrize(("panel", "dark"), [(0, True), (1, False)])
def test_otherwise_the_count_is_not_raised(panel: int, dark: bool) -> None:
    counted = part(Charge, **{**PANEL, "panel_fitted": panel})
    counted.facts.left_mah = 5000
    counted.check(12600, dark)
    assert counted.facts.left_mah == 5000


def test_uncounted_charge_does_not_show_that_the_channel_reads_high() -> None:
    counted = part(Charge, **PANEL, battery_error_mv=200)
    counted.facts.worked = 1
    counted.facts.left_mah = 5000
    counted.check(12500, True)
    assert counted.facts.reads_low_mv == 130, "less than a full one by no more than that"


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
    assert bench.keeper.facts.left_mah == pytest.approx(share(12300 - STEP_MV), abs=50)


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


# Posts that the panel's controller holds: full (K7).


def test_posts_held_long_enough_mean_full() -> None:
    bench = Bench(set1_unit=0, **PANEL)
    bench.keeper.facts.left_mah = 5000
    bench.rest_mv = 14105
    bench.sleep(540)
    assert bench.keeper.facts.left_mah <= 5000
    bench.rest_mv = 14095
    bench.sleep(120)
    bench.rest_mv = 14400
    bench.sleep(540)
    assert bench.keeper.facts.left_mah <= 5000, "the hold begins anew"
    before = bench.keeper.changed
    bench.sleep(180)
    assert bench.keeper.facts.left_mah == CAPACITY_MAH
    bench.sleep(3600)
    assert bench.keeper.changed == before + 1
    assert len(bench.records(BATTERY)) == 1
    assert bench.keeper.nap_ms > 1000, "the hold keeps nobody awake"


def test_posts_held_long_enough_end_flat() -> None:
    bench = Bench(set1_unit=0, **PANEL)
    bench.go("flat")
    bench.rest_mv = 14400
    bench.sleep(780)
    assert bench.state == "idle"
    assert bench.keeper.facts.left_mah == CAPACITY_MAH


def test_a_restart_in_the_sun_does_not_fill_the_count() -> None:
    bench = Bench(set1_unit=0, **PANEL)
    bench.keeper.facts.left_mah = 5000
    bench.rest_mv = 12900
    bench.reboot()
    bench.rest_mv = 14400
    bench.reboot()
    assert bench.keeper.facts.left_mah == 5000
    assert len(bench.records(BATTERY)) == 1


def test_a_held_battery_is_felt_from_where_it_was_held() -> None:
    """A lithium battery under a panel rests at 14.4 V and works past what it rests at else."""
    bench = Bench(load_sense_fitted=0, **PANEL)
    bench.rest_mv = 14400
    bench.loaded_mv = 13900
    bench.go("run")
    for loaded_mv in range(13900, 11900, -20):
        bench.loaded_mv = loaded_mv
        bench.ticks(2000)
    assert not bench.records(TRIP)
    assert bench.keeper.facts.resistance_mohm == 0, "its rest is not known: nothing is learned"


@pytest.mark.parametrize("load_sense_fitted", [0, 1])
def test_a_battery_that_the_sun_carries_at_a_start_has_lost_no_load(
    load_sense_fitted: int,
) -> None:
    """It falls from where it was held, and still reads more than a full one at rest."""
    bench = Bench(**PANEL, load_sense_fitted=load_sense_fitted)
    bench.rest_mv, bench.loaded_mv = 14400, 13000
    bench.go("run")
    bench.ticks(60000)
    assert bench.state == "run"
    assert not bench.said("relay closed")
