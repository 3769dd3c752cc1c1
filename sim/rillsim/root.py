"""Where a function is zero: Brent's way.

Every root of the simulator and of the sizing is found here. ``fluids``, which the pipes load
anyway, takes the very steps of scipy's ``brentq``, so that the answers are the same to the last
bit; to load scipy's takes some 0.3 s.
"""

from collections.abc import Callable

from fluids.numerics import NotBoundedError, UnconvergedError, brenth

_RELATIVE_TOLERANCE = 2.0**-50
"""Of the answer; what scipy's takes: four times the distance from 1 to the next number."""


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
        Where the signs are the same, the function is not a number, or no zero is found

    Examples
    --------
    >>> round(root(lambda x: x * x - 2.0, 0.0, 2.0), 9)
    1.414213562

    References
    ----------
    .. [1] Brent, R. P. (1973), Algorithms for Minimization Without Derivatives, chapter 4.
    """

    def number(place: float) -> float:
        found = function(place)
        if found != found:
            raise ValueError(f"not a number at {place:g}")
        return found

    try:
        return float(
            brenth(  # type: ignore[no-untyped-call]
                number, low, high, xtol=tolerance, rtol=_RELATIVE_TOLERANCE, q=True
            )
        )
    except (NotBoundedError, UnconvergedError) as error:
        raise ValueError(str(error)) from error
