"""What if: the same site with values changed in steps, or drawn from their ranges.

Each try and each draw is one whole site, worked out like any other. Draws come from a seeded
Philox generator, so that the same seed gives the same bands.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from rillkeeper.design.size.facts import Facts, facts_of
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.display_units import Shown
from rillkeeper.site.change import conflicts, find_row, with_value
from rillkeeper.verdict import ACT, GOOD, Verdict
from rillsim.site import InputRange, Site

KEYS_MAX = 2
TRIES_MAX = 200
DRAWS = 200
LOW, HIGH = 0.05, 0.95
"""Ends of a band, as shares of the draws below them."""


@dataclass(frozen=True)
class Axis:
    """One key and the values that it takes."""

    key: str
    values: tuple[Any, ...]

    def shown(self, site: Site) -> tuple[str, ...]:
        """The values as a person would write them."""
        _, row = find_row(self.key)
        return tuple(row.show(value, site.units, 3) for value in self.values)


@dataclass(frozen=True)
class Try:
    """One changed site, worked out; without facts where its values exclude each other."""

    values: tuple[Any, ...]
    facts: Facts | None
    verdict: Verdict | None
    conflict: str = ""


@dataclass(frozen=True)
class Variation:
    """All tries, the last key running fastest."""

    axes: tuple[Axis, ...]
    tries: tuple[Try, ...]


def vary(
    site: Site,
    axes: tuple[Axis, ...],
    wanted: int | None = None,
    progress: Callable[[float], None] = lambda share: None,
) -> Variation:
    """Work the site out for every combination of the values."""
    choices = list(product(*(axis.values for axis in axes)))
    tries = []
    for number, values in enumerate(choices, start=1):
        changes = dict(zip((axis.key for axis in axes), values, strict=True))
        tries.append(try_out(site, changes, wanted))
        progress(number / len(choices))
    return Variation(axes, tuple(tries))


def try_out(site: Site, changes: dict[str, Any], wanted: int | None = None) -> Try:
    """Work a site out with some values changed."""
    changed = site
    for key, value in changes.items():
        changed = with_value(changed, key, value)
    wrong = conflicts(changed)
    values = tuple(changes.values())
    if wrong:
        return Try(values, None, None, f"{wrong[0].path}: {wrong[0].problem}")
    facts = facts_of(changed, wanted)
    return Try(values, facts, verdict_of(facts, Shown(site.units)))


@dataclass(frozen=True)
class Band:
    """One result over all draws, SI units."""

    name: str
    dimension: str
    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Sureness:
    """One question over all draws: shares of them."""

    question: str
    works: float
    """It does not stand in the way."""
    good: float
    """It needs no change."""


@dataclass(frozen=True)
class Spread:
    """What comes out of all draws."""

    ranges: tuple[InputRange, ...]
    draws: int
    seed: int
    impossible: int
    """Draws whose values exclude each other; they count as failed."""
    bands: tuple[Band, ...]
    works: float
    """Share of the draws in which nothing stands in the way."""
    asks: tuple[Sureness, ...]

    @property
    def sentence(self) -> str:
        """How sure the verdict is."""
        if self.works == 1.0:
            return f"It works in all of {self.draws} draws from its ranges."
        if self.works == 0.0:
            return f"It works in none of {self.draws} draws from its ranges."
        return f"It works in {100.0 * self.works:.0f} % of {self.draws} draws from its ranges."


_RESULTS: tuple[tuple[str, str, Callable[[Facts], float]], ...] = (
    ("flow", "flow", lambda f: f.flow_m3_s),
    ("pressure at the nozzle", "pressure", lambda f: f.nozzle_pa),
    ("throw", "length", lambda f: f.throw_m),
    ("plot within reach", "share", lambda f: f.watering.reach),
    ("NPSH to spare", "length", lambda f: f.npsh_margin_m),
    ("volts at the motor", "voltage", lambda f: f.pump_v),
    ("current", "current", lambda f: f.current_a),
    ("nights on a charge", "", lambda f: f.nights),
)


def spread_of(
    site: Site,
    ranges: tuple[InputRange, ...],
    *,
    wanted: int | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    progress: Callable[[float], None] = lambda share: None,
) -> Spread:
    """Work out so many sites, each input drawn evenly from its range."""
    random = np.random.Generator(np.random.Philox(seed))
    low = np.array([one.low for one in ranges])
    high = np.array([one.high for one in ranges])
    drawn: list[Facts] = []
    works = 0
    states: dict[str, list[str]] = {}
    for number, shares in enumerate(random.random((draws, len(ranges))), start=1):
        progress(number / draws)
        changed = _changed(site, ranges, low + shares * (high - low))
        if conflicts(changed):
            continue
        facts = facts_of(changed, wanted)
        drawn.append(facts)
        verdict = verdict_of(facts, Shown(site.units))
        works += verdict.works
        for answer in verdict.answers:
            states.setdefault(answer.question, []).append(answer.state)
    return Spread(
        ranges=ranges,
        draws=draws,
        seed=seed,
        impossible=draws - len(drawn),
        bands=tuple(_bands(drawn)),
        works=works / draws,
        asks=tuple(
            Sureness(
                question,
                works=(len(found) - found.count(ACT)) / draws,
                good=found.count(GOOD) / draws,
            )
            for question, found in states.items()
        ),
    )


def _bands(drawn: list[Facts]) -> list[Band]:
    if not drawn:
        return []
    bands = []
    for name, dimension, result in _RESULTS:
        values: Any = np.array([result(facts) for facts in drawn])
        low, middle, high = (float(x) for x in np.quantile(values, (LOW, 0.5, HIGH)))
        bands.append(Band(name, dimension, low, middle, high))
    return bands


def _changed(site: Site, ranges: tuple[InputRange, ...], values: Any) -> Site:
    for one, value in zip(ranges, values, strict=True):
        site = with_value(site, one.key, float(value))
    return site
