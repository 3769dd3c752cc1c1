"""Where the water of one sprinkler comes down: radial patterns, wind, and loss in the air."""

from math import cos, pi, radians, sin

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

PATTERNS = ("triangular", "even", "doughnut")
RING_CENTRE = 0.25
"""Depth at the sprinkler, as a share of the ring's, when the pressure is too low."""
RING_AT = 0.8
"""Where the ring lies, as a share of the throw. Both: common practice, no source."""
BREAKUP_PA = 140.0e3
"""Below about 20 psi a jet no longer breaks into drops and falls in a ring..."""
RING_PA = 70.0e3
"""...which is complete at about 10 psi (common practice, no source)."""
DRIFT_S = 1.0
"""Metres that a drop drifts for each m/s of wind. The flight of drops of 1 to 4 mm from
a stand of 1 m at 1.5 to 3 bar with the drag of Fukui et al. (1980) gives 0.9 to 1.3 along the
wind and 0.6 to 1.0 across it, whatever the size of the drop; a test flies them."""
DRIFT_THROW_M = 4.0
"""A shorter throw is in the air for less time: the drift falls with it."""


def ring_share(pressure_pa: float) -> float:
    """Share of the water that falls in a ring because the pressure is too low, 0 to 1 [-].

    >>> ring_share(200e3), ring_share(105e3), ring_share(50e3)
    (0.0, 0.5, 1.0)
    """
    return min(1.0, max(0.0, (BREAKUP_PA - pressure_pa) / (BREAKUP_PA - RING_PA)))


def pattern_share_m2(pattern: str, radius: Floats, throw_m: float) -> Floats:
    """Share of the water on each square metre at a distance, for a full circle [1/m2].

    Triangular: 3 / (pi R2) (1 - r/R). Even: 1 / (pi R2). Doughnut: straight up from the
    centre to the ring at 0.8 R and straight down to nothing at R. Each has volume one.

    >>> float(pattern_share_m2("even", np.array([0.0, 3.0]), 2.0)[1])
    0.0
    """
    ratio = radius / throw_m
    area_m2 = pi * throw_m * throw_m
    if pattern == "triangular":
        return np.maximum(0.0, 1.0 - ratio) * (3.0 / area_m2)
    if pattern == "even":
        return np.where(ratio <= 1.0, 1.0 / area_m2, 0.0)
    if pattern == "doughnut":
        shape = np.interp(ratio, (0.0, RING_AT, 1.0), (RING_CENTRE, 1.0, 0.0))
        return shape / (_ring_volume() * area_m2)
    raise ValueError(f"pattern {pattern!r} is not one of {', '.join(PATTERNS)}")


def _ring_volume() -> float:
    """Volume under the doughnut for R = 1 and area pi, over pi: 2 int f(r) r dr."""
    a, c = RING_AT, RING_CENTRE
    rising = c * a**2 + (1.0 - c) * 2.0 * a**2 / 3.0
    falling = 2.0 / (1.0 - a) * ((1.0 - a**2) / 2.0 - (1.0 - a**3) / 3.0)
    return rising + falling


def drift_m(wind_m_s: float, throw_m: float) -> float:
    """How far the wind carries the whole pattern [m].

    >>> drift_m(2.0, 7.0)
    2.0
    """
    return DRIFT_S * wind_m_s * min(1.0, throw_m / DRIFT_THROW_M)


def drift_xy_m(wind_m_s: float, wind_from_deg: float, throw_m: float) -> tuple[float, float]:
    """The same towards the east and the north [m, m]; the wind comes from ``wind_from_deg``.

    >>> tuple(round(x, 9) for x in drift_xy_m(2.0, 270.0, 7.0))
    (2.0, 0.0)
    """
    far_m, towards = drift_m(wind_m_s, throw_m), radians(wind_from_deg + 180.0)
    return far_m * sin(towards), far_m * cos(towards)


def air_loss(wind_m_s: float, humidity: float) -> float:
    """Share of the water that evaporates or drifts away before it lands [-].

    WDEL = 20.34 + 0.214 U2 - 0.00229 RH2 per cent for a solid set, wind at 2 m [m/s] and
    humidity [%]. Playan et al. (2005), Agric. Water Manage. 76, 139, from memory: they found
    8.5 % by night and 15.4 % by day.

    >>> round(air_loss(1.0, 75.0), 3), round(air_loss(3.0, 50.0), 3)
    (0.077, 0.165)
    """
    percent = 20.34 + 0.214 * wind_m_s**2 - 0.00229 * humidity**2
    return min(1.0, max(0.0, percent / 100.0))
