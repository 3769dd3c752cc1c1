"""What if: the same site with one or two of its values changed in steps."""

from dataclasses import dataclass
from itertools import product
from typing import Any

from rillkeeper.design.size.facts import Facts, facts_of
from rillkeeper.design.size.verdict import Verdict, verdict_of
from rillkeeper.display_units import Shown
from rillkeeper.site.change import conflicts, find_row, with_value
from rillsim.site import Site

KEYS_MAX = 2
TRIES_MAX = 200


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


def vary(site: Site, axes: tuple[Axis, ...], wanted: int | None = None) -> Variation:
    """Work the site out for every combination of the values."""
    tries = [
        try_out(site, dict(zip((axis.key for axis in axes), values, strict=True)), wanted)
        for values in product(*(axis.values for axis in axes))
    ]
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
