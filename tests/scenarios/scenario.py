"""Reads one scenario, plays it, and says what came out otherwise than it expects.

A scenario is a short TOML file:

    what = "Somebody shuts the tap: the board tries once more, then stops for the night."
    faults = ["outlet_shut@1+4min:1.0"]
    expect = [
        "trip dead head within 2 s of outlet_shut",
        "trip dead head within 2 s of the start",
    ]
    end = "done"
    set = "dead head"

``expect`` lists everything that the board trips on, warns of, shortens or skips, in order; an
event that is not listed is as wrong as one that is missing. A time is counted from a fault,
from "the set" (when it was due) or from "the start" (when the relay closed last). ``end`` is
the state in which the board waits for noon, ``set`` why the last set ended, ``never`` what the
log must not hold. ``[site.*]`` changes the site of ``site.toml`` in the words of a site file,
``[settings]`` single settings of the board; ``stalls`` lets the board's program stand still.
"""

import json
import re
import tomllib
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

import rillsim.replay
from keeper import core, cycle, lines, records, rules
from keeper.clockwatch import VERDICTS
from keeper.guard import Guard
from rillkeeper import units
from rillkeeper.faultspec import parse_fault
from rillkeeper.limits import settings_of
from rillkeeper.sitefile import read_site
from rillsim.board import Board
from rillsim.replay import NIGHT_TICKS, Week, replay
from rillsim.site import Site
from rillsim.timeline import Timeline

HERE = Path(__file__).parent
SITE = HERE / "site.toml"
RULE_NAMES = tuple(row[0] for row in rules.RULES)
NOON_S = 43200

_KEYS = {"what", "nights", "seed", "faults", "stalls", "expect", "end", "set", "never"} | {
    "site",
    "settings",
}
_EXPECTED = re.compile(r"(?P<event>.+?)(?: within (?P<time>[\d.]+ \w+) of (?P<origin>[\w ]+))?")
_STALL = re.compile(r"(?P<offset>.+) for (?P<length>.+)")


@dataclass(frozen=True)
class Expected:
    """One line of ``expect``."""

    event: str
    within_s: float | None = None
    origin: str = ""


@dataclass(frozen=True)
class Scenario:
    """One file."""

    name: str
    what: str
    site: Site
    settings: dict[str, int]
    expect: tuple[Expected, ...]
    end: str
    set_end: str
    never: tuple[str, ...] = ()
    nights: int = 1
    seed: int = 1
    stalls: tuple[tuple[float, float], ...] = ()
    """Seconds after the first set, and how long."""


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


def scenario_files() -> list[Path]:
    return sorted(path for path in HERE.glob("*.toml") if path != SITE)


def read_scenario(path: Path) -> Scenario:
    """Raises ValueError for a key, an event or an origin that means nothing."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    unknown = set(data) - _KEYS
    if unknown:
        raise ValueError(f"{path.name}: nothing is called {', '.join(sorted(unknown))}")
    base = tomllib.loads(SITE.read_text(encoding="utf-8"))
    site = read_site(_site_text(_merged(base, data.get("site", {}))), path.name)
    faults = tuple(parse_fault(text) for text in data.get("faults", ()))
    settings = settings_of(site) | data.get("settings", {})
    site = replace(site, faults=site.faults + faults)
    names = [spec.name for spec in site.faults]
    return Scenario(
        name=path.stem,
        what=data["what"],
        site=site,
        settings=settings,
        expect=tuple(_expected(text, names, path.name) for text in data["expect"]),
        end=data["end"],
        set_end=data["set"],
        never=tuple(data.get("never", ())),
        nights=data.get("nights", 1),
        seed=data.get("seed", 1),
        stalls=tuple(_stall(text) for text in data.get("stalls", ())),
    )


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
            played.set_end = _cause(row[records.FIRST + 1])
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


def event_of(row: list[int]) -> str:
    """A record of the log in the words of ``expect``, or nothing."""
    kind = row[records.KIND]
    number = row[records.FIRST]
    if kind in (records.TRIP, records.WARN):
        return f"{records.KINDS[kind][0]} {RULE_NAMES[number]}"
    if kind == records.SKIP:
        return f"skip {records.CAUSES[row[records.FIRST + 1]]}"
    if kind == records.SHORT:
        return "short"
    if kind == records.CLOCK and number:
        return f"clock {VERDICTS[number]}"
    return ""


EVENTS = (
    {f"{kind} {name}" for kind in ("trip", "warn") for name in RULE_NAMES}
    | {f"skip {cause}" for cause in records.CAUSES}
    | {f"clock {verdict}" for verdict in VERDICTS[1:]}
    | {"short"}
)


def _cause(cause: int) -> str:
    if cause >= records.CAUSE_RULE:
        return RULE_NAMES[cause - records.CAUSE_RULE]
    return str(records.CAUSES[cause])


def _expected(text: str, fault_names: list[str], source: str) -> Expected:
    found = _EXPECTED.fullmatch(text)
    if not found or found["event"] not in EVENTS:
        raise ValueError(f"{source}: {text!r} is no event of the log")
    if found["time"] is None:
        return Expected(found["event"])
    if found["origin"] not in ("the set", "the start", *fault_names):
        raise ValueError(f"{source}: {text!r} counts from something that does not happen")
    return Expected(found["event"], units.parse(found["time"], "time"), found["origin"])


def _stall(text: str) -> tuple[float, float]:
    found = _STALL.fullmatch(text)
    if not found:
        raise ValueError(f"{text!r} is not written like 4 min for 3 s")
    return units.parse(found["offset"], "time"), units.parse(found["length"], "time")


def _guard_without(name: str | None) -> type[Guard]:
    """The guard with one row of the table gone."""
    if name is None:
        return Guard
    gone = RULE_NAMES.index(name)

    class LamedGuard(Guard):
        def __init__(self, settings: object) -> None:
            super().__init__(settings)
            self.watched = [tuple(r for r in row if r != gone) for row in self.watched]

    return LamedGuard


def _merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """A table is changed key by key; a list of tables ([[set]]) takes the place of the other."""
    merged = dict(base)
    for key, value in changes.items():
        both = isinstance(value, dict) and isinstance(base.get(key), dict)
        merged[key] = base[key] | value if both else value
    return merged


def _site_text(data: dict[str, Any]) -> str:
    rows = [f"{key} = {json.dumps(value)}" for key, value in data.items() if _plain(value)]
    for name, table in data.items():
        tables = table if isinstance(table, list) else [table]
        for entry in [] if _plain(table) else tables:
            rows.append(f"[[{name}]]" if isinstance(table, list) else f"[{name}]")
            rows += [f"{key} = {json.dumps(value)}" for key, value in entry.items()]
    return "\n".join(rows)


def _plain(value: object) -> bool:
    return not isinstance(value, (dict, list))
