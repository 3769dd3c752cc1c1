r"""How well a hypothesis explains what was read: a linear model with Gaussian errors.

.. math:: y = m_h + G_h \tau + J \theta + e, \quad \tau \sim N(0, I), \;
    \theta \sim N(0, I), \; e_i \sim N(0, s_i^2)

``y`` are the signs less those of the sound site, ``m_h`` what the hypothesis adds, the columns of
``G_h`` what a severity between this one and the next changes in it, what another hour of its
beginning does where it grows, and how far each sign may show more or less of it, since a site that
is not as its file says does not fail just as its model either, and so in all nights alike. The
columns of ``J`` are what each tolerance does, where a trouble bends it another matrix for each
hypothesis, and ``s`` the noise, which grows with what is added.
``tau`` and ``theta`` are integrated out; with ``K = [J G_h]``:

.. math:: \ln p(y|h) = -\frac12 \left( \sum_i \ln 2 \pi s_i^2 + \ln|A| + r^T D r - u^T A^{-1} u
    \right), \quad D = \mathrm{diag}(s^{-2}), \; A = I + K^T D K, \; u = K^T D r, \; r = y - m_h

which is the Gaussian with covariance D^-1 + K K^T by the determinant lemma and Woodbury's
identity (Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, A.3).

An odd half of a run must not shout. Its noise may be wider than it should be, by the factors and
with the chances of ``WIDER``; the tolerances are then found by a few rounds of reweighting (the EM
of a contaminated normal: Little, Appl. Statist. 37(1), 1988, 23-38) and integrated out by
Laplace's method around it, which without odd halves is the exact integral again.
"""

from dataclasses import dataclass
from functools import cached_property
from math import log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.courses import Changes

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

BELIEVED = 0.03
"""A signature is believed to this share of itself in each run: no run fails as the one before
(common practice, no source)."""
WIDER = ((0.988, 1.0), (0.01, 8.0), (0.002, 80.0))
"""Chance that the noise of half a run is so many times as wide: sound, odd, or beside all reason
(common practice, no source)."""
ROUNDS = 4
"""Of reweighting; fewer where a rough answer will do."""
_BEGINNING = 4
"""Halves of runs that are at least taken for the beginning of a log."""


@dataclass(frozen=True)
class Data:
    """What was read, in one row, where it was read at all."""

    y: Floats
    sd: Floats
    jacobian: Floats
    """Sign by tolerance."""
    block: Ints
    """The half of a run of each sign, counted over all."""
    sign: Ints
    """Which sign each is."""
    share: Floats | float = 0.0
    """How far each may show more or less of a trouble than its signature, in parts of it..."""
    rough: Floats | float = 0.0
    """...and by how much in any case, in its own unit; one deviation, the same in all nights."""
    turn: Floats | None = None
    """What one deviation of each tolerance that bends a trouble is in the columns of J."""

    @cached_property
    def same(self) -> Floats:
        """Sign by number of the row: 1 where it is that sign."""
        return np.asarray((np.unique(self.sign)[:, None] == self.sign[None, :]).astype(float))

    @cached_property
    def blocks(self) -> "_Blocks":
        """The halves of the runs."""
        return _Blocks(self.block)

    @cached_property
    def pairs(self) -> Floats:
        """Products of two columns, sign by pair, each pair once."""
        one, other = np.triu_indices(self.jacobian.shape[1])
        return np.asarray(self.jacobian[:, one] * self.jacobian[:, other])

    @cached_property
    def pair_of(self) -> Ints:
        """Place of each two columns among the pairs."""
        d = self.jacobian.shape[1]
        place = np.zeros((d, d), dtype=int)
        place[np.triu_indices(d)] = np.arange(self.pairs.shape[1])
        return np.maximum(place, place.T)


@dataclass(frozen=True)
class Added:
    """What hypotheses add to the signs, hypothesis by sign."""

    mean: Floats
    step: Floats
    """What one deviation of the severity within its part changes."""
    active: Floats | None = None
    """1 where the trouble is there at all; None: wherever it adds something."""
    hour: Floats | None = None
    """What one deviation of the hour at which it begins changes; None: nothing."""
    bent: Floats | None = None
    """How much more each column of J does where the trouble is, hypothesis by sign by column;
    None: no more than on the sound site."""

    def columns(self, data: Data) -> Floats:
        """What the tolerances do, sign by column; by hypothesis where the trouble bends it."""
        return data.jacobian if self.bent is None else data.jacobian + self.bent

    @property
    def along(self) -> list[Floats]:
        """What is left free of it: a little more or less, another hour."""
        return [one for one in (self.step, self.hour) if one is not None]

    def unsure(self, data: Data) -> Floats:
        """How far each sign may be off its signature, one deviation; hypothesis by sign."""
        active = self.mean != 0.0 if self.active is None else self.active
        return np.asarray(np.hypot(data.share * self.mean, data.rough * active))

    @classmethod
    def nothing(cls, signs: int) -> "Added":
        """The sound site."""
        return cls(np.zeros((1, signs)), np.zeros((1, signs)))


