"""Plays a scenario, and says what came out otherwise than it expects."""

from dataclasses import dataclass, field
from typing import Any
from unittest.mock import patch

import rillsim.replay
from keeper import core, cycle, lines, records
from keeper.guard import Guard
from rillsim.boards.board import Board
from rillsim.replay import NIGHT_TICKS, NOON_S, Week, replay
from rillsim.timeline import Timeline

from .events import RULE_NAMES, cause_of, event_of
from .scenario import Expected, Scenario


@dataclass(frozen=True)
class Told:
    """One line of the log, with the tick at which the board wrote it."""

    n: int
    kind: str
    event: str
    """In the words of ``expect``, or nothing."""


@dataclass
class Played:
    """What came of a scenario."""

    week: Week
    told: list[Told] = field(default_factory=list)
    states: list[tuple[int, str]] = field(default_factory=list)
    """Each change of state: tick and name."""
    set_end: str = "never begun"
    closed_in_vain: int = 0
    """Ticks with the relay closed in a state that must not pump."""

    @property
    def events(self) -> list[Told]:
        return [line for line in self.told if line.event]


def play(scenario: Scenario, without: str | None = None) -> Played:
    """Replay it; ``without`` names a rule that is struck from the table of the board."""
    boards: list[Board] = []
    timeline = Timeline(scenario.site, NOON_S)
    first_n = timeline.night_n(1)
    deaf = [
        range(first_n + round(10 * offset), first_n + round(10 * (offset + length)))
        for offset, length in scenario.stalls
    ]

    class WatchedBoard(Board):
        """A board that is looked into, and whose program may stand still."""

        def __init__(self, *args: Any) -> None:
            super().__init__(*args)
            boards.append(self)
            self.held = 0

        def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
            if not any(n in ticks for ticks in deaf):
                self.held = super().step(n, clock, counts)
            return self.held

    told: list[int] = []
    states: list[tuple[int, str]] = []
    vain = 0

    def tap(n: int, _clock: object, _counts: object, level: int) -> None:
        nonlocal vain
        board = boards[0]
        told.extend([n] * (len(board.log) - len(told)))
        state = cycle.STATES[board.keeper.state]
        if not states or states[-1][1] != state:
            states.append((n, state))
        if level and state not in ("prime", "run"):
            vain += 1

    with (
        patch.object(rillsim.replay, "Board", WatchedBoard),
        patch.object(core, "Guard", _guard_without(without)),
    ):
        week = replay(
            scenario.site, scenario.settings, nights=scenario.nights, seed=scenario.seed, tap=tap
        )
    played = Played(week, states=states, closed_in_vain=vain)
    for n, line in zip(told, week.log, strict=True):
        row = lines.parse_line(line)
        played.told.append(Told(n, records.KINDS[row[records.KIND]][0], event_of(row)))
        if row[records.KIND] == records.GIVEN:
            played.set_end = cause_of(row[records.FIRST + 1])
    return played


def misses(scenario: Scenario, played: Played) -> list[str]:
    """Every way in which it came otherwise; nothing where all is as expected."""
    found = [
        f"fault {fault.spec.name} was not felt" for fault in played.week.faults if not fault.felt
    ]
    happened = [line.event for line in played.events]
    wanted = [entry.event for entry in scenario.expect]
    if happened != wanted:
        found.append(f"expected {wanted}, and there was {happened}")
    else:
        for entry, line in zip(scenario.expect, played.events, strict=True):
            found += _late(scenario, entry, line, played)
    state = _last_state(played, scenario.nights)
    if state != scenario.end:
        found.append(f"it ends in {state}, not in {scenario.end}")
    if played.set_end != scenario.set_end:
        found.append(f"the set ended by: {played.set_end}, not by: {scenario.set_end}")
    for kind in scenario.never:
        if any(kind in (line.kind, line.event) for line in played.told):
            found.append(f"there was a {kind!r}, which must never be")
    if played.closed_in_vain:
        found.append(f"the relay was closed for {played.closed_in_vain} ticks without a run")
    return found


def _late(scenario: Scenario, entry: Expected, line: Told, played: Played) -> list[str]:
    if entry.within_s is None:
        return []
    after_s = (line.n - _origin_n(scenario, entry.origin, line.n, played)) / 10.0
    if 0.0 <= after_s <= entry.within_s:
        return []
    place = f"{after_s:.1f} s after {entry.origin}"
    return [f"{entry.event} came {place}, not within {entry.within_s:g} s"]


def _origin_n(scenario: Scenario, origin: str, n: int, played: Played) -> int:
    timeline = Timeline(scenario.site, NOON_S)
    if origin == "the set":
        nights = range(1, scenario.nights + 1)
        return max(timeline.night_n(night) for night in nights if timeline.night_n(night) <= n)
    if origin == "the start":
        return max(line.n for line in played.told if line.kind == "start" and line.n <= n)
    return next(course.start_n for course in timeline.courses if course.spec.name == origin)


def _last_state(played: Played, nights: int) -> str:
    """The state a minute before the last noon, at which a stop for the night is over."""
    end_n = nights * NIGHT_TICKS - 600
    return [state for n, state in played.states if n < end_n][-1]


def _guard_without(name: str | None) -> type[Guard]:
    """The guard with one row of the table gone."""
    if name is None:
        return Guard
    gone = RULE_NAMES.index(name)

    class LamedGuard(Guard):
        def __init__(self, settings: object, facts: object) -> None:
            super().__init__(settings, facts)
            self.watched = [tuple(r for r in row if r != gone) for row in self.watched]

    return LamedGuard
