"""What is left in a source that can be emptied, by the litres that the board has counted.

The site file says what stood above the strainer at first: that is taken for the noon before the
first night that is read. What spring and roof bring is reckoned as in the plant. A refill is in
no log; it shows by more water than there was, and then no level before or after it is known.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from rillkeeper.runlog.runs import Run
from rillsim import ledger
from rillsim.site import Site
from rillsim.water.store import Store

DAY_S = 86400.0
ML_PER_M3 = 1e6
REFILLED = 0.1
"""More than this share of what it holds, taken beyond what there was, is a refill and no error of
the count (common practice, no source)."""


class SourceCount:
    """One source, from the noon of a night on."""

    def __init__(self, site: Site, first_night: int) -> None:
        self._water = site.water
        self._store = Store(site.water)
        self._first_night = first_night
        self._totals = ledger.empty()
        self._at_s = first_night * DAY_S
        self.lacking_m3 = 0.0
        """Taken, and not there by this count: somebody has refilled it, or more comes in."""

    @property
    def whole_m3(self) -> float:
        """What it holds."""
        return max(self._water.full_m3, self._water.stored_m3)

    @property
    def refilled(self) -> bool:
        """Whether the count cannot be right any more."""
        return self.lacking_m3 > REFILLED * self.whole_m3

    @property
    def left_m3(self) -> float:
        """Above the strainer, but for its own fall; endless where the source has no volume."""
        return self._store.left_m3(self._totals)

    def fallen_m3(self, night: int) -> float:
        """What its own fall up to a night has left below the strainer."""
        water = self._water
        by_itself_m = water.fall_m_per_day * (night - self._first_night)
        return by_itself_m * water.stored_m3 / water.cover_m if water.cover_m > 0.0 else 0.0

    def sunk_m(self, night: int) -> float:
        """How far it stands below its first in a night, by itself and by what was taken."""
        by_itself_m = self._water.fall_m_per_day * (night - self._first_night)
        return by_itself_m + self._store.sunk_m(self._totals)

    def wait(self, to_s: float, rain_mm: float = 0.0) -> None:
        """Let time pass up to a moment, and so much rain fall."""
        if self._store.ends and to_s > self._at_s:
            self._store.fill(self._totals, rain_mm, to_s - self._at_s)
        self._at_s = max(self._at_s, to_s)

    def take(self, taken_m3: float) -> None:
        """Pump so much out of it, as far as it is there."""
        there_m3 = min(taken_m3, self.left_m3)
        self._totals[ledger.TAKEN] += there_m3
        self.lacking_m3 += taken_m3 - there_m3


@dataclass(frozen=True)
class Sunk:
    """How far the source stood below its first, at both ends of a run."""

    start_m: float
    end_m: float
    left_m3: float
    """After the run, above the strainer; endless where it is not known."""
    known: bool = True
    """Where not, the levels are those of a source half full."""


def begun_s(run: Run) -> float:
    """When a run began, in seconds as day numbers count; noon of its night is its day's start."""
    return run.night * DAY_S + run.start.since_noon_s


def taken_m3(run: Run) -> float:
    """What it took, as the board counts it also where no transducer is fitted [m3]."""
    counted = run.stop.entry["given_ml"] if run.stop else run.given_ml
    return float(counted) / ML_PER_M3


def sunk_along(site: Site, runs: Sequence[Run]) -> dict[int, Sunk]:
    """The level in each run, by the run's place in the log; no rain is known here."""
    if not runs:
        return {}
    count = SourceCount(site, runs[0].night)
    found = {}
    for run in runs:
        count.wait(begun_s(run))
        start_m = count.sunk_m(run.night)
        count.take(taken_m3(run))
        found[run.place] = Sunk(start_m, count.sunk_m(run.night), count.left_m3)
    if count.refilled:
        half_m = 0.5 * site.water.cover_m
        return dict.fromkeys(found, Sunk(half_m, half_m, inf, known=False))
    return found
