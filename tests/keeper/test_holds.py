"""A hold is one stretch of time: it runs on where prime becomes run, and ends with the pump."""

from collections.abc import Callable

import pytest

from keeper import Settings
from keeper.cycle import STATES
from keeper.facts import Facts
from keeper.guard import Guard
from keeper.hand import RUN, STOP
from keeper.rules import NO_PRIME, number_of

from .bench import RULE_NAMES, SITE, TICK_MS, Bench
from .table import ROWS

PRIME_TICKS = 12
"""From pressure to "primed" on the bench: the median's two ticks, and a second of pressure."""
KNOBS: dict[str, Callable[[Bench], None]] = {
    "brown-out": lambda bench: setattr(bench, "battery_mv", 8495),
    "over-voltage": lambda bench: setattr(bench, "battery_mv", 15600),
    "bad battery": lambda bench: bench.raw.update(battery=-1),
    "relay open": lambda bench: setattr(bench, "load_on", 0),
}


def priming(ticks: int) -> Bench:
    """A pump that has had pressure for so many ticks."""
    bench = Bench(resistance_refuse_mohm=5000)  # A joint so bad would be the cause of the rest.
    bench.go("prime")
    bench.pressure_pa = None
    bench.ticks(ticks * TICK_MS)
    return bench


def hold_ms_of(bench: Bench, rule: str) -> int:
    return int(getattr(bench.settings, ROWS[rule].hold))


def is_past(bench: Bench, rule: str) -> bool:
    return bench.keeper.guard.held_ms[RULE_NAMES.index(rule)] >= 0


@pytest.mark.parametrize("rule", KNOBS)
@pytest.mark.parametrize("ticks", range(PRIME_TICKS + 2))
def test_trips_at_its_hold_wherever_prime_becomes_run(rule: str, ticks: int) -> None:
    bench = priming(ticks)
    KNOBS[rule](bench)
    bench.until(lambda: is_past(bench, rule))
    past_ms = bench.at_ms
    bench.until(lambda: not bench.level)
    (said,) = bench.said(rule)
    assert bench.at_ms - past_ms == said["held_ms"] == hold_ms_of(bench, rule)


def test_the_trips_above_do_come_before_within_and_after_the_change() -> None:
    """Or they would prove nothing: 0.5 s of a brown-out against 1.2 s of priming."""
    seen = set()
    for ticks in range(PRIME_TICKS + 2):
        bench = priming(ticks)
        KNOBS["brown-out"](bench)
        bench.until(lambda bench=bench: is_past(bench, "brown-out"))  # type: ignore[misc]
        began = bench.state
        while bench.level:
            ended = bench.state
            bench.tick()
        seen.add((began, ended))
    assert seen == {("prime", "prime"), ("prime", "run"), ("run", "run")}


@pytest.mark.parametrize("ticks", range(PRIME_TICKS + 2))
def test_a_tick_short_of_the_hold_does_not_trip(ticks: int) -> None:
    bench = priming(ticks)
    KNOBS["brown-out"](bench)
    # The first tick past is 0 ms long, so that six would be a hold of 500 ms.
    bench.ticks(hold_ms_of(bench, "brown-out"))
    bench.calm()
    bench.ticks(3000)
    assert bench.state == "run"
    assert not bench.said("brown-out")


def test_a_stop_ends_the_hold() -> None:
    """The pump stood in between: what was held before does not count in the check."""
    bench = priming(PRIME_TICKS + 2)
    KNOBS["brown-out"](bench)
    bench.until(lambda: is_past(bench, "brown-out"))
    bench.ticks(hold_ms_of(bench, "brown-out") - 2 * TICK_MS)
    bench.keeper.command(STOP, 0)
    bench.tick()
    assert bench.state == "done"
    assert not is_past(bench, "brown-out")
    bench.keeper.command(RUN, 0)
    bench.until("check")
    bench.until(lambda: is_past(bench, "brown-out"))
    past_ms = bench.at_ms
    bench.until("done")
    (said,) = bench.said("brown-out")
    assert bench.at_ms - past_ms == said["held_ms"] == hold_ms_of(bench, "brown-out")


def test_what_is_no_longer_watched_is_forgotten() -> None:
    settings = Settings(SITE)
    guard = Guard(settings, Facts(settings))
    run = STATES.index("run")
    guard.held_ms = [700] * len(RULE_NAMES)
    guard.enter(run, True)
    assert (guard.held_ms[NO_PRIME], guard.held_ms[number_of("over-run")]) == (-1, 700)
    guard.enter(run, False)
    assert set(guard.held_ms) == {-1}
