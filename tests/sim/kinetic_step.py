"""The kinetic battery's step as its paper prints it, beside the form that the plant goes by."""

from math import expm1


def step_ah(
    near_ah: float, far_ah: float, current_a: float, hours: float, share: float, rate: float
) -> tuple[float, float]:
    """Charge in both wells after a constant current [Ah].

    Manwell and McGowan (1993), Solar Energy 50(5), 399-405; with q0 = q1 + q2, E = exp(-k' t)::

        q1' = q1 E + (q0 k' c - I)(1 - E)/k' - I c (k' t - 1 + E)/k'
        q2' = q2 E + q0 (1 - c)(1 - E) - I (1 - c)(k' t - 1 + E)/k'
    """
    total, x = near_ah + far_ah, rate * hours
    moved = -expm1(-x)
    lag = (x * x * (0.5 - x * (1.0 / 6.0 - x / 24.0)) if x < 1e-3 else x - moved) / rate
    near = near_ah * (1.0 - moved)
    near += (total * rate * share - current_a) * moved / rate - current_a * share * lag
    far = far_ah * (1.0 - moved) + (1.0 - share) * (total * moved - current_a * lag)
    return near, far
