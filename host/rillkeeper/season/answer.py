"""What many seasons come to: shares of years, middles and bands; variants by the same weather.

Seasons stay in the store (kept.py) and are read one at a time; what is told night by night is
counted in bins. So memory does not grow with their number.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import fsum, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from rillkeeper.season.kept import Kept
from rillsim.site import Site

Floats = NDArray[np.float64]

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
    kept: Kept
    place: int
    """Which variant it is in the store."""
    last: int
    """The greatest number of its seasons; the store may hold more."""
    years: int = 0
    causes: Counter[str] = field(default_factory=Counter)
    """Nights cut or missed by their cause, in all seasons."""
    said: dict[str, Counter[str]] = field(default_factory=dict)
    """For each cause: what the board said in those nights."""
    chance: Counter[str] = field(default_factory=Counter)
    low_mm: Floats = field(default_factory=lambda: np.zeros((0, MM_BINS)))
    """By night: how many years had the driest quarter short by so much."""
    ribbon: dict[int, list[str]] = field(default_factory=dict)
    readily_mm: float = 0.0
    off_percent: float = 0.0
    median_trips: list[int] = field(default_factory=list)
    """Nights after which the battery went home in the year in the middle."""

    def years_with(self, key: str, at_most: float) -> int:
        """In how many seasons a figure was no more than this."""
        return self.kept.at_most(self.place, self.last, key, at_most)

    def ranked(self, key: str, place: int) -> float:
        """The figure at a place, from 0, from the least."""
        return self.kept.ranked(self.place, self.last, key, place)[0]

    def band(self, key: str) -> tuple[float, float, float]:
        """Low, middle and high of a figure: eight years of ten lie between."""
        low, middle, high = (self._quantile(key, share) for share in BAND)
        return low, middle, high

    def _quantile(self, key: str, share: float) -> float:
        """Between two seasons in a straight line, as numpy has it."""
        at = share * (self.years - 1)
        low = self.ranked(key, int(at))
        high = self.ranked(key, min(int(at) + 1, self.years - 1))
        return low + (at - int(at)) * (high - low)

    def soil_band(self) -> Floats:
        """Low, middle and high of what the driest quarter lacks, night by night [mm]."""
        if not self.years:
            return np.zeros((3, 0))
        shares = self.low_mm.cumsum(axis=1) / self.years
        return np.array([(shares < share).sum(axis=1) * MM_STEP for share in BAND])


def answer_of(name: str, site: Site, kept: Kept, place: int, last: int) -> Variant:
    """Put the seasons of a variant together, up to the number ``last``."""
    found = Variant(name, site, kept, place, last)
    every = max(kept.count(place, last) // RIBBON_MAX, 1)
    for number, season in kept.of(place, last):
        found.years += 1
        for cause, one in season["causes"].items():
            found.causes[cause] += one["nights"]
            found.said.setdefault(cause, Counter()).update(one["said"])
        found.chance.update(season["chance"])
        _count_soil(found, season["low_mm"])
        if number % every == 0 and len(found.ribbon) < RIBBON_MAX:
            found.ribbon[number] = season["kinds"]
        found.readily_mm = season["readily_mm"]
        found.off_percent = max(found.off_percent, season["off_percent"])
    if found.years:
        _, middle = kept.ranked(place, last, "trips", (found.years - 1) // 2)
        found.median_trips = kept.one(place, middle)["trips"]
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
    """Hold two variants of one store against each other, pair by pair."""

    def pairs() -> Iterator[float]:
        return first.kept.less(first.place, other.place, first.last, key)

    count = first.years
    middle = fsum(pairs()) / count
    if count < 2:
        return Difference(key, middle, float("-inf"), float("inf"))
    spread = sqrt(fsum((pair - middle) ** 2 for pair in pairs()) / (count - 1))
    half = float(student.ppf(0.5 + SURE / 2.0, count - 1)) * spread / sqrt(count)
    return Difference(key, middle, middle - half, middle + half)
