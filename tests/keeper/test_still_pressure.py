"""A pressure that does not move: honest before water comes, a stuck transducer after it."""

import pytest

from .bench import PASCALS, ZERO_COUNT, Bench

PRIMED_PA = 40000


def priming(pressure_pa: int) -> Bench:
    """A pump that primes, with a transducer that shows this and never a count else."""
    bench = Bench(without=("line open",))
    bench.go("prime")
    bench.raw["pressure"] = ZERO_COUNT + pressure_pa // PASCALS
    return bench


@pytest.mark.parametrize("pressure_pa", [0, PRIMED_PA])
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
