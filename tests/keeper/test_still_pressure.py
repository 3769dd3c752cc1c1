"""A pressure that does not move: honest before water comes, a stuck transducer after it."""

import pytest

from .bench import PASCALS, ZERO_COUNT, Bench

PRIMED_PA = 40000
DRY_MV = 12400
"""12 A of a pump with water sag by 600 mV; one that draws air takes a third."""


def priming(pressure_pa: int, loaded_mv: int = DRY_MV, **settings: int) -> Bench:
    """A pump that primes, with a transducer that shows this and never a count else."""
    bench = Bench(without=("line open",), **settings)
    bench.loaded_mv = loaded_mv
    bench.go("prime")
    bench.raw["pressure"] = ZERO_COUNT + pressure_pa // PASCALS
    return bench


@pytest.mark.parametrize("pressure_pa", [0, 4000])
def test_a_still_line_may_prime_for_all_its_time(pressure_pa: int) -> None:
    bench = priming(pressure_pa)
    bench.ticks(60000)
    assert bench.state == "prime"
    bench.raw.clear()
    bench.pressure_pa = None
    bench.until("run")
    assert not bench.said("bad pressure")


def test_a_pump_that_never_primes_is_called_that() -> None:
    bench = priming(0)
    bench.until(lambda: not bench.level)
    assert bench.said("no prime")
    assert not bench.said("bad pressure")


# 8 A at no pressure over 50 mohm, 400 mV: 85 % of either is water in the pump.
LOADS = {
    "sag of a dry pump": (False, 12600 - 340, {}),
    "sag of a pump with water": (True, 12600 - 345, {}),
    "current of a dry pump": (False, 12000, {"current_fitted": 1, "pump_ma": 6800}),
    "current of a pump with water": (True, 12500, {"current_fitted": 1, "pump_ma": 6810}),
    "nothing to tell it by": (False, 12000, {"battery_fitted": 0}),
    "no current known": (False, 12000, {"current_zero_ma": 0}),
}


@pytest.mark.parametrize("name", LOADS)
def test_a_transducer_that_stands_still_while_the_pump_has_water_is_stuck(name: str) -> None:
    """At whatever it is stuck: the pump that the battery feels would make it move."""
    stuck, loaded_mv, settings = LOADS[name]
    pump_ma = settings.pop("pump_ma", 0)
    bench = priming(4000, loaded_mv, **settings)
    bench.pump_ma = pump_ma
    bench.until(lambda: not bench.level)
    assert bool(bench.said("bad pressure")) == stuck
    assert bool(bench.said("no prime")) != stuck


def test_a_worn_supply_does_not_make_a_dry_pump_look_loaded() -> None:
    """At 70 mohm, as learned, 400 mV are less than 85 % of 8 A."""
    bench = priming(4000, 12200)
    bench.keeper.facts.resistance_mohm = 70
    bench.until(lambda: not bench.level)
    assert bench.said("no prime")


@pytest.mark.parametrize("state", ["prime", "run"])
def test_a_transducer_stuck_with_water_is_found_in_its_time(state: str) -> None:
    """A count above "primed" from the prime on, or any count in a run."""
    bench = priming(PRIMED_PA + PASCALS)
    if state == "run":
        bench.raw.clear()
        bench.pressure_pa = None
        bench.until("run")
        bench.raw["pressure"] = ZERO_COUNT + PRIMED_PA // PASCALS
    bench.until(lambda: bench.q("pressure_pa") == PRIMED_PA + PASCALS * (state == "prime"))
    bench.ticks(bench.settings.stuck_ms - 1000)
    assert bench.state == "run"
    bench.ticks(2000)
    (said,) = bench.said("bad pressure")
    assert said["held_ms"] == bench.settings.sensor_hold_ms
    assert bench.state == "done"


def test_stuck_at_its_tick() -> None:
    """The first tick of water is compared with nothing: that, the time, then the hold."""
    bench = priming(PRIMED_PA + PASCALS)
    bench.until(lambda: bench.q("pressure_pa") > PRIMED_PA)
    bench.ticks(bench.settings.stuck_ms + bench.settings.sensor_hold_ms - 100)
    assert bench.level
    assert not bench.said("bad pressure")
    bench.tick()
    assert bench.said("bad pressure")
    assert not bench.level
