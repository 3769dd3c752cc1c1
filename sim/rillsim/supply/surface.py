r"""Surface charge: the volts that a battery shows beyond its charge when it comes off a charger.

Near the plates acid (or lithium) is richer than in the depth after a charge. The battery reads
higher for hours, and holds hardly more: a few minutes of load take it away. While it charges at
a current :math:`a` the surface :math:`s` climbs towards a share of its most, at rest it decays,
and a load :math:`I` washes it away by the charge that is drawn:

.. math::
    \frac{ds}{dt} = \frac{1}{\tau_u} \left( s_{max} \frac{a}{a + u\,C/50} - s \right), \qquad
    \frac{ds}{dt} = -s \left( \frac{1}{\tau} + \frac{I}{q\,C} \right)

with :math:`C` the rating [Ah], :math:`\tau` hours and :math:`q` the share of the rating that takes
all but 1/e of it away. Both are solved exactly for a constant current, :math:`u` as it was. Good
for a battery that stands between 0 and 40 C; the constants are for 12 V and are orders of size,
not digits.

Examples
--------
A lead battery of 80 Ah that is nearly full, after hours on the charger, after four hours of rest,
and after three minutes at 25 A:

>>> from rillsim.supply.chemistry import FLOODED
>>> full_v = after(0.0, -2.0, 80.0, 0.1, 6 * 3600.0, FLOODED)
>>> rested_v = after(full_v, 0.0, 80.0, 0.0, 4 * 3600.0, FLOODED)
>>> loaded_v = after(full_v, 25.0, 80.0, 0.0, 180.0, FLOODED)
>>> round(full_v, 2), round(rested_v, 2), round(loaded_v, 2)
(0.46, 0.06, 0.04)

References
----------
.. [1] Battery Council International, testing of automotive batteries: remove the surface charge
   with 25 A for three minutes, or let it rest for some hours, before a voltage is believed
   (from memory).
"""

from math import exp

from rillsim.supply.chemistry import Chemistry

_CLIMB_S = 900.0
"""Common practice, no source: a charger's first quarter of an hour."""
_HALF_RATE_H = 50.0
"""In an empty battery half of it builds up at a current of the rating over so many hours; a full
one that is held at its limit has all of it. Common practice, no source."""


def after(
    surface_v: float,
    current_a: float,
    rated_ah: float,
    lacking: float,
    dt_s: float,
    kind: Chemistry,
) -> float:
    """Surface charge after a constant current, positive in discharge, [V].

    ``lacking`` is the share of its charge that the near well lacks, 0 (full) to 1.
    """
    if current_a < 0.0:
        half_a = min(max(lacking, 0.0), 1.0) * rated_ah / _HALF_RATE_H
        towards_v = kind.surface_v * current_a / (current_a - half_a)
        return towards_v + (surface_v - towards_v) * exp(-dt_s / _CLIMB_S)
    if surface_v == 0.0:
        return 0.0
    per_h = 1.0 / kind.surface_h + current_a / (kind.surface_share * rated_ah)
    return surface_v * exp(-per_h * dt_s / 3600.0)
