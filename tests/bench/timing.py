"""Measures processor time, taking turns, so that a busy machine troubles all sides alike."""

import gc
import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Times:
    """Repeated measurements of one thing [s]."""

    seconds: tuple[float, ...]

    @property
    def middle_s(self) -> float:
        """The median."""
        return median(self.seconds)

    @property
    def spread_percent(self) -> float:
        """Longest less shortest, as a share of the median."""
        return 100.0 * (max(self.seconds) - min(self.seconds)) / self.middle_s


def take_turns(jobs: list[Callable[[], object]], repeats: int) -> list[Times]:
    """Run each job in turn, ``repeats`` times over; processor time of this process."""
    taken: list[list[float]] = [[] for _ in jobs]
    for _ in range(repeats):
        for job, seconds in zip(jobs, taken, strict=True):
            gc.collect()
            start_s = time.process_time()
            job()
            seconds.append(time.process_time() - start_s)
    return [Times(tuple(seconds)) for seconds in taken]