def log_evidence(data: Data, added: Added) -> Floats:
    """Logarithm of p(y|h) for each hypothesis."""
    variance = data.sd**2 + (BELIEVED * added.mean) ** 2
    weight = 1.0 / variance
    rest = data.y - added.mean
    fit = _fit(data, added.columns(data), _free(data, added), weight, rest)
    square = np.sum(weight * rest * rest, axis=1) - fit.explained
    plain = np.sum(np.log(variance), axis=1) + len(data.y) * log(2.0 * pi)
    return np.asarray(-0.5 * (plain + fit.log_det + square))


def _free(data: Data, added: Added) -> Floats:
    """The columns of G, hypothesis by column by sign."""
    by_sign = added.unsure(data)[:, None, :] * data.same[None, :, :]
    return np.concatenate([*(one[:, None, :] for one in added.along), by_sign], axis=1)


class _Fit(NamedTuple):
    """Best tolerances and severities of each hypothesis."""

    theta: Floats
    tau: Floats
    explained: Floats
    """u^T A^-1 u"""
    matrix: Floats
    schur: Floats

    @property
    def log_det(self) -> Floats:
        """ln|A|"""
        return np.asarray(np.linalg.slogdet(self.matrix)[1] + np.linalg.slogdet(self.schur)[1])


def _fit(data: Data, columns: Floats, free: Floats, weight: Floats, rest: Floats) -> _Fit:
    """Solve for the tolerances first and for what is free by their Schur complement."""
    own = free.shape[1]
    matrix = _products(data, columns, weight)
    weighted = weight[:, None, :] * free
    u = _each(columns.mT, weight * rest)
    cross = weighted @ columns
    right = np.concatenate([u[:, :, None], cross.mT], axis=2)
    solved: Floats = np.asarray(np.linalg.solve(matrix, right), dtype=float)
    by_u, by_cross = solved[:, :, 0], solved[:, :, 1:]
    schur = np.eye(own) + weighted @ free.mT - cross @ by_cross
    left = _each(weighted, rest) - _each(cross, by_u)
    tau: Floats = np.asarray(np.linalg.solve(schur, left[:, :, None])[:, :, 0], dtype=float)
    return _Fit(
        theta=by_u - _each(by_cross, tau),
        tau=tau,
        explained=np.asarray(np.sum(u * by_u, axis=1) + np.sum(left * tau, axis=1)),
        matrix=matrix,
        schur=schur,
    )


def _products(data: Data, columns: Floats, weight: Floats) -> Floats:
    """I + J^T D J of each hypothesis; each pair once where all have the same columns."""
    one = np.eye(columns.shape[-1])
    if columns.ndim == data.jacobian.ndim:
        return np.asarray(np.take(weight @ data.pairs, data.pair_of, axis=1) + one)
    return np.asarray((columns.mT * weight[:, None, :]) @ columns + one)


def _each(matrices: Floats, rows: Floats) -> Floats:
    """Each matrix by its own row; or one matrix by all of them."""
    if matrices.ndim == rows.ndim:
        return np.asarray(rows @ matrices.T)
    return np.asarray((matrices @ rows[:, :, None])[:, :, 0])


class _Blocks:
    """The halves of the runs, each as a whole sound or odd."""

    def __init__(self, block: Ints) -> None:
        self.numbers, self.place = np.unique(block, return_inverse=True)
        self._sums = np.zeros((len(block), len(self.numbers)))
        self._sums[np.arange(len(block)), self.place] = 1.0
        self._sizes = self._sums.sum(axis=0)

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self._sizes)

    def sums(self, rows: Floats) -> Floats:
        """Over each half of a run."""
        return np.asarray(rows @ self._sums)

    def mixed(self, square: Floats) -> tuple[Floats, Floats]:
        """Logarithm of the mixture of ways, and the weight that it leaves, by block.

        ``square`` are the squared deviations, hypothesis by sign.
        """
        sums = self.sums(square)
        ways = [
            log(odds) - 0.5 * sums / wider**2 - self._sizes * log(wider) for odds, wider in WIDER
        ]
        both = np.logaddexp.reduce(ways)
        weight = np.zeros_like(both)
        for way, (_, wider) in zip(ways, WIDER, strict=True):
            weight += np.exp(way - both) / wider**2
        return both, weight


