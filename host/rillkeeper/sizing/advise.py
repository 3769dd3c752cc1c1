"""Advice: the cheapest change of generic parts that makes a site do its work.

The fewest changes are tried first, and the cheapest among as many. Battery's place, nozzle,
suction line, cable and hose are searched; fuse and battery follow from what is found. Costs are
ranks of our own assumption: see `catalogue`.
"""

from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

from rillkeeper.shown import Shown
from rillkeeper.sizing.catalogue import BATTERY, BATTERY_AH, FAMILIES, FOLLOWING, PER_STEP, Family
from rillkeeper.sizing.change import conflicts, value_of, with_value
from rillkeeper.sizing.facts import Facts, facts_of
from rillkeeper.sizing.verdict import ACT, GOOD, verdict_of
from rillsim.site import Site

CHANGES_MAX = 3
SIZES_MAX = 6
"""Sizes of one family that are combined with others."""
NEAREST = 2
"""Sizes on each side of the fitted one whose effect is listed."""
MUST_BE_GOOD = ("water", "suction", "cover", "wiring", "limits", "battery")


@dataclass(frozen=True)
class Change:
    """One part in place of the fitted one."""

    key: str
    noun: str
    value: float
    cost: float


@dataclass(frozen=True)
class Single:
    """What one change brings by itself."""

    change: Change
    facts: Facts


@dataclass(frozen=True)
class Advice:
    """The cheapest set of changes that meets the goal."""

    met: bool
    """False: nothing of the catalogue does, and the changes are those that reach farthest."""
    changes: tuple[Change, ...]
    before: Facts
    after: Facts
    singles: tuple[Single, ...]
    tried: int


def advise(site: Site, wanted: int | None = None) -> Advice:
    """Search the catalogue, cheapest first."""
    before = facts_of(site, wanted)
    search = _Search(site, wanted)
    found = search.cheapest()
    singles = [
        Single(change, facts_of(with_value(site, change.key, change.value), wanted))
        for family in (*FAMILIES, BATTERY)
        for change in near(site, family)
        if not conflicts(with_value(site, change.key, change.value))
    ]
    changes, after = found or search.farthest or ((), before)
    return Advice(found is not None, changes, before, after, tuple(singles), search.tried)


def meets(facts: Facts) -> bool:
    """The goal: everything that must be good is, and nothing stands in the way."""
    states = {answer.key: answer.state for answer in verdict_of(facts, Shown()).answers}
    return ACT not in states.values() and all(states.get(key) == GOOD for key in MUST_BE_GOOD)


def options(site: Site, family: Family) -> list[Change]:
    """Sizes of a family that may stand in place of the fitted one."""
    fitted = value_of(site, family.key)
    sizes = [size for size in family.sold(site.units) if abs(size / fitted - 1.0) > 0.02]
    larger = sorted(size for size in sizes if size > fitted)
    smaller = sorted((size for size in sizes if size < fitted), reverse=True)
    ways = [larger if family.goes != "down" else [], smaller if family.goes != "up" else []]
    found = [
        Change(family.key, family.noun, size, family.rank + PER_STEP * step)
        for way in ways
        for step, size in enumerate(way)
    ]
    return sorted(found, key=lambda change: change.cost)


def near(site: Site, family: Family) -> list[Change]:
    """The same, but only the sizes next to the fitted one."""
    fitted = value_of(site, family.key)
    found = options(site, family)
    larger = [change for change in found if change.value > fitted][:NEAREST]
    smaller = [change for change in found if change.value < fitted][:NEAREST]
    return sorted([*smaller, *larger], key=lambda change: change.value)


class _Search:
    """Combinations of up to three changes."""

    def __init__(self, site: Site, wanted: int | None) -> None:
        self.site, self.wanted, self.tried = site, wanted, 0
        self.farthest: tuple[tuple[Change, ...], Facts] | None = None
        """What reaches most of the plot, if nothing does all that it should."""

    def cheapest(self) -> tuple[tuple[Change, ...], Facts] | None:
        """The cheapest of the smallest combinations that meet the goal, with what follows."""
        choices = [options(self.site, family)[:SIZES_MAX] for family in FAMILIES]
        for count in range(CHANGES_MAX + 1):
            best: tuple[tuple[Change, ...], Facts] | None = None
            sets = [chosen for group in combinations(choices, count) for chosen in product(*group)]
            for changes in sorted(sets, key=_cost):
                if best is not None and _cost(changes) >= _cost(best[0]):
                    break
                found = self._settled(changes)
                if found and (best is None or _cost(found[0]) < _cost(best[0])):
                    best = found
            if best is not None:
                return best
        return None

    def _settled(self, changes: tuple[Change, ...]) -> tuple[tuple[Change, ...], Facts] | None:
        """The combination with fuse and battery to match, where it meets the goal."""
        site = self.site
        for change in changes:
            site = with_value(site, change.key, change.value)
        if conflicts(site):
            return None
        self.tried += 1
        facts = facts_of(site, self.wanted, limits=False)
        if self.farthest is None or facts.watering.reach > self.farthest[1].watering.reach:
            self.farthest = changes, facts
        if _fails_without_battery(facts):
            return None
        for key, value in self._following(site, facts):
            family = next(family for family in FOLLOWING if family.key == key)
            changes = (*changes, Change(key, family.noun, value, family.rank))
            site = with_value(site, key, value)
        facts = facts_of(site, self.wanted)
        return (changes, facts) if not conflicts(site) and meets(facts) else None

    def _following(self, site: Site, facts: Facts) -> list[tuple[str, Any]]:
        found: list[tuple[str, Any]] = []
        wires = facts.wires
        if wires.fuse_wanted_a and not (wires.fuse_holds and wires.fuse_protects):
            found.append(("cable.fuse", wires.fuse_wanted_a))
        if facts.nights < facts.wanted:
            least_ah = facts_of(site, self.wanted, limits=False, size_battery=True).size_wanted_ah
            enough = [size for size in BATTERY_AH if least_ah and size >= least_ah]
            if enough:
                found.append(("battery.capacity", enough[0]))
        return found


def _fails_without_battery(facts: Facts) -> bool:
    """Something is wrong that neither a fuse nor a battery mends."""
    states = {answer.key: answer.state for answer in verdict_of(facts, Shown()).answers}
    mended = ("wiring", "limits", "battery")
    return any(
        state == ACT or (key in MUST_BE_GOOD and state != GOOD)
        for key, state in states.items()
        if key not in mended
    )


def _cost(changes: tuple[Change, ...]) -> float:
    return sum(change.cost for change in changes)
