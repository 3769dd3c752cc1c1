r"""How warm the battery is in its box: it follows the air, hours behind.

.. math:: \frac{dT}{dt} = \frac{T_{air} - T}{\tau}, \qquad
    T(t) = T_{air} + (T_0 - T_{air}) \, e^{-t/\tau}

solved exactly for air that is steady over the step (an hour). :math:`\tau = m c / (U A)`: 20 kg of
lead battery hold some 20 kJ/K, and a closed plastic box in the shade passes about 0.7 W/K, which
is 8 h; a tenth of that for a bare battery in the wind, more for one in straw. Good for a box in
the shade; what the battery's own current heats (a few watts for an hour) is left out.

Examples
--------
A battery of 15 C in air of 5 C, eight hours later:

>>> round(after(15.0, 5.0, 8 * 3600.0, 8 * 3600.0), 1)
8.7

References
----------
.. [1] Newton's law of cooling, lumped capacity; heat of lead-acid batteries about 1 kJ/(kg K),
   from memory.
"""

from math import exp

STEP_TICKS = 36000
"""An hour, in ticks of 100 ms: how often it is looked at."""
HOME_C = 18.0
"""Where it is charged."""


def after(battery_c: float, air_c: float, dt_s: float, tau_s: float) -> float:
    """Temperature of the battery after a time in steady air, [C]; no ``tau_s``: as it was."""
    if tau_s <= 0.0:
        return battery_c
    return air_c + (battery_c - air_c) * exp(-dt_s / tau_s)
