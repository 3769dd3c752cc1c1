"""What pulls the voltage down in a run: a joint, a flat battery, or a pump that stands (K20)."""

import pytest

from keeper.records import LEARNED

from .bench import LOADED_MV, REST_MV, WORKING_MA, Bench


def running(**changes: int) -> Bench:
    bench = Bench(**changes)
    bench.go("run")
    bench.ticks(20000)
    return bench


def drop(bench: Bench, mohm: int) -> None:
    """A joint takes so much more: the pump turns slower, and its pressure with it."""
    bench.loaded_mv = LOADED_MV - WORKING_MA * mohm // 1000
    bench.pressure_pa = 160000


def words(bench: Bench, limit_s: int = 60) -> str:
    """The rule that stops the pump."""
    bench.until(lambda: not bench.level, limit_s)
    names = ("bad supply", "low charge", "brown-out", "stall by sag", "relay open", "no sag")
    (said,) = [name for name in names if bench.said(name)]
    return said


def test_a_joint_that_goes_bad_is_no_flat_battery() -> None:
    """It would be: 9.6 V made good for the 0.6 V of a sound supply are far below 11.9."""
    bench = running()
    drop(bench, 240)
    assert words(bench) == "bad supply"
    assert bench.keeper.facts.resistance_mohm > 250, "no start before somebody has looked"
    bench.go("check")
    bench.until("done")
    assert len(bench.said("bad supply")) == 2


def test_nor_is_it_a_brown_out_that_shows_sooner() -> None:
    bench = running(floor_mv=10000)
    drop(bench, 240)
    assert words(bench) == "bad supply"


def test_a_joint_that_warns_is_known_from_then_on() -> None:
    """The rest of the run is made good for it: ten minutes later the battery is not flat."""
    bench = running(hand_minutes=20)
    drop(bench, 90)
    bench.ticks(600000)
    assert bench.level
    assert len(bench.said("weak supply")) == 1
    assert not bench.said("low charge")
    assert bench.keeper.facts.resistance_mohm == pytest.approx(150, abs=12)


def test_a_joint_that_heals_is_known_too() -> None:
    bench = running(hand_minutes=20)
    drop(bench, 90)
    bench.ticks(20000)
    bench.loaded_mv = LOADED_MV
    bench.ticks(20000)
    assert bench.keeper.facts.resistance_mohm == pytest.approx(50, abs=8)


def test_a_joint_that_is_bad_at_the_start_is_no_pump_that_stands() -> None:
    """There is 0.63 bar on the gauge, less than a primed pump makes."""
    bench = Bench(primed_pa=90000, dry_pa=50000)
    bench.go("check")
    bench.loaded_mv, bench.water_pa = 8700, 63000
    bench.until("prime")
    assert words(bench) == "bad supply"


def test_a_battery_goes_down_slowly_and_is_flat() -> None:
    bench = running(hand_minutes=20)
    while bench.level and bench.loaded_mv > 10000:
        bench.loaded_mv -= 5
        bench.ticks(1000)
    assert words(bench) == "low charge"


@pytest.mark.parametrize(
    ("rest_mv", "error_mv", "state"),
    [(11895, 0, "flat"), (11900, 0, "done"), (11795, 100, "flat"), (11800, 100, "done")],
)
def test_what_went_down_at_once_and_stays_down_is_the_battery(
    rest_mv: int, error_mv: int, state: str
) -> None:
    """While the pump runs a cell that gives way looks like a joint; without a load it does not."""
    bench = running(battery_error_mv=error_mv)
    drop(bench, 240)
    bench.rest_mv = rest_mv
    assert words(bench) == "bad supply"
    bench.ticks(15900)
    assert bench.state == "done"
    bench.ticks(500)
    assert bench.state == state
    assert bool(bench.said("low charge")) == (state == "flat")


def test_a_battery_that_is_taken_off_after_a_stop_is_not_flat() -> None:
    """Nor is what it read under load the last that is known of it."""
    bench = running()
    drop(bench, 240)
    assert words(bench) == "bad supply"
    bench.raw["battery"] = 0
    bench.ticks(60000)
    assert bench.state == "done"
    del bench.raw["battery"]
    bench.ticks(60000)
    assert bench.state == "done"


def test_a_battery_that_is_counted_empty_is_flat_whatever_it_resists() -> None:
    """One that rests below empty is not started at all."""
    bench = Bench()
    bench.loaded_mv = 9000
    bench.keeper.facts.left_mah = 9000
    bench.go("run")
    assert words(bench) == "low charge"
    assert bench.records(LEARNED)[-1]["resistance_mohm"] == 50


def test_suction_that_is_lost_is_no_stall_for_all_that_the_battery_has_given() -> None:
    """A battery of another kind gives up more than the limit of a stall, if slowly."""
    bench = running(stall_sag_mv=800, hand_minutes=20, cutout_mv=10000, floor_mv=8000)
    while bench.loaded_mv > 11200:
        bench.loaded_mv -= 5
        bench.ticks(1000)
    bench.pressure_pa = 2000
    bench.until(lambda: not bench.level, 20)
    assert bench.said("dry run")


def test_a_shut_line_draws_more_and_is_no_joint() -> None:
    """The current follows the pressure: more sag at the same resistance."""
    bench = running(dead_head_pa=390000)
    bench.pressure_pa = 380000
    bench.loaded_mv = REST_MV - 50 * (8000 + 7600) // 1000
    bench.ticks(5000)
    assert bench.q("resistance_mohm") == pytest.approx(50, abs=2)


def test_the_current_tells_where_it_is_measured() -> None:
    """No transducer: the sag of a bad joint without the current of a pump that stands."""
    bench = running(pressure_fitted=0, prime_ms=5000, current_fitted=1)
    bench.loaded_mv, bench.pump_ma = 8600, 10000
    assert words(bench) == "bad supply"


def test_a_joint_is_seen_without_transducer_and_current_too() -> None:
    bench = running(pressure_fitted=0, prime_ms=5000)
    bench.loaded_mv = 9300
    assert words(bench) == "bad supply"


def test_no_current_is_no_resistance() -> None:
    bench = running(current_fitted=1, current_zero_count=500)
    known_mohm = bench.q("resistance_mohm")
    bench.raw["current"] = 500
    bench.ticks(300)
    assert bench.q("resistance_mohm") == known_mohm


def test_a_charger_that_is_put_on_is_followed() -> None:
    bench = running(hand_minutes=20)
    bench.loaded_mv = 12900
    bench.ticks(100000)
    assert bench.keeper.watering.supply.source_mv == pytest.approx(13500, abs=60)
