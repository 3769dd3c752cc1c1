"""A pump that stands: told by sag or current, or by its fuse that has blown (K21)."""

import pytest

from .bench import Bench

STANDING_MV, STANDING_MA = 8800, 30000
"""Deeper than the limit of 3500 mV below the rest, more than that of 25 A; no brown-out."""


def stuck(fused_after_ms: int, board_fuse: bool = True, **changes: int) -> Bench:
    """The pump stops in mid-run; its fuse blows so much later. The pressure falls slowly."""
    bench = Bench(stall_hold_ms=2000, floor_mv=7000, **changes)
    bench.go("run")
    bench.ticks(8000)
    bench.loaded_mv, bench.pump_ma = STANDING_MV, STANDING_MA
    bench.ticks(fused_after_ms)
    bench.pump_ma = 0
    if board_fuse:
        bench.raw["battery"] = 0
    else:
        bench.loaded_mv = bench.rest_mv
    bench.load_on = 0
    return bench


def words(bench: Bench) -> list[str]:
    bench.until(lambda: not bench.level, 20)
    return [
        name for name in ("fuse blown", "stall", "stall by sag", "relay open") if bench.said(name)
    ]


@pytest.mark.parametrize("sensed", [0, 1])
@pytest.mark.parametrize("current", [0, 1])
@pytest.mark.parametrize("behind", [True, False])
def test_a_blown_fuse_is_named(sensed: int, current: int, behind: bool) -> None:
    """Whether the battery is read behind the pump's fuse or before it."""
    bench = stuck(500, behind, load_sense_fitted=sensed, current_fitted=current)
    assert words(bench) == ["fuse blown"]
    assert bench.state == "lockout"


def test_without_battery_and_load_side_the_current_tells() -> None:
    bench = stuck(500, battery_fitted=0, load_sense_fitted=0, current_fitted=1)
    bench.pressure_pa = 30000
    assert words(bench) == ["fuse blown"]


def test_a_battery_wire_that_comes_off_is_no_fuse() -> None:
    for changes in ({}, {"load_sense_fitted": 0}, {"load_sense_fitted": 0, "pressure_fitted": 0}):
        bench = Bench(**changes)
        bench.go("run")
        bench.ticks(8000)
        bench.raw["battery"] = 0
        bench.until(lambda bench=bench: not bench.level, 5)  # type: ignore[misc]
        assert bench.said("bad battery"), changes


def test_a_hand_switch_that_is_opened_is_no_fuse() -> None:
    """Reading and load side go as with a fuse, but no strain went before: no lockout."""
    bench = Bench()
    bench.go("run")
    bench.ticks(8000)
    bench.raw["battery"], bench.load_on = 0, 0
    assert words(bench) == ["relay open"]
    assert bench.state == "done"


def test_a_relay_that_opens_after_a_sound_run_is_no_fuse() -> None:
    bench = Bench()
    bench.go("run")
    bench.ticks(8000)
    bench.load_on = 0
    bench.loaded_mv = bench.rest_mv
    assert words(bench) == ["relay open"]


def test_a_strain_of_long_ago_is_none() -> None:
    bench = Bench(stall_hold_ms=2000)
    bench.go("run")
    bench.ticks(8000)
    bench.loaded_mv = STANDING_MV
    bench.ticks(1000)
    bench.loaded_mv = 12000
    bench.ticks(3500)
    bench.load_on = 0
    bench.loaded_mv = bench.rest_mv
    assert words(bench) == ["relay open"]


def test_beyond_its_span_the_current_is_a_stall_and_a_short_is_none() -> None:
    for sags, rule in ((True, "stall"), (False, "bad current")):
        bench = Bench(current_fitted=1, stall_hold_ms=400)
        bench.go("run")
        bench.ticks(8000)
        bench.raw["current"] = 4095
        if sags:
            bench.loaded_mv = 10000
        bench.until(lambda bench=bench: not bench.level, 5)  # type: ignore[misc]
        assert bench.said(rule), rule


@pytest.mark.parametrize("battery_fitted", [0, 1])
def test_no_current_is_a_bad_channel_only_where_the_battery_feels_the_pump(
    battery_fitted: int,
) -> None:
    """A motor that cuts out leaves the line its pressure for a while, and is gone from the battery
    at once (the campaign's 97000002): the channel is whole. Unfelt, pressure alone must do."""
    bench = Bench(current_fitted=1, battery_fitted=battery_fitted)
    bench.go("run")
    bench.ticks(8000)
    bench.pump_ma, bench.loaded_mv = 0, bench.rest_mv
    bench.ticks(2000)
    assert len(bench.said("bad current")) == 1 - battery_fitted
    if battery_fitted:
        bench.loaded_mv = 12000
        bench.ticks(1000)
        assert bench.said("bad current")


def test_a_motor_that_stops_before_the_supply_is_learned_tells_nothing_of_it() -> None:
    """By the campaign's 101000003: 10 mV for 48 mA made a supply of 208 mohm, and a bad joint."""
    bench = Bench(current_fitted=1)
    bench.go("run")
    bench.ticks(2000)
    bench.pump_ma, bench.loaded_mv, bench.pressure_pa = 40, bench.rest_mv - 10, 0
    bench.until(lambda: not bench.level, 20)
    assert not bench.said("bad supply")
    assert not bench.said("weak supply")
    assert bench.said("no sag")


def test_nor_does_one_that_has_cut_out_before_the_start() -> None:
    """By the campaign's 103000005: 10 mV for 14 mA, in the second of its tries."""
    bench = Bench(current_fitted=1)
    bench.pressure_pa = 0
    bench.pump_ma, bench.loaded_mv = 20, bench.rest_mv - 10
    bench.go("check")
    bench.until("prime")
    bench.until(lambda: not bench.level, 120)
    assert not bench.said("bad supply")
    assert bench.said("no prime")


def test_what_the_first_seconds_show_is_no_joint_until_the_supply_is_learned() -> None:
    """Of any start: the battery's quick losses pass for more than the supply will be."""
    bench = Bench()
    for _ in range(2):
        bench.go("run")
        bench.loaded_mv = bench.rest_mv - 1500
        bench.ticks(3500)
        bench.loaded_mv = 12000
        bench.ticks(6000)
        assert bench.level
        assert not bench.said("weak supply")
        bench.go("done")


def test_a_joint_that_has_changed_is_judged_from_there_on() -> None:
    """110 mohm are known after three seconds; 125, past the warning, are then no new joint."""
    bench = Bench()
    bench.go("run")
    bench.ticks(8000)
    bench.loaded_mv = bench.rest_mv - 110 * 12
    bench.ticks(6000)
    assert 105 <= bench.keeper.facts.resistance_mohm <= 115
    bench.loaded_mv = bench.rest_mv - 125 * 12
    bench.ticks(2500)
    assert bench.level
    assert not bench.said("weak supply")
