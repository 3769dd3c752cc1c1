r"""How well a hypothesis explains what was read: a linear model with Gaussian errors.

.. math:: y = m_h + J \theta + e, \quad \theta \sim N(0, I), \quad e_i \sim N(0, s_i^2)

``y`` are the signs less those of the sound site, ``m_h`` what the hypothesis adds, the columns
of ``J`` what each tolerance does, and ``s`` the noise, which grows with what is added, since a
signature is believed to a share of itself only. ``theta`` is integrated out:

.. math:: \ln p(y|h) = -\frac12 \left( \sum_i \ln 2 \pi s_i^2 + \ln|A| + r^T D r - u^T A^{-1} u
    \right), \quad D = \mathrm{diag}(s^{-2}), \; A = I + J^T D J, \; u = J^T D r, \; r = y - m_h

which is the Gaussian with covariance D^-1 + J J^T by the determinant lemma and Woodbury's
identity (Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, A.3).

An odd half of a run must not shout. Each half is sound with the chance 1 - ODD, else its noise
is ODD_WIDER times as wide; theta is then found by a few rounds of reweighting (the EM of a
contaminated normal: Little, Appl. Statist. 37(1), 1988, 23-38) and integrated out by Laplace's
method around it, which without odd halves is the exact integral again.
"""

from dataclasses import dataclass
from functools import cached_property
from math import log, pi

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

BELIEVED = 0.08
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


def log_evidence(data: Data, added: Floats) -> Floats:
    """Logarithm of p(y|h) for each row of what a hypothesis adds, hypothesis by sign."""
    found = [
        _gaussian(data, added[start : start + _CHUNK]) for start in range(0, len(added), _CHUNK)
    ]
    return np.concatenate(found) if found else np.zeros(0)


def _gaussian(data: Data, added: Floats) -> Floats:
    variance = data.sd**2 + (BELIEVED * added) ** 2
    weight = 1.0 / variance
    rest = data.y - added
    theta, log_det, u = _tolerances(data, weight, rest)
    square = np.sum(weight * rest * rest, axis=1) - np.sum(u * theta, axis=1)
    plain = np.sum(np.log(variance), axis=1) + len(data.y) * log(2.0 * pi)
    return np.asarray(-0.5 * (plain + log_det + square))


def _tolerances(data: Data, weight: Floats, rest: Floats) -> tuple[Floats, Floats, Floats]:
    """Best tolerances of each hypothesis, ln|A| and J^T D r."""
    d = data.jacobian.shape[1]
    matrix = (weight @ data.pairs).reshape(-1, d, d) + np.eye(d)
    u = (weight * rest) @ data.jacobian
    theta: Floats = np.linalg.solve(matrix, u[:, :, None])[:, :, 0]
    log_det: Floats = np.linalg.slogdet(matrix)[1]
    return theta, log_det, u


def robust_log_evidence(data: Data, added: Floats) -> Floats:
    """The same where a half of a run may be odd."""
    if not len(data.y):
        return np.zeros(len(added))
    variance = data.sd**2 + (BELIEVED * added) ** 2
    blocks, place = np.unique(data.block, return_inverse=True)
    sums = np.zeros((len(data.y), len(blocks)))
    sums[np.arange(len(data.y)), place] = 1.0
    sizes = sums.sum(axis=0)
    rest = data.y - added
    sound = np.ones((len(added), len(blocks)))
    left = rest
    for _ in range(_ROUNDS):
        weight = (sound + (1.0 - sound) / ODD_WIDER**2)[:, place] / variance
        theta, log_det, _ = _tolerances(data, weight, rest)
        left = rest - theta @ data.jacobian.T
        square = (left * left / variance) @ sums
        as_sound = log(1.0 - ODD) - 0.5 * square
        as_odd = log(ODD) - 0.5 * square / ODD_WIDER**2 - sizes * log(ODD_WIDER)
        both = np.logaddexp(as_sound, as_odd)
        sound = np.exp(as_sound - both)
    plain = np.sum(np.log(variance), axis=1) + len(data.y) * log(2.0 * pi)
    return np.asarray(both.sum(axis=1) - 0.5 * (plain + log_det + np.sum(theta * theta, axis=1)))
