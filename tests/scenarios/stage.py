"""Plays a scenario, and says what came out otherwise than it expects."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from unittest.mock import patch

import rillsim.replay
from keeper import core, cycle, lines, plan, records
from keeper.guard import Guard
from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.boards.board import Board
from rillsim.plant import Plant
from rillsim.replay import NIGHT_TICKS, NOON_S, Week, replay
from rillsim.timeline import Timeline

from .events import RULE_NAMES, cause_of, event_of
from .person import Person, moment_of
from .scenario import Expected, Scenario

NEAR_SHARE = 0.05
NEAR_S = 40.0
"""Water that counts as given: a battery that sinks, and a line that fills first."""
LITRES_PER_M3 = 1000.0
NEAR_N = 600


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
    begun_n: list[int] = field(default_factory=list)
    """Ticks at which nightly sets were taken up."""
    states: list[tuple[int, str]] = field(default_factory=list)
    """Each change of state: tick and name."""
    set_end: str = "never begun"
    closed_in_vain: int = 0
    """Ticks with the relay closed in a state that must not pump."""

    @property
    def events(self) -> list[Told]:
        return [line for line in self.told if line.event]


@contextmanager
def within_reach() -> Iterator[list[Plant]]:
    """The plants that replays make meanwhile, for a person to reach."""
    made: list[Plant] = []

    class SeenPlant(Plant):
        def __init__(self, *args: Any, **options: Any) -> None:
            super().__init__(*args, **options)
            made.append(self)

    with patch.object(rillsim.replay, "Plant", SeenPlant):
        yield made


def play(scenario: Scenario, without: str | None = None) -> Played:
    """Replay it; ``without`` names a rule that is struck from the table of the board."""
    boards: list[Board] = []
    person = Person(scenario.deeds)
    timeline = Timeline(scenario.site, NOON_S)
    first_n = timeline.night_n(1)
    deaf = [
        range(first_n + round(10 * offset), first_n + round(10 * (offset + length)))
        for offset, length in scenario.stalls
    ]

    class WatchedBoard(Board):
        """A board that is looked into, whose program may stand still, and whom people come to."""

        def __init__(self, *args: Any) -> None:
            super().__init__(*args)
            boards.append(self)
            self.held = 0
            self.n = 0

        def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
            self.n = n
            if not any(n in ticks for ticks in deaf):
                self.held = super().step(n, clock, counts)
                person.act(n, self, plants[0])
            return self.held

        def nap_ticks(self) -> int:
            return max(1, min(super().nap_ticks(), person.next_n - self.n))

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
        if level == plants[0].whole and state not in ("prime", "run"):
            vain += 1

    with (
        within_reach() as plants,
        patch.object(rillsim.replay, "Board", WatchedBoard),
        patch.object(core, "Guard", _guard_without(without)),
    ):
        week = replay(
            scenario.site, scenario.settings, nights=scenario.nights, seed=scenario.seed, tap=tap
        )
    return played_of(week, told, states, vain)


def played_of(week: Week, told: list[int], states: list[tuple[int, str]], vain: int = 0) -> Played:
    """What the log says; ``told`` is the tick of each of its lines."""
    played = Played(week, states=states, closed_in_vain=vain)
    for n, line in zip(told, week.log, strict=True):
        row = lines.parse_line(line)
        played.told.append(Told(n, records.KINDS[row[records.KIND]][0], event_of(row)))
        if row[records.KIND] == records.SET and row[records.FIRST] != plan.HAND:
            played.begun_n.append(n)
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
        if any(kind in (line.kind, line.event) for line in played.told if line.n):
            found.append(f"there was a {kind!r}, which must never be")
    if scenario.begins_n is not None and not _near(scenario.begins_n, played.begun_n):
        begun = ", ".join(moment_of(n) for n in played.begun_n)
        found.append(f"sets were begun at {begun or 'no time'}")
    found += _dry_or_drowned(scenario, played)
    if played.closed_in_vain:
        found.append(f"the relay was closed for {played.closed_in_vain} ticks without a run")
    return found


def _near(wanted: tuple[int, ...], begun: list[int]) -> bool:
    close = [abs(one - other) <= NEAR_N for one, other in zip(wanted, begun, strict=False)]
    return all(close) and len(wanted) == len(begun)


def _dry_or_drowned(scenario: Scenario, played: Played) -> list[str]:
    """Nights whose water, by what the plant gave, was not what it is to be; or told twice."""
    if not scenario.watered_s:
        return []
    told = sum(line.kind == "night" for line in played.told)
    found = [] if told == scenario.nights else [f"{told} records of {scenario.nights} nights"]
    both_s = zip(scenario.watered_s, seconds_of_water(scenario, played), strict=True)
    for night, (wanted_s, given_s) in enumerate(both_s, 1):
        if abs(given_s - wanted_s) > max(NEAR_SHARE * wanted_s, NEAR_S):
            given = f"night {night}: {given_s / 60.0:.1f} min of water"
            found.append(f"{given}, not {wanted_s / 60.0:.1f}")
    return found


def seconds_of_water(scenario: Scenario, played: Played) -> list[float]:
    """For each night: the litres that the plant gave, at the flow that the site is made for."""
    found = []
    for truth in played.week.truth:
        site = scenario.site_at(truth.night * NIGHT_TICKS)
        flow_m3_s = WorkingSite(site).middle.point.flow_m3_s
        found.append(truth.litres / LITRES_PER_M3 / flow_m3_s)
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
