"""Advice: the cheapest change of generic parts that makes a site do its work.

The fewest changes are tried first, and the cheapest among as many. Battery's place, nozzle,
suction line, cable and hose are searched; fuse and battery follow from what is found. Where
nothing helps, another class of pump is tried. Costs are ranks of our own assumption: see
`parts`.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import Any

from rillkeeper.design.size.facts import Facts, facts_of
from rillkeeper.design.size.parts import (
    BATTERY,
    BATTERY_AH,
    FOLLOWING,
    FUSE_KEY,
    PARTS,
    PER_STEP,
    PUMP_RANK,
    PUMPS,
    Part,
)
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.display_units import Shown
from rillkeeper.site.change import conflicts, value_of, with_value
from rillkeeper.site.fixed import fixed_keys
from rillkeeper.verdict import ACT, GOOD, Answer
from rillsim.site import Site

CHANGES_MAX = 3
SIZES_MAX = 6
"""Sizes of one part that are combined with others."""
SEARCHED, PUMPS_TRIED = 0.3, 0.9
"""Shares of the work after which the first two of three parts are over, for those who wait."""
PUMP_KEY = "pump.open_flow"
SAME_SIZE = 0.02
"""Sizes that differ by no more are one."""
ANOTHER_CLASS = 0.15
"""Open flows that differ by no more are of one class."""
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


Progress = Callable[[float], None]
"""Is told the share that is done, 0 to 1."""

Found = tuple[tuple[Change, ...], Facts]
"""Changes, and the site with them."""


@dataclass(frozen=True)
class Single:
    """What one change brings by itself."""

    change: Change
    facts: Facts


@dataclass(frozen=True)
class Advice:
    """The cheapest set of changes that meets the goal."""

    met: bool
    """False: nothing of the catalogue does, and the changes are those that come nearest."""
    changes: tuple[Change, ...]
    before: Facts
    after: Facts
    singles: tuple[Single, ...]
    tried: int


def advise(
    site: Site,
    wanted: int | None = None,
    progress: Progress = lambda share: None,
) -> Advice:
    """Search the catalogue, cheapest first, among what the site does not call fixed."""
    before = facts_of(site, wanted)
    search = _Search(site, wanted, part_of(progress, 0.0, SEARCHED))
    found = search.cheapest()
    found = found or search.with_another_pump(part_of(progress, SEARCHED, PUMPS_TRIED))
    singles = []
    progress_of_singles = part_of(progress, PUMPS_TRIED, 1.0)
    changes_of_one = [*_neighbours(site), *_pumps(site)]
    for number, change in enumerate(changes_of_one, start=1):
        if not conflicts(changed(site, change)):
            singles.append(Single(change, facts_of(changed(site, change), wanted)))
        progress_of_singles(number / len(changes_of_one))
    changes, after = found or search.nearest
    if found is None:
        for change in changes:
            site = changed(site, change)
        after = facts_of(site, wanted)
    return Advice(found is not None, changes, before, after, tuple(singles), search.tried)


def part_of(progress: Progress, first: float, last: float) -> Progress:
    """Progress of a part of the work, as that of the whole."""
    return lambda share: progress(first + (last - first) * share)


def changed(site: Site, change: Change) -> Site:
    """The site with one change; a pump comes with its whole sheet."""
    if change.key != PUMP_KEY:
        return with_value(site, change.key, change.value)
    return replace(site, pump=next(one for one in PUMPS if one.open_flow_m3_s == change.value))


def meets(facts: Facts) -> bool:
    """The goal: everything that must be good is, and nothing stands in the way."""
    return not faults(facts)


def faults(facts: Facts) -> list[Answer]:
    """The answers that keep a site from its goal."""
    answers = verdict_of(facts, Shown()).answers
    return [
        answer
        for answer in answers
        if answer.state == ACT or (answer.key in MUST_BE_GOOD and answer.state != GOOD)
    ]


def options(site: Site, part: Part) -> list[Change]:
    """Sizes of a part that may stand in place of the fitted one; none of one that is fixed."""
    if part.key in fixed_keys(site):
        return []
    fitted = value_of(site, part.key)
    sizes = [size for size in part.sold(site.units) if abs(size / fitted - 1.0) > SAME_SIZE]
    larger = sorted(size for size in sizes if size > fitted)
    smaller = sorted((size for size in sizes if size < fitted), reverse=True)
    ways = [larger if part.goes != "down" else [], smaller if part.goes != "up" else []]
    found = [
        Change(part.key, part.noun, size, part.rank + PER_STEP * step)
        for way in ways
        for step, size in enumerate(way)
    ]
    return sorted(found, key=lambda change: change.cost)


def near(site: Site, part: Part) -> list[Change]:
    """The same, but only the sizes next to the fitted one."""
    fitted = value_of(site, part.key)
    found = options(site, part)
    larger = [change for change in found if change.value > fitted][:NEAREST]
    smaller = [change for change in found if change.value < fitted][:NEAREST]
    return sorted([*smaller, *larger], key=lambda change: change.value)


def _neighbours(site: Site) -> list[Change]:
    return [change for part in (*PARTS, BATTERY) for change in near(site, part)]


def _pumps(site: Site) -> list[Change]:
    """Pumps of a class that is clearly another."""
    if PUMP_KEY in fixed_keys(site):
        return []
    fitted = site.pump.open_flow_m3_s
    flows = [one.open_flow_m3_s for one in PUMPS]
    return [
        Change(PUMP_KEY, "pump of", flow, PUMP_RANK)
        for flow in flows
        if abs(flow / fitted - 1.0) > ANOTHER_CLASS
    ]


class _Search:
    """Combinations of up to three changes."""

    def __init__(self, site: Site, wanted: int | None, progress: Progress) -> None:
        self.site, self.wanted, self.tried = site, wanted, 0
        self.progress = progress
        self.nearest: Found = ((), facts_of(site, wanted))
        """What comes nearest to the goal, if nothing meets it."""

    def with_another_pump(self, progress: Progress) -> Found | None:
        """The same with each pump of another class, where the fitted one cannot do it."""
        found = []
        pumps = _pumps(self.site)
        for place, pump in enumerate(pumps):
            site = changed(self.site, pump)
            if conflicts(site):
                continue
            shares = place / len(pumps), (place + 1) / len(pumps)
            other = _Search(site, self.wanted, part_of(progress, *shares))
            answer = other.cheapest()
            self.tried += other.tried
            if answer is not None:
                found.append(((pump, *answer[0]), answer[1]))
            self._note((pump, *other.nearest[0]), other.nearest[1])
        return min(found, key=lambda one: _cost(one[0]), default=None)

    def cheapest(self) -> Found | None:
        """The cheapest of the smallest combinations that meet the goal, with what follows."""
        choices = [options(self.site, part)[:SIZES_MAX] for part in PARTS]
        by_count = [
            [chosen for group in combinations(choices, count) for chosen in product(*group)]
            for count in range(CHANGES_MAX + 1)
        ]
        total, done = sum(map(len, by_count)), 0
        for sets in by_count:
            best: Found | None = None
            for place, changes in enumerate(sorted(sets, key=_cost)):
                self.progress((done + place) / total)
                if best is not None and _cost(changes) >= _cost(best[0]):
                    break
                found = self._settled(changes)
                if found and (best is None or _cost(found[0]) < _cost(best[0])):
                    best = found
            if best is not None:
                return best
            done += len(sets)
        return None

    def _settled(self, changes: tuple[Change, ...]) -> Found | None:
        """The combination with fuse and battery to match, where it meets the goal."""
        site = self.site
        for change in changes:
            site = with_value(site, change.key, change.value)
        if any(mistake.path != FUSE_KEY for mistake in conflicts(site)):
            return None  # The fuse follows from the rest, below.
        self.tried += 1
        facts = facts_of(site, self.wanted, limits=False)
        self._note(changes, facts)
        if _fails_without_battery(facts):
            return None
        for key, value in self._following(site, facts):
            part = next(part for part in FOLLOWING if part.key == key)
            changes = (*changes, Change(key, part.noun, value, part.rank))
            site = with_value(site, key, value)
        facts = facts_of(site, self.wanted)
        return (changes, facts) if not conflicts(site) and meets(facts) else None

    def _note(self, changes: tuple[Change, ...], facts: Facts) -> None:
        """Keep what comes nearest: the fewest faults, then the longest reach."""
        if _nearness(facts) > _nearness(self.nearest[1]):
            self.nearest = changes, facts

    def _following(self, site: Site, facts: Facts) -> list[tuple[str, Any]]:
        found: list[tuple[str, Any]] = []
        wires = facts.wires
        if wires.fuse_wanted_a and not (wires.fuse_holds and wires.fuse_protects):
            found.append((FUSE_KEY, wires.fuse_wanted_a))
        if facts.nights < facts.wanted:
            least_ah = facts_of(site, self.wanted, limits=False, size_battery=True).size_wanted_ah
            enough = [size for size in BATTERY_AH if least_ah and size >= least_ah]
            if enough and BATTERY.key not in fixed_keys(site):
                found.append(("battery.capacity", enough[0]))
        return found


def _fails_without_battery(facts: Facts) -> bool:
    """Something is wrong that neither a fuse nor a battery mends."""
    return any(answer.key not in ("wiring", "limits", "battery") for answer in faults(facts))


def _nearness(facts: Facts) -> tuple[int, float]:
    return -len(faults(facts)), facts.watering.reach


def cost_between(site: Site, other: Site) -> float:
    """Sum of the ranks of the parts in which a site differs from another; 0 where only things
    that are there stand otherwise."""
    total = 0.0
    for part in (*PARTS, *FOLLOWING):
        before, after = value_of(site, part.key), value_of(other, part.key)
        low, high = sorted((before, after))
        if high > low * (1.0 + SAME_SIZE):
            steps = sum(low < size < high for size in part.sold(site.units))
            total += part.rank + PER_STEP * steps
    return total


def _cost(changes: tuple[Change, ...]) -> float:
    return sum(change.cost for change in changes)
