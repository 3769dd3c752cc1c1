r"""The wave of a tap that snaps shut.

.. math:: a = \frac{1}{\sqrt{\rho \left(\frac{1}{K} + \frac{D}{E e}\right)}}, \qquad
    \Delta p = \rho a v \min\left(1, \frac{2 L}{a t_c}\right)

a is the wave's speed in a filled hose, v that of the water before, t_c the time in which the tap
closes: a tap that needs longer than the wave to the pump and back makes a smaller one. A pump that
goes on delivering raises the mean pressure of the hose beside it; at the pump the wave stands on
top of that mean. Thin walls, no friction on the way, no column that parts.

The plant's hose has one pressure, which is that mean. A transducer at the pump reads a staircase
around it: nothing until the wave is there, L / a after the tap; then twice the wave at once,
since a pump that goes on delivering throws it back like a wall; and the same again each 2 L / a.
What it reads beside the mean is a saw of period T = 2 L / a, u being the time since the wave came:

.. math:: d(u) = \Delta p \left(1 - 2 \operatorname{frac} \frac{u}{T}\right)
    2^{-u / T}, \quad u \ge 0

A pump that stops before a shut tap lets the other saw run, from its own end. Soft walls halve a
saw in each period (from memory: soft plastic damps such waves within a few periods). Where the tap
needs some time, the saw is its mean over that time. Good for what is read ten times a second.

References
----------
.. [1] Joukowsky, N. (1898); Wylie, E. B. and Streeter, V. L. (1993), Fluid Transients in Systems,
   chapters 1 and 2; the slow closing by Michaud, 2 rho L v / t_c.
"""

from math import ceil, sqrt

from rillsim.site import LineSpec
from rillsim.water.pipe import bore_area_m2
from rillsim.water.properties import Water

BURST = 3.0
"""A water hose bursts at three times its working pressure at the least (ISO 7751, up to 10 bar,
from memory; usual are 3 to 4) and is tested at half of that. So a wave that passes the rating for
tenths of a second breaks nothing, and what is held to the rating is the mean, which stays as long
as the pump pushes against the shut tap. Past the burst pressure no moment is short enough. That a
pump's chamber stands a wave as the hose does is common practice, no source."""
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


def there_and_back_s(line: LineSpec, water: Water) -> float:
    """Time of a wave from the tap to the pump and back [s]."""
    return 2.0 * line.length_m / wave_speed_m_s(line, water)


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
    share = min(1.0, there_and_back_s(line, water) / closing_s) if closing_s > 0.0 else 1.0
    return water.density_kg_m3 * wave_m_s * speed * share


PERIODS = 6
"""After so many a saw is under 2 % of its first height, and left alone."""


class Wave:
    """What a transducer at the pump reads beside the mean of the hose."""

    def __init__(self, line: LineSpec, water: Water, tick_s: float) -> None:
        self.period_s = there_and_back_s(line, water)
        self._pa_s_m3 = first_wave_pa(line, water, 1.0, 0.0)
        self._tick_s = tick_s
        self._saws: list[tuple[int, float, float]] = []
        """Tick, height at its first step [Pa], and time until it is at the pump [s]."""
        self.over_n = -1
        """After this tick there is nothing."""

    def shut(self, n: int, flow_m3_s: float) -> None:
        """The tap snaps shut on a flow at a tick."""
        self._begin(n, self._pa_s_m3 * flow_m3_s, 0.5 * self.period_s)

    def stop(self, n: int, flow_m3_s: float) -> None:
        """A pump that was giving a flow stops before the shut tap."""
        self._begin(n, -self._pa_s_m3 * flow_m3_s, 0.0)

    def still(self) -> None:
        """The tap is open again, or another hose is on: the waves are gone."""
        self._saws.clear()
        self.over_n = -1

    def _begin(self, n: int, height_pa: float, way_s: float) -> None:
        if self.over_n < n:
            self._saws.clear()
        self._saws.append((n, height_pa, way_s))
        self.over_n = n + ceil((way_s + PERIODS * self.period_s) / self._tick_s)

    def at_pa(self, n: int) -> float:
        """Beside the mean at a tick [Pa]."""
        found_pa = 0.0
        for begun_n, height_pa, way_s in self._saws:
            after_s = (n - begun_n) * self._tick_s
            if after_s > 0.0:
                closing_s = TAP_S if way_s > 0.0 else 0.0
                found_pa += height_pa * self._saw(after_s - way_s, way_s, closing_s)
        return found_pa

    def _saw(self, since_s: float, way_s: float, closing_s: float) -> float:
        """In parts of its height, so long after it arrived; below zero before that."""
        damped = float(0.5 ** max(0.0, since_s / self.period_s))
        if closing_s <= 0.0:
            return damped * (1.0 - 2.0 * ((since_s / self.period_s) % 1.0))
        first_s, last_s = since_s - 0.5 * closing_s, since_s + 0.5 * closing_s
        return damped * (self._sum_s(last_s, way_s) - self._sum_s(first_s, way_s)) / closing_s

    def _sum_s(self, since_s: float, way_s: float) -> float:
        """The saw summed up from its arrival, without damping [s]."""
        if since_s < 0.0:
            left_s = max(0.0, since_s + way_s)
            return (way_s * way_s - left_s * left_s) / self.period_s
        part = (since_s / self.period_s) % 1.0
        return part * (1.0 - part) * self.period_s