def robust_log_evidence(data: Data, added: Added, rounds: int = ROUNDS) -> Floats:
    """The same where a half of a run may be odd."""
    return _robust(data, added, rounds)[0]


def _robust(data: Data, added: Added, rounds: int = ROUNDS) -> tuple[Floats, Floats]:
    """The robust evidence, and the tolerances that it belongs to."""
    if not len(data.y):
        return np.zeros(len(added.mean)), np.zeros((len(added.mean), data.jacobian.shape[1]))
    variance = data.sd**2 + (BELIEVED * added.mean) ** 2
    blocks = data.blocks
    rest = data.y - added.mean
    columns, free = added.columns(data), _free(data, added)
    weight = np.ones((len(rest), blocks.count))
    for _ in range(rounds):
        fit = _fit(data, columns, free, weight[:, blocks.place] / variance, rest)
        left = rest - _each(columns, fit.theta) - _each(free.mT, fit.tau)
        both, weight = blocks.mixed(left * left / variance)
    plain = np.sum(np.log(variance), axis=1) + len(data.y) * log(2.0 * pi)
    prior = np.sum(fit.theta**2, axis=1) + np.sum(fit.tau**2, axis=1)
    return np.asarray(both.sum(axis=1) - 0.5 * (plain + fit.log_det + prior)), fit.theta


@dataclass(frozen=True)
class Screen:
    """Quick scores, to choose what is looked at closely.

    By two of them the tolerances are held, so that a few gross halves do not blind them: at those
    that the whole log has on a sound site, and at those of its beginning, which a trouble that
    came later has not touched. By the third they are free, with the noise of a sound site.
    """

    thetas: tuple[Floats, ...]
    whiten: Floats
    """Tolerance by sign: what turns what is left into deviations of the tolerances."""

    @classmethod
    def of(cls, data: Data) -> "Screen":
        """Made once for a log."""
        blocks = data.blocks.numbers
        begun = data.block <= blocks[min(max(_BEGINNING, len(blocks) // 4), len(blocks) - 1)]
        read = (data.y, data.sd, data.jacobian, data.block, data.sign)
        early = Data(*(one[begun] for one in read))
        weighted = data.jacobian / data.sd[:, None] ** 2
        lower = np.linalg.cholesky(weighted.T @ data.jacobian + np.eye(data.jacobian.shape[1]))
        return cls(
            tuple(_robust(part, Added.nothing(len(part.y)))[1][0] for part in (data, early)),
            np.asarray(np.linalg.solve(lower, weighted.T)),
        )

    def scores(self, data: Data, by_part: Added, courses: Changes) -> list[Floats]:
        """By each of them, hypothesis by hypothesis.

        ``by_part`` is what each part of a severity adds, part by sign; ``courses`` are those of
        the hypotheses, over all halves of runs. With the tolerances held a half tells the same
        whatever the others are, so that it is weighed once for each part.
        """
        blocks = data.blocks
        variance = data.sd**2 + (BELIEVED * by_part.mean) ** 2 + by_part.step**2
        variance += by_part.unsure(data) ** 2
        plain = blocks.sums(0.5 * np.log(variance))
        rest = data.y - by_part.mean
        told = np.zeros((len(rest), courses.halves, len(self.whiten) + 1 + len(self.thetas)))
        columns = [blocks.sums((rest / data.sd) ** 2)]
        for theta in self.thetas:
            left = rest - data.jacobian @ theta
            columns.append(blocks.mixed(left * left / variance)[0] - plain)
        turned = blocks.sums(rest[:, None, :] * self.whiten).mT
        told[:, blocks.numbers] = np.concatenate([np.stack(columns, axis=2), turned], axis=2)
        found = courses.sums(told)
        square, held = found[:, 0], found[:, 1 : len(columns)]
        free = 0.5 * (np.sum(found[:, len(columns) :] ** 2, axis=1) - square)
        return [free, *held.T]
