"""Where a function is zero: Brent's way, by scipy.

Every root of the simulator and of the sizing is found here, so that scipy, which takes some
0.3 s to load, is loaded by the first who looks for one and by nobody else.
"""

from collections.abc import Callable


def root(
    function: Callable[[float], float], low: float, high: float, tolerance: float = 2e-12
) -> float:
    """Zero of a function between two places at which its signs differ.

    Parameters
    ----------
    function : callable
        Of one number
    low, high : float
        The two places
    tolerance : float
        How far the answer may be off, in the unit of the two places

    Raises
    ------
    ValueError
        Where the signs are the same

    Examples
    --------
    >>> round(root(lambda x: x * x - 2.0, 0.0, 2.0), 9)
    1.414213562

    References
    ----------
    .. [1] Brent, R. P. (1973), Algorithms for Minimization Without Derivatives, chapter 4.
    """
    from scipy.optimize import brentq

    return float(brentq(function, low, high, xtol=tolerance))
