"""Which small test parts the causes best for the least walk.

The worth of a test is what its outcome is expected to tell of the cause: the entropy of the causes
now, less what is left of it on average over the outcomes that the plant gives under each [1]_.

References
----------
.. [1] Lindley, D. V. (1956), On a measure of the information provided by an experiment, Annals of
   Mathematical Statistics 27(4), 986-1005.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray

from rillkeeper.inquiry.why.small_tests.expected import Expected
from rillkeeper.inquiry.why.small_tests.table import TESTS, SmallTest
from rillsim.site import BoardSpec

Floats = NDArray[np.float64]

_NODES = 7
"""Of the quadrature, in each reading."""
_BASE_MIN = 3.0
"""To begin any test at all: walk there, plug the computer in."""
WORTH_BITS = 0.15
"""A test that tells less than this is not worth the walk (own choice)."""
NEARLY = 0.6
"""Of the best test's worth: what tells so much is weighed by the walk (own choice)."""


@dataclass(frozen=True)
class Worth:
    """What one test is expected to tell."""

    test: SmallTest
    bits: float
    """Of information on the cause."""
    right_now: float
    """Chance that the likeliest cause is the right one before the test, and after it."""
    right_after: float

    @property
    def rate(self) -> float:
        """Bits for a minute of walk."""
        return self.bits / (self.test.walk_min + _BASE_MIN)


def worths(found: Expected, board: BoardSpec, done: Sequence[str] = ()) -> list[Worth]:
    """Every test that this board can do and that was not done yet; the best choice first."""
    all_of_them = [
        worth_of(found, test) for test in TESTS if test.fits(board) and test.name not in done
    ]
    best = max((one.bits for one in all_of_them), default=0.0)
    near = [one for one in all_of_them if one.bits >= NEARLY * best]
    rest = [one for one in all_of_them if one.bits < NEARLY * best]
    near.sort(key=lambda one: -one.rate)
    rest.sort(key=lambda one: -one.bits)
    return near + rest


def worth_of(found: Expected, test: SmallTest) -> Worth:
    """What a test is expected to tell, over all its outcomes."""
    prior = np.array([one.probability for one in found.suspects])
    prior = prior / prior.sum()
    seen, chance = outcomes(found, test, prior)
    after = posteriors(found, test, prior, seen)
    left = -(after * np.log2(np.maximum(after, 1e-300))).sum(axis=0)
    now = -(prior * np.log2(np.maximum(prior, 1e-300))).sum()
    bits = max(float(now - (chance * left).sum()), 0.0)
    return Worth(test, bits, float(prior.max()), float((chance * after.max(axis=0)).sum()))


def posteriors(found: Expected, test: SmallTest, prior: Floats, seen: Floats) -> Floats:
    """Probability of each suspect after each set of readings: suspects by sets."""
    log_joint = found.log_likelihoods(test, seen) + np.log(np.maximum(prior, 1e-300))[:, None]
    return np.asarray(np.exp(log_joint - np.logaddexp.reduce(log_joint, axis=0)))


def outcomes(found: Expected, test: SmallTest, prior: Floats) -> tuple[Floats, Floats]:
    """Readings that may come out, and how likely each set of them is."""
    nodes, node_weights = hermegauss(_NODES)
    node_weights = node_weights / node_weights.sum()
    count = len(test.readings)
    steps = np.array(list(product(nodes, repeat=count)))
    shares = np.array([np.prod(one) for one in product(node_weights, repeat=count)])
    lower = np.linalg.cholesky(found.covariance(test))
    seen, chance = [], []
    for mean, owner, weight in zip(found.means(test), found.owner, found.weights, strict=True):
        much = prior[owner] * weight
        if np.isnan(mean).any():
            seen.append(np.full((1, count), np.nan))
            chance.append(np.array([much]))
        else:
            seen.append(mean + steps @ lower.T)
            chance.append(much * shares)
    return np.concatenate(seen), np.concatenate(chance)
