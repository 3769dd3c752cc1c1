"""How severe each hypothesis of a trouble is, half by half of all runs: its course."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]


@dataclass(frozen=True)
class Changes:
    """Courses by the halves at which they go from one part of the severity to another.

    A trouble that comes at once does so once, however long the log, and many courses do it alike.
    """

    half: Ints
    before: Ints
    """The part until this half..."""
    after: Ints
    """...and from it on; one of each kind of change."""
    order: Ints
    """The courses, those of most changes first."""
    kinds: tuple[Ints, ...]
    """Of the first change, the second, and so on: its kind, in those courses that have one."""
    last: Ints
    """The part in the end, course by course."""
    halves: int

    @classmethod
    def of(cls, parts: Ints) -> "Changes":
        """From the part of the severity by course and half."""
        most = int(parts.max()) + 1
        course, half = np.nonzero(parts[:, 1:] != parts[:, :-1])
        half += 1
        key = (half * most + parts[course, half - 1]) * most + parts[course, half]
        distinct, kind = np.unique(key, return_inverse=True)
        count = np.bincount(course, minlength=len(parts))
        order = np.argsort(-count, kind="stable")
        first = (np.cumsum(count) - count)[order]
        count = count[order]
        kinds = (kind[first[count > more] + more] for more in range(count.max()))
        pair, after = np.divmod(distinct, most)
        half, before = np.divmod(pair, most)
        return cls(half, before, after, order, tuple(kinds), parts[:, -1], parts.shape[1])

    def sums(self, told: Floats) -> Floats:
        """Over all halves of each course: from part by half by column, course by column."""
        parts, halves, columns = told.shape
        until = np.zeros((parts, halves + 1, columns))
        np.cumsum(told, axis=1, out=until[:, 1:])
        jump = until[self.before, self.half] - until[self.after, self.half]
        found = until[self.last[self.order], -1]
        for kind in self.kinds:
            found[: len(kind)] += jump.take(kind, axis=0)
        sums: Floats = np.empty_like(found)
        sums[self.order] = found
        return sums


@dataclass(frozen=True)
class Courses:
    """Of all hypotheses of one failure mode, one a row."""

    places: Floats
    """Hypothesis by half of an attempt: place among the severities, between two of them where a
    trouble grows."""

    @cached_property
    def parts(self) -> Ints:
        """The nearest of the severities."""
        return np.rint(self.places).astype(int)

    @cached_property
    def worst(self) -> Ints:
        """The part in the worse half of each attempt, hypothesis by attempt."""
        return np.maximum(self.parts[:, 0::2], self.parts[:, 1::2])

    @cached_property
    def begins(self) -> NDArray[np.bool_]:
        """Hypothesis by attempt: whether the trouble is there, and was not in the run before."""
        head, tail_before = self.places[:, 0::2], self.places[:, 1:-1:2]
        found = np.zeros(head.shape, dtype=bool)
        found[:, 1:] = (head[:, 1:] > 0.0) & (tail_before == 0.0)
        return found

    @cached_property
    def changes(self) -> Changes:
        """Of the parts, from half to half."""
        return Changes.of(self.parts)

    @cached_property
    def worst_changes(self) -> Changes:
        """The same from attempt to attempt."""
        return Changes.of(self.worst)
