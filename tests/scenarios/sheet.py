"""Reads a sheet of site files unlike the demonstration, each with what must come out.

A sheet is a scenario (scenario.py) whose site is of another kind, with figures that were worked
out before it was played:

    [size]
    store = "act"                       # the answer's state, or "not asked"

    [[must]]
    be = "source before"                # one of ``QUANTITIES``
    nights = [2, 3]
    least = "299 L"
    most = "300 L"
    why = "0.25 L/min are 360 L a day, and a night takes 204 L."

``why`` is the sum, or the source, that the bounds come from; it was written down before the
plant was asked. ``refused`` is said of a site that gets no limits: it is sized and not played.
"""

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from rillkeeper import units
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.facts import Facts, facts_of
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.design.standing import check_standing
from rillkeeper.display_units import Shown
from rillkeeper.errors import NoSafeLimit
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import Night, nights_of
from rillsim.replay import NIGHT_TICKS, NOON_S, TICKS_PER_S, Week
from rillsim.site import Site
from rillsim.timeline import Timeline

from .scenario import HERE, Scenario, scenario_from, site_from
from .stage import misses, play

NIGHT_S = NIGHT_TICKS / TICKS_PER_S
NOT_ASKED = "not asked"


@dataclass(frozen=True)
class Must:
    """One figure that must come out."""

    be: str
    nights: tuple[int, ...]
    least: float | None
    most: float | None
    why: str


@dataclass(frozen=True)
class Sheet:
    """One file."""

    name: str
    what: str
    site: Site
    scenario: Scenario | None
    """None where the site gets no limits."""
    refused: str
    answers: dict[str, str]
    musts: tuple[Must, ...]


class Played:
    """A sheet's site, sized and, where it has limits, played."""

    def __init__(self, site: Site, week: Week | None) -> None:
        self.site = site
        self.facts: Facts = facts_of(site)
        self._week = week

    @property
    def week(self) -> Week:
        """What came of the nights."""
        assert self._week, "a site that was refused has no nights"
        return self._week

    def night(self, number: int) -> Night:
        """A night of the log, from 1."""
        return nights_of(read_log(self.week.log)).nights[number - 1]

    def at(self, course: str, t_s: float) -> float:
        """A course of the trace at a moment."""
        trace = self.week.trace
        return float(np.interp(t_s, trace.t_s, getattr(trace, course)))

    def set_s(self, number: int) -> float:
        """When a night's first set is due."""
        return Timeline(self.site, NOON_S).night_n(number) / TICKS_PER_S

    def pumped_as(self, number: int) -> float:
        """Charge that the pump took in a night [A s]."""
        trace = self.week.trace
        steps_s = np.diff(trace.t_s, append=trace.t_s[-1:])
        inside = (trace.t_s >= (number - 1) * NIGHT_S) & (trace.t_s < number * NIGHT_S)
        return float(np.sum((trace.current_a * steps_s)[inside]))

    def by_day_m3(self, number: int) -> float:
        """Water through the sprinkler in the hours before a night's first set [m3]."""
        trace = self.week.trace
        before = (trace.t_s >= (number - 1) * NIGHT_S) & (trace.t_s < self.set_s(number))
        return float(np.trapezoid(trace.flow_m3_s[before], trace.t_s[before]))


QUANTITIES: dict[str, tuple[str, Callable[[Played, int], float]]] = {
    "water": ("volume", lambda p, n: p.week.truth[n - 1].litres / 1e3),
    "water in all": ("volume", lambda p, n: sum(t.litres for t in p.week.truth[:n]) / 1e3),
    "water by day": ("volume", lambda p, n: p.by_day_m3(n)),
    "rest voltage": ("voltage", lambda p, n: (p.night(n).runs[0].rest_mv or 0) / 1e3),
    "loaded voltage": ("voltage", lambda p, n: (p.night(n).battery_mv or 0) / 1e3),
    "pump charge": ("charge", lambda p, n: p.pumped_as(n)),
    "charge before": ("charge", lambda p, n: p.at("charge_ah", p.set_s(n)) * 3600.0),
    "charge from the panel": ("charge", lambda p, n: p.week.accounts.charge.came["panel_as"]),
    "charge by the limits": ("charge", lambda p, n: settings_of(p.site)["capacity_mah"] * 3.6),
    "source before": ("volume", lambda p, n: p.at("source_m3", p.set_s(n))),
    "source after": (
        "volume",
        lambda p, n: p.at("source_m3", p.set_s(n) + WorkingSite(p.site).night_s() + 30.0),
    ),
    "flow by itself": ("flow", lambda p, n: p.facts.source.by_itself_m3_s),
    "loss in the wiring": ("share", lambda p, n: p.facts.wires.drop_share),
}
"""Dimension, and how it is read for a night."""


def sheet_files() -> list[Path]:
    return sorted((HERE / "sheet").glob("*.toml"))


def read_sheet(path: Path) -> Sheet:
    """Raises ValueError for a key or a quantity that means nothing."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    answers, musts = data.pop("size", {}), data.pop("must", [])
    refused = data.pop("refused", "")
    return Sheet(
        name=path.stem,
        what=data["what"],
        site=site_from(data, path.name),
        scenario=None if refused else scenario_from(data, path.name),
        refused=refused,
        answers=answers,
        musts=tuple(_must(row) for row in musts),
    )


def _must(row: dict[str, Any]) -> Must:
    unknown = set(row) - {"be", "nights", "least", "most", "why"}
    if unknown or row["be"] not in QUANTITIES:
        raise ValueError(f"nothing is called {', '.join(sorted(unknown)) or row['be']}")
    dimension, _ = QUANTITIES[row["be"]]
    least, most = (
        units.parse(row[end], dimension) if end in row else None for end in ("least", "most")
    )
    if least is None and most is None:
        raise ValueError(f"{row['be']}: neither least nor most is given")
    return Must(row["be"], tuple(row.get("nights", (1,))), least, most, row["why"])


def wrong_of(sheet: Sheet) -> list[str]:
    """Every way in which it came otherwise; nothing where all is as was worked out."""
    if sheet.scenario is None:
        played = Played(sheet.site, None)
        found = list(_not_refused(sheet))
    else:
        stage = play(sheet.scenario)
        played = Played(sheet.site, stage.week)
        found = misses(sheet.scenario, stage)
    return [*found, *_answered(sheet, played), *_out_of_bounds(sheet, played)]


def _not_refused(sheet: Sheet) -> Iterator[str]:
    try:
        settings_of(sheet.site)
        check_standing(sheet.site)
    except NoSafeLimit as refusal:
        if sheet.refused not in str(refusal):
            yield f"it was refused for another reason: {refusal}"
        return
    yield "it was given limits"


def _answered(sheet: Sheet, played: Played) -> Iterator[str]:
    verdict = verdict_of(played.facts, Shown("metric"))
    states = {answer.key: answer.state for answer in verdict.answers}
    for key, state in sheet.answers.items():
        if states.get(key, NOT_ASKED) != state:
            yield f"size says of {key}: {states.get(key, NOT_ASKED)}, not {state}"


def _out_of_bounds(sheet: Sheet, played: Played) -> Iterator[str]:
    for must in sheet.musts:
        dimension, read = QUANTITIES[must.be]
        for night in must.nights:
            value = read(played, night)
            low = must.least is not None and value < must.least
            if low or (must.most is not None and value > must.most):
                shown = units.format(value, dimension)
                yield f"{must.be} of night {night} is {shown}: {must.why}"
