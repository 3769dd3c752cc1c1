"""Leaving the board alone for as long as it asks gives the same log as ticking through."""

from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keeper import memory
from keeper.hand import BATTERY, CLEAR, HOLD, RUN, STOP
from tests.effort import examples

from .bench import TICK_MS, Bench

PINS = ("rain", "button", "load_on", "wish")


@dataclass(frozen=True)
class Change:
    at_ms: int
    knob: str
    value: Any


def play(changes: list[Change], hours: int, napping: bool, **settings: int) -> Bench:
    """The same changes on a board that naps, or on one that is called every tick."""
    bench = Bench(clock="20:00:00", **settings)
    waiting = sorted(changes, key=lambda change: change.at_ms)
    wakes = [change.at_ms for change in waiting if change.knob in PINS]
    start_ms = bench.at_ms
    end_ms = hours * 3600000
    while (now_ms := bench.at_ms - start_ms) < end_ms:
        dt_ms = TICK_MS
        if napping and not bench.level:
            dt_ms = max(bench.keeper.nap_ms // TICK_MS * TICK_MS, TICK_MS)
            while wakes and wakes[0] <= now_ms:
                wakes.pop(0)
            if wakes:
                dt_ms = min(dt_ms, wakes[0] - now_ms)
        dt_ms = min(dt_ms, end_ms - now_ms)
        while waiting and waiting[0].at_ms <= now_ms + dt_ms:
            change = waiting.pop(0)
            if change.knob == "wish":
                bench.keeper.command(*change.value)
            else:
                setattr(bench, change.knob, change.value)
        bench.tick(dt_ms)
    return bench


def same(changes: list[Change], hours: int, **settings: int) -> Bench:
    napped = play(changes, hours, True, **settings)
    ticked = play(changes, hours, False, **settings)
    assert napped.log == ticked.log
    kept = memory.save(ticked.keeper)
    assert memory.save(napped.keeper) == kept
    return napped


WET = {"set1_runs": 2, "set1_soak_s": 700, "retry_rest_s": 130, "rain_skip_s": 3600}


@pytest.mark.no_cover
def test_two_days_with_weather_and_mishaps() -> None:
    hour = 3600000
    changes = [
        Change(hour, "rain", 1),
        Change(hour + 130000, "rain", 0),
        Change(5 * hour, "wish", (RUN, 2)),
        Change(26 * hour + 60000, "pressure_pa", 300000),
        Change(26 * hour + 400000, "pressure_pa", None),
        Change(40 * hour, "clock_ok", 0),
        Change(41 * hour, "clock_ok", 1),
    ]
    bench = same(changes, 48, **WET)
    assert set(bench.kinds()) >= {"rain", "skip", "hand", "trip", "given", "night", "clock"}
    assert bench.steps < 100000, "most of two days is slept through"


when = st.integers(10, 4 * 36000 - 10).map(lambda tick: tick * TICK_MS)
change = st.one_of(
    st.builds(Change, when, st.just("rain"), st.integers(0, 1)),
    st.builds(Change, when, st.just("button"), st.integers(0, 1)),
    st.builds(
        Change,
        when,
        st.just("wish"),
        st.sampled_from([(RUN, 3), (STOP, 0), (CLEAR, 0), (BATTERY, 0), (HOLD, 1)]),
    ),
    st.builds(Change, when, st.just("rest_mv"), st.sampled_from([12000, 12400, 12600, 15500])),
    st.builds(Change, when, st.just("loaded_mv"), st.sampled_from([11100, 12000])),
    st.builds(Change, when, st.just("pressure_pa"), st.sampled_from([None, None, 0, 300000])),
    st.builds(Change, when, st.just("frost_dc"), st.sampled_from([-5, 150])),
    st.builds(Change, when, st.just("clock_ok"), st.integers(0, 1)),
    st.builds(Change, when, st.just("clock_off_ms"), st.sampled_from([-3600000, 5000, 100000])),
    st.builds(Change, when, st.just("load_on"), st.sampled_from([None, None, 1])),
)


@pytest.mark.no_cover
@examples(3, 12)
@given(st.lists(change, max_size=12))
def test_any_evening(changes: list[Change]) -> None:
    same(changes, 4, **WET)


@pytest.mark.parametrize("state", ["check", "prime", "run"])
def test_no_nap_while_awake(state: str) -> None:
    bench = Bench()
    bench.go(state)
    assert bench.keeper.nap_ms == 0


def test_nap_ends_with_the_pause_the_set_and_noon() -> None:
    bench = Bench()
    bench.sleep(60)
    assert bench.keeper.nap_ms == 60000
    bench.sleep_until("21:59:30")
    bench.until(lambda: bench.keeper.nap_ms < 60000)
    bench.until("check", 60)
    assert bench.at_ms % 86400000 // 1000 == 79200
