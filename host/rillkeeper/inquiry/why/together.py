"""Several troubles at once: they are weighed as one hypothesis, on all that was read.

What they add is taken to add up, and each keeps what is left free of it by itself. An attempt that
ended well did so in spite of all of them; the end of another may come from any.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import FINE
from rillkeeper.inquiry.why.comparison import felt_turn
from rillkeeper.inquiry.why.hypotheses import Hypotheses
from rillkeeper.inquiry.why.likelihood import (
    BELIEVED,
    Added,
    Data,
    robust_log_evidence,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

_MORE_OR_LESS = 2.0
"""Deviation of how bad a trouble is that is taken for true, in severities: how bad was found
before the others were known."""


@dataclass(frozen=True)
class Together(Added):
    """The sum of what several hypotheses add, row by row."""

    each: tuple[Added, ...] = ()

    @classmethod
    def of(cls, each: Sequence[Added]) -> Self:
        """Of as many rows each."""
        means = [one.mean for one in each]
        bents = [one.bent for one in each if one.bent is not None]
        bent = np.sum(bents, axis=0) if bents else None
        return cls(np.sum(means, axis=0), np.zeros_like(means[0]), bent=bent, each=tuple(each))

    @property
    def along(self) -> list[Floats]:
        """Of each of them."""
        return [free for one in self.each for free in one.along]

    def unsure(self, data: Data) -> Floats:
        """Of all of them: independent errors, and so one a sign."""
        return np.asarray(np.sqrt(sum(one.unsure(data) ** 2 for one in self.each)))


def rows_of(added: Added, rows: Ints) -> Added:
    """Some of them, or some of them again and again."""
    active, hour, bent = (
        None if one is None else one[rows] for one in (added.active, added.hour, added.bent)
    )
    return Added(added.mean[rows], added.step[rows], active, hour, bent)


def ends_together(outcomes: Sequence[str | None], one: Floats, other: Floats) -> Floats:
    """Logarithm of the chance of each end with two troubles, from that with each of them."""
    well = np.array([outcome == FINE for outcome in outcomes], dtype=bool)
    return np.where(well, np.minimum(one, other), np.maximum(one, other))


@dataclass(frozen=True)
class Held:
    """Troubles that are taken for true, in a few ways each: a way a row."""

    causes: tuple[str, ...]
    each: tuple[Added, ...]
    log_prior: Floats
    """Of each way, over that of nothing being wrong where there are several."""
    log_chances: Floats
    """Way by attempt: logarithm of the chance of its end."""

    @classmethod
    def of(cls, hypotheses: Hypotheses, rows: Ints, data: Data) -> Self:
        """One trouble."""
        added = hypotheses.added(data, rows)
        chances = hypotheses.ends_of(rows)
        return cls((hypotheses.effect.cause.name,), (added,), hypotheses.log_prior[rows], chances)

    def some(self, rows: Ints) -> Self:
        """Some of the ways."""
        return replace(
            self,
            each=tuple(rows_of(one, rows) for one in self.each),
            log_prior=self.log_prior[rows],
            log_chances=self.log_chances[rows],
        )

    def with_another(self, other: Self, outcomes: Sequence[str | None], quiet: float) -> Self:
        """Each way of these with each of another; the ways of the other turn faster.

        ``quiet`` is the logarithm of the prior chance that nothing is wrong.
        """
        mine, theirs = len(self.log_prior), len(other.log_prior)
        one = self.some(np.repeat(np.arange(mine), theirs))
        two = other.some(np.tile(np.arange(theirs), mine))
        return replace(
            one,
            causes=(*one.causes, *two.causes),
            each=(*one.each, *two.each),
            log_prior=one.log_prior + two.log_prior - quiet,
            log_chances=ends_together(outcomes, one.log_chances, two.log_chances),
        )

    def log_joint(self, data: Data) -> Floats:
        """Logarithm of the joint probability of each way and all that was read."""
        evidence = robust_log_evidence(data, Together.of(self.each))
        return np.asarray(self.log_prior + self.log_chances.sum(axis=1) + evidence)

    def left(self, data: Data) -> Data:
        """What the first way leaves to be explained.

        How bad each trouble is, and how much of it each sign shows, is known only so well: that is
        left free, as further tolerances, or the rest of it would pass for another trouble.
        """
        first = self.some(np.array([0]))
        sum_of = Together.of(first.each)
        steps = [_MORE_OR_LESS * one.step for one in first.each]
        hours = [one.hour for one in first.each if one.hour is not None]
        columns = np.concatenate([*steps, *hours, data.same * sum_of.unsure(data)])
        sd = np.hypot(data.sd, BELIEVED * sum_of.mean[0])
        bent = 0.0 if sum_of.bent is None else sum_of.bent[0]
        jacobian = np.concatenate([data.jacobian + bent, columns.T], axis=1)
        turn = felt_turn(jacobian, sd)
        before = data.jacobian.shape[1]
        return replace(
            data,
            y=data.y - sum_of.mean[0],
            sd=sd,
            jacobian=jacobian @ turn,
            turn=None if data.turn is None else data.turn @ turn[:before],
        )
