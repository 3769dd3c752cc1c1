"""The kinetic battery model: charge in two wells joined by a valve.

The first well feeds the load, the second refills it through the valve. A heavy load empties
the first well while charge is still left in the second, which is why a battery gives less at a
high rate and recovers at rest.

``rate_constant`` is k' of the paper, not the valve conductance k that many later papers
print: k' = k / (c (1 - c)); see :func:`rate_constant_per_h`.

References
----------
.. [1] Manwell, J. F. and McGowan, J. G. (1993). Lead acid battery storage model for hybrid
   energy systems. Solar Energy 50(5), 399-405.
.. [2] Jongerden, M. R. and Haverkort, B. R. (2009). Which battery model to use? IET Software
   3(6), 445-457.
.. [3] Peukert, W. (1897). Elektrotechnische Zeitschrift 20, 287-288.
"""

from math import exp, expm1

from scipy.optimize import brentq


def rate_constant_per_h(valve_per_h: float, share: float) -> float:
    """k' from the conductance of the valve, k' = k / (c (1 - c)) [1]_.

    Parameters
    ----------
    valve_per_h : float
        Conductance k of the valve, [1/h]
    share : float
        Share c of the charge that is in the first well, 0 < c < 1, [-]

    Examples
    --------
    >>> round(rate_constant_per_h(0.144, 0.4), 6)
    0.6
    """
    return valve_per_h / (share * (1.0 - share))


def _lag(x: float) -> float:
    """x - 1 + exp(-x), without loss of digits for a small x."""
    if x < 1e-3:
        return x * x * (0.5 - x * (1.0 / 6.0 - x / 24.0))
    return x + expm1(-x)


def step_ah(
    near_ah: float, far_ah: float, current_a: float, hours: float, share: float, rate: float
) -> tuple[float, float]:
    """Charge in both wells after a constant current, in closed form [1]_.

    With q0 = q1 + q2 and E = exp(-k' t)::

        q1' = q1 E + (q0 k' c - I)(1 - E)/k' - I c (k' t - 1 + E)/k'
        q2' = q2 E + q0 (1 - c)(1 - E) - I (1 - c)(k' t - 1 + E)/k'

    Parameters
    ----------
    near_ah, far_ah : float
        Charge of the well at the load and of the well behind the valve, [Ah]
    current_a : float
        Current, discharge positive, [A]
    hours : float
        Length of the step, [h]
    share, rate : float
        c [-] and k' [1/h]

    Examples
    --------
    A 115 Ah battery after one hour at 8 A.

    >>> near, far = step_ah(46.0, 69.0, 8.0, 1.0, 0.40, 0.60)
    >>> round(near, 5), round(near + far, 5)
    (39.19049, 107.0)
    """
    total = near_ah + far_ah
    x = rate * hours
    moved = -expm1(-x)
    lag = _lag(x) / rate
    near = near_ah * (1.0 - moved)
    near += (total * rate * share - current_a) * moved / rate - current_a * share * lag
    far = far_ah * (1.0 - moved) + (1.0 - share) * (total * moved - current_a * lag)
    return near, far


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
    return float(brentq(left_ah, 1e-9 * most_h, most_h * (1.0 + 1e-9)))


def share_from_ratio(ratio: float, short_h: float, long_h: float, rate: float) -> float:
    """c from two capacities, F = q(short) / q(long), where k' is known [1]_.

    With E1, E2 = exp(-k' t) and L = k' t - 1 + E for the two times, from the capacity formula::

        c = [F t2 (1 - E1) - t1 (1 - E2)] / [t1 L2 - F t2 L1]

    Examples
    --------
    >>> round(share_from_ratio(0.528672, 1.0, 20.0, 0.60), 4)
    0.4
    """
    x1, x2 = rate * short_h, rate * long_h
    above = ratio * long_h * -expm1(-x1) - short_h * -expm1(-x2)
    return above / (short_h * _lag(x2) - ratio * long_h * _lag(x1))


def peukert_life_h(capacity_at_h: float, hours: float, current_a: float, exponent: float) -> float:
    """Life by Peukert's law, t = H (C / (I H))^k [3]_, [h].

    Good for one unbroken discharge at 25 C between about the 1 h and the 100 h rate; it knows
    nothing of rest, which is why the plant does not use it.

    Examples
    --------
    >>> round(peukert_life_h(100.0, 20.0, 8.0, 1.2), 4)
    11.3785
    """
    return float(hours * (capacity_at_h / (current_a * hours)) ** exponent)
