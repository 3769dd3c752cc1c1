"""Reads one scenario.

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
log must not hold after its first moment. ``[site.*]`` changes the site of ``site.toml`` in the
words of a site file, ``[settings]`` single settings of the board; ``stalls`` lets the board's
program stand still.

A story (``stories/``) has people in it as well: ``person`` is what they do (person.py), with
``[parts.NAME.*]`` for what they may fit, ``begins`` when each nightly set was taken up (within a
minute), ``[watered]`` how long the plot was watered in each night by the litres that the plant
gave, and ``why`` what `rillkeeper why` says of the log since parts were fitted last: "nothing",
or the names of causes. A story with ``answers`` is played on the whole firmware (whole.py), and
they are what is answered at each moment of ``person``, as far as is said here.
"""

import json
import re
import tomllib
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from rillkeeper import units
from rillkeeper.commands.fault_option import parse_fault
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.change import parse_value, with_value
from rillkeeper.site.file import read_site
from rillsim.site import Site

from .events import EVENTS
from .person import Deed, read_deeds, tick_of

HERE = Path(__file__).parent
SITE = HERE / "site.toml"

_KEYS = {"what", "nights", "seed", "faults", "stalls", "expect", "end", "set", "never"} | {
    *("site", "settings", "person", "parts", "begins", "watered", "why", "answers"),
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
    deeds: tuple[Deed, ...] = ()
    begins_n: tuple[int, ...] | None = None
    """Ticks at which sets are taken up; None where a scenario does not say."""
    watered_s: tuple[float, ...] = ()
    """For each night, or nothing where a scenario does not say."""
    why: tuple[str, ...] | None = None
    """The causes that are named; None where nobody asks."""
    answers: tuple[str, ...] = ()
    """What each answer begins with, in a story on the whole firmware."""

    def site_at(self, n: int) -> Site:
        """The site as it is at a tick, with all that was fitted before."""
        fitted = [deed.site for deed in self.deeds if deed.site is not None and deed.n < n]
        return fitted[-1] if fitted else self.site


def scenario_files() -> list[Path]:
    return sorted(path for path in HERE.glob("*.toml") if path != SITE)


def story_files() -> list[Path]:
    return sorted((HERE / "stories").glob("*.toml"))


def read_scenario(path: Path) -> Scenario:
    """Raises ValueError for a key, an event or an origin that means nothing."""
    return scenario_of(path.read_text(encoding="utf-8"), path.name)


def scenario_of(text: str, source: str) -> Scenario:
    """The same of a text; ``source`` is what it is called."""
    return scenario_from(tomllib.loads(text), source)


def site_from(data: dict[str, Any], source: str) -> Site:
    """The site of ``site.toml`` with the changes of a scenario."""
    base = tomllib.loads(SITE.read_text(encoding="utf-8"))
    return read_site(_site_text(_merged(base, data.get("site", {}))), source)


def scenario_from(data: dict[str, Any], source: str) -> Scenario:
    """The same of the tables of a file."""
    unknown = set(data) - _KEYS
    if unknown:
        raise ValueError(f"{source}: nothing is called {', '.join(sorted(unknown))}")
    site = site_from(data, source)
    faults = tuple(parse_fault(text) for text in data.get("faults", ()))
    changed = data.get("settings", {})
    deeds, trips = read_deeds(
        data.get("person", []),
        site,
        {name: partial(_fitted, tables) for name, tables in data.get("parts", {}).items()},
        lambda found: settings_of(found) | changed,
    )
    settings = settings_of(site) | changed
    site = replace(site, faults=site.faults + faults, battery_trips=site.battery_trips + trips)
    names = [spec.name for spec in site.faults]
    nights = data.get("nights", 1)
    why = data.get("why")
    return Scenario(
        name=source.removesuffix(".toml"),
        what=data["what"],
        site=site,
        settings=settings,
        expect=tuple(_expected(text, names, source) for text in data["expect"]),
        end=data["end"],
        set_end=data["set"],
        never=tuple(data.get("never", ())),
        nights=nights,
        seed=data.get("seed", 1),
        stalls=tuple(_stall(text) for text in data.get("stalls", ())),
        deeds=deeds,
        begins_n=tuple(tick_of(text) for text in data["begins"]) if "begins" in data else None,
        watered_s=_nightly(data["watered"], nights) if "watered" in data else (),
        answers=tuple(data.get("answers", ())),
        why=() if why == "nothing" else why and tuple(why),
    )


def _nightly(table: dict[str, str], nights: int) -> tuple[float, ...]:
    """Seconds for each night; a later line ("7" or "1-40") overrides one before it."""
    found: dict[int, float] = {}
    for place, text in table.items():
        first, _, last = place.partition("-")
        for night in range(int(first), int(last or first) + 1):
            found[night] = units.parse(text, "time")
    if sorted(found) != list(range(1, nights + 1)):
        raise ValueError(f"[watered] speaks of nights {sorted(found)}, not of 1 to {nights}")
    return tuple(found[night] for night in range(1, nights + 1))


def _fitted(tables: dict[str, dict[str, object]], site: Site) -> Site:
    """The site with some of its keys changed, as in a site file."""
    for table, rows in tables.items():
        for key, value in rows.items():
            name = f"{table}.{key}"
            site = with_value(site, name, parse_value(name, str(value), site.units))
    return site


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
