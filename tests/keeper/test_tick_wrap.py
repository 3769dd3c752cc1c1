"""The millisecond counter starts again from zero every 12.4 days: nothing may notice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keeper.cycle import STATES
from keeper.ticks import MASK, PERIOD_MS, elapsed_ms

from .bench import Bench


def life(bench: Bench, state: str) -> tuple[int, int]:
    """Into the state, through it and on; returns when it was entered and left."""
    bench.go(state)
    entered_ms = bench.at_ms
    if state in ("idle", "done", "flat", "lockout"):
        bench.sleep(1800)
    else:
        bench.until(lambda: bench.state != state)
    left_ms = bench.at_ms
    bench.calm()
    bench.sleep(1800)
    bench.sleep_until("12:05:00")
    return entered_ms, left_ms


@pytest.mark.no_cover
@pytest.mark.parametrize("where", ["early", "late"])
@pytest.mark.parametrize("state", STATES[1:])
def test_crossing_the_wrap_changes_no_record(state: str, where: str) -> None:
    plain = Bench(ticks_ms=0, prime_ms=9000)
    start_ms = plain.at_ms - 100
    entered_ms, left_ms = life(plain, state)
    cross_ms = entered_ms + 300 if where == "early" else left_ms - 200
    crossing = Bench(ticks_ms=PERIOD_MS - (cross_ms - start_ms), prime_ms=9000)
    assert life(crossing, state) == (entered_ms, left_ms)
    assert crossing.log == plain.log
    assert crossing.steps == plain.steps
    assert entered_ms < cross_ms < left_ms


@given(st.integers(0, MASK), st.integers(0, MASK))
def test_elapsed_is_the_way_forward_from_one_to_the_other(earlier: int, gap: int) -> None:
    assert elapsed_ms((earlier + gap) & MASK, earlier) == gap


def test_a_counter_that_goes_back_is_a_late_tick() -> None:
    bench = Bench()
    bench.go("run")
    bench.tick(-100)
    assert bench.level == 0
    assert bench.state == "rest"
    assert bench.said("late tick")
