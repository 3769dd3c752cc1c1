"""The kinetic battery model: charge in two wells joined by a valve.

The first well feeds the load, the second refills it through the valve. A heavy load empties
the first well while charge is still left in the second, which is why a battery gives less at a
high rate and recovers at rest.

``rate_constant`` is k' of the paper, not the valve conductance k that many later papers
print: k' = k / (c (1 - c)) [2]_.

References
----------
.. [1] Manwell, J. F. and McGowan, J. G. (1993). Lead acid battery storage model for hybrid
   energy systems. Solar Energy 50(5), 399-405.
.. [2] Jongerden, M. R. and Haverkort, B. R. (2009). Which battery model to use? IET Software
   3(6), 445-457.
"""

from math import exp, expm1

from rillsim.root import root


def _lag(x: float) -> float:
    """x - 1 + exp(-x), without loss of digits for a small x."""
    if x < 1e-3:
        return x * x * (0.5 - x * (1.0 / 6.0 - x / 24.0))
    return x + expm1(-x)


def max_current_a(near_ah: float, far_ah: float, hours: float, share: float, rate: float) -> float:
    """Constant current that empties the first well exactly at the end of the time [1]_.

    Imax = [k' q1 E + q0 k' c (1 - E)] / [1 - E + c (k' t - 1 + E)]

    Examples
    --------
    >>> round(max_current_a(46.0, 69.0, 1.0, 0.40, 0.60), 3)
    54.042
    """
    x = rate * hours
    left = exp(-x)
    moved = -expm1(-x)
    supply = rate * near_ah * left + (near_ah + far_ah) * rate * share * moved
    return supply / (moved + share * _lag(x))


def capacity_ah(full_ah: float, hours: float, share: float, rate: float) -> float:
    """Charge that a full battery gives at the constant current that lasts ``hours`` [1]_.

    Examples
    --------
    >>> round(capacity_ah(115.0, 20.0, 0.40, 0.60), 3)
    102.222
    """
    near = share * full_ah
    return hours * max_current_a(near, full_ah - near, hours, share, rate)


def life_h(full_ah: float, current_a: float, share: float, rate: float) -> float:
    """How long a full battery carries a constant current, [h].

    Examples
    --------
    >>> round(life_h(115.0, 54.0421, 0.40, 0.60), 3)
    1.0
    """

    def left_ah(hours: float) -> float:
        return capacity_ah(full_ah, hours, share, rate) - current_a * hours

    most_h = full_ah / current_a
    return root(left_ah, 1e-9 * most_h, most_h * (1.0 + 1e-9))
