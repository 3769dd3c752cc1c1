"""Least squares with a prior: the values that agree best with readings and expectation together.

Every parameter comes as a number z that is drawn, before any reading, from a normal
distribution of mean 0 and deviation 1, and lies between bounds. Readings come as residuals over
their own deviation. What is made smallest is then the sum of all squares, z among them. The
inverse of J'J at the end, with the prior's rows in J, is the covariance of z: how sure each is
once the readings are in.

References
----------
.. [1] Voglis, C., and Lagaris, I. E. (2004). A rectangular trust region dogleg approach for
   unconstrained and bound constrained nonlinear optimization. WSEAS Int. Conf. on Applied
   Mathematics, Corfu: scipy's method "dogbox".
.. [2] Tarantola, A. (2005). Inverse Problem Theory, SIAM, section 3.2.3.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Residuals = Callable[[Floats], Floats]

STEP = 1e-3
"""Of a prior deviation, for the differences that stand in for derivatives: far above the last
digits of an operating point, which is found by steps itself."""
ROUNDS_MAX = 100
DONE = 1e-4
"""Of the sum of squares: the share that is gained in a last round."""


@dataclass(frozen=True)
class Fit:
    """Where the sum is smallest."""

    z: Floats
    covariance: Floats
    residuals: Floats
    settled: bool

    @property
    def spread(self) -> Floats:
        """Deviation of each parameter, in prior deviations: 1 is nothing learned."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))


def fit(residuals: Residuals, low: Floats, high: Floats) -> Fit:
    """The parameters that suit best.

    Parameters
    ----------
    residuals : callable
        Of the parameters; as many numbers each time
    low, high : array
        Bounds of each parameter; infinite where it has none

    Examples
    --------
    One reading of 2 with a deviation of 1, and an expectation of 0 with a deviation of 1, meet
    half way.

    >>> free = np.array([np.inf])
    >>> found = fit(lambda z: np.array([z[0] - 2.0]), -free, free)
    >>> round(float(found.z[0]), 4), round(float(found.spread[0]), 4)
    (1.0, 0.7071)
    """
    # Heavy: `why` reads this package's inputs, and fits nothing.
    from scipy.optimize import approx_fprime, least_squares

    def off(z: Floats) -> Floats:
        return np.concatenate([residuals(z), z])

    def slope(z: Floats) -> Floats:
        # At its upper bound a parameter is moved inwards: outside nothing would change.
        return np.asarray(approx_fprime(z, off, np.where(z + STEP > high, -STEP, STEP)))

    found = least_squares(
        off,
        np.clip(np.zeros_like(low), low, high),
        slope,
        bounds=(low, high),
        method="dogbox",
        ftol=DONE,
        max_nfev=ROUNDS_MAX,
    )
    covariance: Floats = np.linalg.inv(found.jac.T @ found.jac)
    return Fit(found.x, covariance, found.fun[: -len(low)], bool(found.success))
