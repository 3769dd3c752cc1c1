"""What many seasons come to: shares of years, middles and bands; variants by the same weather.

Seasons are read one at a time. Of each fourteen numbers are kept, a hundred bytes; what is told
night by night is counted in bins.
"""

from array import array
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from math import sqrt
from statistics import mean, stdev

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from rillkeeper.season.task import CUT, FULL, MISSED, RAIN, Result
from rillsim.site import Site

Floats = NDArray[np.float64]

KINDS = (FULL, RAIN, CUT, MISSED)
FIGURES = (
    "full", "rain", "cut", "missed", "dry_days", "trips", "litres", "pump_h", "starts",
    "used_ah", "spray_mm", "rain_mm", "demand_mm", "reference_mm",
)  # fmt: skip
"""What is told of each season; counts of nights, days and trips, then amounts."""
COMPARED = ("full", "cut", "missed", "dry_days", "trips", "litres", "pump_h")
BAND = (0.1, 0.5, 0.9)
MM_BINS = 128
MM_STEP = 1.0
SURE = 0.95
RIBBON_MAX = 60
"""So many years are drawn; of more, every so manieth."""


@dataclass
class Variant:
    """One variant over all its seasons."""

    name: str
    site: Site
    numbers: "array[int]" = field(default_factory=lambda: array("q"))
    figures: "dict[str, array[float]]" = field(
        default_factory=lambda: {key: array("d") for key in FIGURES}
    )
    why: Counter[str] = field(default_factory=Counter)
    """Nights by cause, in all seasons."""
    chance: Counter[str] = field(default_factory=Counter)
    low_mm: Floats = field(default_factory=lambda: np.zeros((0, MM_BINS)))
    """By night: how many years had the driest quarter short by so much."""
    ribbon: dict[int, list[str]] = field(default_factory=dict)
    readily_mm: float = 0.0
    off_percent: float = 0.0
    median_number: int = 0
    median_trips: list[int] = field(default_factory=list)
    """Nights after which the battery went home in the year in the middle."""

    @property
    def years(self) -> int:
        """How many seasons."""
        return len(self.numbers)

    def years_with(self, key: str, at_most: float) -> int:
        """In how many seasons a figure was no more than this."""
        return sum(value <= at_most for value in self.figures[key])

    def band(self, key: str) -> tuple[float, float, float]:
        """Low, middle and high of a figure: eight years of ten lie between."""
        low, middle, high = np.quantile(self.figures[key], BAND)
        return float(low), float(middle), float(high)

    def soil_band(self) -> Floats:
        """Low, middle and high of what the driest quarter lacks, night by night [mm]."""
        if not self.years:
            return np.zeros((3, 0))
        shares = self.low_mm.cumsum(axis=1) / self.years
        return np.array([(shares < share).sum(axis=1) * MM_STEP for share in BAND])


def answer_of(
    name: str,
    site: Site,
    seasons: Iterable[tuple[int, Result]],
    again: Callable[[int], Result],
    wanted: int,
) -> Variant:
    """Put the seasons of a variant together; ``again`` reads one of them once more."""
    found = Variant(name, site)
    every = max(wanted // RIBBON_MAX, 1)
    for number, season in seasons:
        found.numbers.append(number)
        kinds: Counter[str] = Counter(season["kinds"])
        counted = {kind: kinds[kind] for kind in KINDS} | {"trips": len(season["trips"])}
        for key, values in found.figures.items():
            values.append(float(counted[key] if key in counted else season[key]))
        found.why.update(season["why"])
        found.chance.update(season["chance"])
        _count_soil(found, season["low_mm"])
        if number % every == 0 and len(found.ribbon) < RIBBON_MAX:
            found.ribbon[number] = season["kinds"]
        found.readily_mm = season["readily_mm"]
        found.off_percent = max(found.off_percent, season["off_percent"])
    if found.years:
        order = sorted(zip(found.figures["trips"], found.numbers, strict=True))
        found.median_number = order[(found.years - 1) // 2][1]
        found.median_trips = again(found.median_number)["trips"]
    return found


def _count_soil(found: Variant, low_mm: list[float]) -> None:
    if not len(found.low_mm):
        found.low_mm = np.zeros((len(low_mm), MM_BINS))
    bins = np.clip(np.array(low_mm) / MM_STEP, 0, MM_BINS - 1).astype(int)
    found.low_mm[np.arange(len(low_mm)), bins] += 1.0


@dataclass(frozen=True)
class Difference:
    """A figure of a variant less that of the first, year by year in the same weather."""

    key: str
    mean: float
    low: float
    high: float
    """The mean lies between these with 95 %, by the spread of the pairs (Student's t)."""

    @property
    def real(self) -> bool:
        """Whether it is more than the chance of these years."""
        return self.low > 0.0 or self.high < 0.0

    @property
    def word(self) -> str:
        """For a table."""
        if self.low == self.high == 0.0:
            return "the same"
        return "real" if self.real else "may be chance"


def difference(key: str, first: Variant, other: Variant) -> Difference:
    """Hold two variants against each other, pair by pair.

    >>> one, two = Variant("a", Site()), Variant("b", Site())
    >>> one.figures["trips"].extend([3.0, 9.0, 6.0])
    >>> two.figures["trips"].extend([2.0, 8.0, 5.0])
    >>> difference("trips", one, two).real
    True
    """
    pairs = [b - a for a, b in zip(first.figures[key], other.figures[key], strict=True)]
    middle = mean(pairs)
    if len(pairs) < 2:
        return Difference(key, middle, float("-inf"), float("inf"))
    half = float(student.ppf(0.5 + SURE / 2.0, len(pairs) - 1)) * stdev(pairs) / sqrt(len(pairs))
    return Difference(key, middle, middle - half, middle + half)
