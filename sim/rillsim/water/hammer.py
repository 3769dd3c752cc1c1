r"""The first wave of a tap that snaps shut.

.. math:: a = \frac{1}{\sqrt{\rho \left(\frac{1}{K} + \frac{D}{E e}\right)}}, \qquad
    \Delta p = \rho a v \min\left(1, \frac{2 L}{a t_c}\right)

a is the wave's speed in a filled hose, v that of the water before, t_c the time in which the tap
closes: a tap that needs longer than the wave to the pump and back makes a smaller one. A pump that
goes on delivering raises the mean pressure of the hose beside it; at the pump the wave stands on
top of that mean. Thin walls, no friction on the way, no column that parts.

References
----------
.. [1] Joukowsky, N. (1898); Wylie, E. B. and Streeter, V. L. (1993), Fluid Transients in Systems,
   chapters 1 and 2; the slow closing by Michaud, 2 rho L v / t_c.
"""

from math import sqrt

from rillsim.site import LineSpec
from rillsim.water.pipe import bore_area_m2
from rillsim.water.properties import Water

TAP_S = 0.2
"""A quarter turn of a ball valve by a hasty hand: common practice, no source."""


def wave_speed_m_s(line: LineSpec, water: Water) -> float:
    """Speed of a pressure wave in a filled hose [m/s].

    >>> line = LineSpec(bore_m=0.0127, wall_m=0.0025, modulus_pa=20e6)
    >>> round(wave_speed_m_s(line, Water.at(20.0)), 1)
    62.7
    """
    stretch = 1.0 / water.bulk_modulus_pa + line.bore_m / (line.modulus_pa * line.wall_m)
    return 1.0 / sqrt(water.density_kg_m3 * stretch)


def first_wave_pa(
    line: LineSpec, water: Water, flow_m3_s: float, closing_s: float = TAP_S
) -> float:
    """Pressure of the first wave when the outlet shuts on a flow [Pa].

    >>> line = LineSpec(bore_m=0.0127, wall_m=0.0025, modulus_pa=20e6)
    >>> round(first_wave_pa(line, Water.at(20.0), 10.0 / 60000.0) / 1e3, 1)
    82.4
    """
    speed = flow_m3_s / bore_area_m2(line.bore_m)
    wave_m_s = wave_speed_m_s(line, water)
    there_and_back_s = 2.0 * line.length_m / wave_m_s
    share = min(1.0, there_and_back_s / closing_s) if closing_s > 0.0 else 1.0
    return water.density_kg_m3 * wave_m_s * speed * share
