"""The cause is named, where its symptom would show sooner (the order of the table)."""

import pytest

from .bench import RULE_NAMES, Bench


def running(**changes: int) -> Bench:
    bench = Bench(**changes)
    bench.go("run")
    bench.ticks(20000)
    return bench


def word(bench: Bench, limit_s: int = 15) -> str:
    """The rule that stops the pump."""
    bench.until(lambda: not bench.level, limit_s)
    (said,) = [name for name in RULE_NAMES if bench.said(name)]
    return said


def test_channels_that_are_exchanged_while_pumping_are_no_high_pressure() -> None:
    bench = running()
    bench.raw = {"battery": 910, "pressure": 2400}
    assert word(bench) == "swapped"
    assert bench.state == "done"


def test_a_pressure_over_the_rating_does_not_wait_for_a_battery_wire() -> None:
    """Its own hold of a tick: an open wire reads nothing, and that is no transducer."""
    bench = running()
    bench.raw = {"battery": 0, "pressure": 2400}
    bench.ticks(400)
    assert bench.state == "lockout"
    assert bench.said("high pressure")


@pytest.mark.parametrize("battery_n", [3501, 3900, 4079])
def test_more_than_any_battery_gives_is_over_voltage(battery_n: int) -> None:
    bench = running()
    bench.raw["battery"] = battery_n
    bench.pressure_pa = 300000
    assert word(bench) == "over-voltage", "no shut line either, for all that the pump runs fast"


def test_the_end_of_the_converter_is_a_short() -> None:
    bench = running()
    bench.raw["battery"] = 4095
    assert word(bench) == "bad battery"


@pytest.mark.parametrize("sensed", [0, 1])
def test_an_open_relay_is_no_bad_current(sensed: int) -> None:
    """A turning pump must draw some; the pressure stands for a while after it has stopped."""
    bench = running(load_sense_fitted=sensed, current_fitted=1)
    bench.pump_ma, bench.load_on, bench.loaded_mv = 0, 0, bench.rest_mv
    bench.ticks(300)
    bench.pressure_pa = 9000
    assert word(bench) == "relay open"


@pytest.mark.parametrize("changes", [{}, {"load_sense_fitted": 0}])
def test_a_chattering_relay_is_no_open_one(changes: dict[str, int]) -> None:
    bench = running(**changes)
    ticks = 0
    while bench.level and ticks < 150:
        closed = ticks // 7 % 2 == 0
        bench.load_on = 1 if closed else 0
        bench.loaded_mv = 12000 if closed else bench.rest_mv
        bench.pressure_pa = 120000
        bench.tick()
        ticks += 1
    assert word(bench) == "relay chatter"


def test_a_sag_that_is_half_felt_is_no_chatter() -> None:
    """A panel lifts the battery: the noise around a quarter of the sag is none of the relay's."""
    bench = running(load_sense_fitted=0)
    for tick in range(300):
        bench.loaded_mv = 12440 + tick % 2 * 20
        bench.tick()
    assert bench.level
    assert bench.q("chatter") <= 1


def test_a_reading_that_drifts_is_no_pump_that_is_not_felt() -> None:
    for changes in ({}, {"load_sense_fitted": 0}):
        bench = running(**changes)
        bench.loaded_mv = 12400
        bench.ticks(30000)
        assert bench.level, bench.tail()


def test_no_current_of_a_pump_that_works_is_a_bad_channel() -> None:
    """Without a transducer the battery feels the pump."""
    bench = running(pressure_fitted=0, current_fitted=1, prime_ms=5000)
    bench.raw["current"] = 0
    assert word(bench) == "bad current"
