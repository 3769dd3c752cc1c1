"""Least squares with a prior: the values that agree best with readings and expectation together.

Every parameter comes as a number z that is drawn, before any reading, from a normal
distribution of mean 0 and deviation 1. Readings come as residuals over their own deviation.
What is made smallest is then the sum of all squares, z among them, by Levenberg's and
Marquardt's way of going between Gauss-Newton and the steepest descent. The inverse of
J'J + 1 at the end is the covariance of z: how sure each is once the readings are in.

References
----------
.. [1] Marquardt, D. W. (1963). J. Soc. Ind. Appl. Math. 11(2), 431-441.
.. [2] Tarantola, A. (2005). Inverse Problem Theory, SIAM, section 3.2.3.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Residuals = Callable[[Floats], Floats]

STEP = 1e-3
"""Of a prior deviation, for the differences that stand in for derivatives."""
ROUNDS_MAX = 40
DONE = 1e-3
"""Of the sum of squares: what is gained in a round, where a whole unit is one deviation."""
_DAMPING = 1e-2
_DAMPING_MAX = 1e8


@dataclass(frozen=True)
class Fit:
    """Where the sum is smallest."""

    z: Floats
    covariance: Floats
    residuals: Floats
    rounds: int
    settled: bool

    @property
    def spread(self) -> Floats:
        """Deviation of each parameter, in prior deviations: 1 is nothing learned."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))


def fit(residuals: Residuals, count: int) -> Fit:
    """The parameters that suit best.

    Parameters
    ----------
    residuals : callable
        Of the parameters; as many numbers each time
    count : int
        How many parameters

    Examples
    --------
    One reading of 2 with a deviation of 1, and an expectation of 0 with a deviation of 1, meet
    half way.

    >>> found = fit(lambda z: np.array([z[0] - 2.0]), 1)
    >>> round(float(found.z[0]), 4), round(float(found.spread[0]), 4)
    (1.0, 0.7071)
    """
    z = np.zeros(count)
    off = residuals(z)
    damping = _DAMPING
    settled = False
    rounds = 0
    while rounds < ROUNDS_MAX and not settled:
        rounds += 1
        slope = _slope(residuals, z, off)
        curve = slope.T @ slope + np.eye(count)
        pull = slope.T @ off + z
        taken = False
        while not taken and damping < _DAMPING_MAX:
            step = -np.linalg.solve(curve + damping * np.diag(np.diag(curve)), pull)
            tried = residuals(z + step)
            if _cost(tried, z + step) <= _cost(off, z):
                gained = _cost(off, z) - _cost(tried, z + step)
                z, off, taken = z + step, tried, True
                damping /= 10.0
                settled = gained < DONE
            else:
                damping *= 10.0
        settled = settled or not taken
    slope = _slope(residuals, z, off)
    covariance: Floats = np.linalg.inv(slope.T @ slope + np.eye(count)).astype(np.float64)
    return Fit(z, covariance, off, rounds, settled)


def _cost(off: Floats, z: Floats) -> float:
    return float(off @ off + z @ z)


def _slope(residuals: Residuals, z: Floats, off: Floats) -> Floats:
    """Change of each residual with each parameter: forward differences."""
    columns = []
    for place in range(len(z)):
        moved = z.copy()
        moved[place] += STEP
        columns.append((residuals(moved) - off) / STEP)
    return np.array(columns).reshape(len(z), -1).T
