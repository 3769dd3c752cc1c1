r"""How well a hypothesis explains what was read: a linear model with Gaussian errors.

.. math:: y = m_h + g_h \tau + J \theta + e, \quad \tau \sim N(0, 1), \;
    \theta \sim N(0, I), \; e_i \sim N(0, s_i^2)

``y`` are the signs less those of the sound site, ``m_h`` what the hypothesis adds, ``g_h`` what a
severity between this one and the next changes in it, the columns of ``J`` what each tolerance
does, and ``s`` the noise, which grows with what is added, since a signature is believed to a
share of itself only. ``tau`` and ``theta`` are integrated out; with ``K = [J g_h]``:

.. math:: \ln p(y|h) = -\frac12 \left( \sum_i \ln 2 \pi s_i^2 + \ln|A| + r^T D r - u^T A^{-1} u
    \right), \quad D = \mathrm{diag}(s^{-2}), \; A = I + K^T D K, \; u = K^T D r, \; r = y - m_h

which is the Gaussian with covariance D^-1 + K K^T by the determinant lemma and Woodbury's
identity (Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, A.3).

An odd half of a run must not shout. Each half is sound with the chance 1 - ODD, else its noise
is ODD_WIDER times as wide; the tolerances are then found by a few rounds of reweighting (the EM
of a contaminated normal: Little, Appl. Statist. 37(1), 1988, 23-38) and integrated out by
Laplace's method around it, which without odd halves is the exact integral again.
"""

from dataclasses import dataclass
from functools import cached_property
from math import log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

BELIEVED = 0.05
"""A signature is believed to this share of itself: the catalogue's way of failing is one of
many (common practice, no source)."""
ODD = 0.01
ODD_WIDER = 8.0
"""Common practice, no source."""
_ROUNDS = 6
_CHUNK = 4000


@dataclass(frozen=True)
class Data:
    """What was read, in one row, where it was read at all."""

    y: Floats
    sd: Floats
    jacobian: Floats
    """Sign by tolerance."""
    block: Ints
    """The half of a run of each sign, counted over all."""

    @cached_property
    def pairs(self) -> Floats:
        """Products of the columns, sign by pair."""
        signs, d = self.jacobian.shape
        both = self.jacobian[:, :, None] * self.jacobian[:, None, :]
        return np.asarray(both.reshape(signs, d * d))


@dataclass(frozen=True)
class Added:
    """What hypotheses add to the signs, hypothesis by sign."""

    mean: Floats
    step: Floats
    """What one deviation of the severity within its part changes."""

    def __getitem__(self, rows: slice) -> "Added":
        return Added(self.mean[rows], self.step[rows])

    @classmethod
    def nothing(cls, signs: int) -> "Added":
        """The sound site."""
        return cls(np.zeros((1, signs)), np.zeros((1, signs)))


def log_evidence(data: Data, added: Added) -> Floats:
    """Logarithm of p(y|h) for each hypothesis."""
    starts = range(0, len(added.mean), _CHUNK)
    found = [_gaussian(data, added[start : start + _CHUNK]) for start in starts]
    return np.concatenate(found) if found else np.zeros(0)


def _gaussian(data: Data, added: Added) -> Floats:
    variance = data.sd**2 + (BELIEVED * added.mean) ** 2
    weight = 1.0 / variance
    rest = data.y - added.mean
    fit = _fit(data, added.step, weight, rest)
    square = np.sum(weight * rest * rest, axis=1) - fit.explained
    plain = np.sum(np.log(variance), axis=1) + len(data.y) * log(2.0 * pi)
    return np.asarray(-0.5 * (plain + fit.log_det + square))


class _Fit(NamedTuple):
    """Best tolerances and severities of each hypothesis."""

    theta: Floats
    tau: Floats
    log_det: Floats
    """ln|A|"""
    explained: Floats
    """u^T A^-1 u"""


def _fit(data: Data, step: Floats, weight: Floats, rest: Floats) -> _Fit:
    """Solve for the tolerances first and for the severity by its Schur complement."""
    d = data.jacobian.shape[1]
    matrix = (weight @ data.pairs).reshape(-1, d, d) + np.eye(d)
    weighted = weight * step
    u = (weight * rest) @ data.jacobian
    cross = weighted @ data.jacobian
    solved = np.linalg.solve(matrix, np.stack([u, cross], axis=2))
    by_u, by_cross = solved[:, :, 0], solved[:, :, 1]
    u_step = np.sum(weighted * rest, axis=1)
    schur = 1.0 + np.sum(weighted * step, axis=1) - np.sum(cross * by_cross, axis=1)
    left = u_step - np.sum(cross * by_u, axis=1)
    tau = left / schur
    return _Fit(
        theta=by_u - tau[:, None] * by_cross,
        tau=tau,
        log_det=np.asarray(np.linalg.slogdet(matrix)[1] + np.log(schur)),
        explained=np.asarray(np.sum(u * by_u, axis=1) + left * tau),
    )


def robust_log_evidence(data: Data, added: Added) -> Floats:
    """The same where a half of a run may be odd."""
    if not len(data.y):
        return np.zeros(len(added.mean))
    variance = data.sd**2 + (BELIEVED * added.mean) ** 2
    blocks, place = np.unique(data.block, return_inverse=True)
    sums = np.zeros((len(data.y), len(blocks)))
    sums[np.arange(len(data.y)), place] = 1.0
    sizes = sums.sum(axis=0)
    rest = data.y - added.mean
    sound = np.ones((len(rest), len(blocks)))
    for _ in range(_ROUNDS):
        weight = (sound + (1.0 - sound) / ODD_WIDER**2)[:, place] / variance
        fit = _fit(data, added.step, weight, rest)
        left = rest - fit.theta @ data.jacobian.T - fit.tau[:, None] * added.step
        square = (left * left / variance) @ sums
        as_sound = log(1.0 - ODD) - 0.5 * square
        as_odd = log(ODD) - 0.5 * square / ODD_WIDER**2 - sizes * log(ODD_WIDER)
        both = np.logaddexp(as_sound, as_odd)
        sound = np.exp(as_sound - both)
    plain = np.sum(np.log(variance), axis=1) + len(data.y) * log(2.0 * pi)
    prior = np.sum(fit.theta**2, axis=1) + fit.tau**2
    return np.asarray(both.sum(axis=1) - 0.5 * (plain + fit.log_det + prior))
