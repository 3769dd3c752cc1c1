"""Sprinkler: what its nozzles pass, and how far its jets reach."""

from math import cos, pi, radians, sin, sqrt

from rillsim.site import SprinklerSpec
from rillsim.water.properties import GRAVITY_M_S2

THROW_FACTOR = 1.35
"""Reach in m of a jet over the root of bore in mm times head in m (Cavazza and Pillsbury type
formula, from memory; field data scatter by some 15 %)."""

STAND_M = 1.0
"""Usual height of the nozzle above the ground it waters."""


def orifice_flow_m3_s(
    pressure_pa: float, bore_m: float, discharge_coefficient: float, density_kg_m3: float = 998.2
) -> float:
    r"""Flow through a nozzle to open air.

    .. math:: Q = C_d \frac{\pi d^2}{4} \sqrt{2 p / \rho}

    Parameters
    ----------
    pressure_pa : float
        Gauge pressure before the nozzle; none or suction passes nothing [Pa]
    bore_m : float
        Bore of the nozzle [m]
    discharge_coefficient : float
        0.6 for a sharp hole to 0.98 for a smooth nozzle [-]
    density_kg_m3 : float
        Density of the water [kg/m3]

    Returns
    -------
    flow : float
        Flow [m3/s]

    Examples
    --------
    >>> round(orifice_flow_m3_s(2e5, 0.003, 0.95) * 60000, 3)
    8.065

    References
    ----------
    .. [1] Torricelli's law; NFPA 291 gives it as Q = 29.84 Cd d2 sqrt(p) in gal/min, in, psi.
    """
    if pressure_pa <= 0.0:
        return 0.0
    area = 0.25 * pi * bore_m * bore_m
    return discharge_coefficient * area * sqrt(2.0 * pressure_pa / density_kg_m3)


def vacuum_throw_m(speed_m_s: float, elevation_deg: float, stand_m: float) -> float:
    r"""Throw without air: the parabola down to the ground.

    .. math:: R = \frac{v \cos\theta}{g}\left(v \sin\theta + \sqrt{v^2 \sin^2\theta + 2 g z}\right)

    Parameters
    ----------
    speed_m_s : float
        Speed at the nozzle [m/s]
    elevation_deg : float
        Angle above level [deg]
    stand_m : float
        Height of the nozzle above the ground [m]

    Returns
    -------
    throw : float
        Distance to where it lands [m]

    Examples
    --------
    >>> round(vacuum_throw_m(10.0, 45.0, 0.0), 2)
    10.2

    References
    ----------
    .. [1] Galilei, G. (1638), Discorsi, fourth day.
    """
    across = speed_m_s * cos(radians(elevation_deg))
    up = speed_m_s * sin(radians(elevation_deg))
    return across / GRAVITY_M_S2 * (up + sqrt(up * up + 2.0 * GRAVITY_M_S2 * stand_m))


def jet_throw_m(
    pressure_pa: float,
    bore_m: float,
    elevation_deg: float = 25.0,
    stand_m: float = STAND_M,
    density_kg_m3: float = 998.2,
) -> float:
    r"""Reach of a sprinkler jet in still air.

    .. math:: \frac{1}{R^2} = \frac{1}{(1.35 \sqrt{d h})^2} + \frac{1}{R_v^2}

    Parameters
    ----------
    pressure_pa : float
        Gauge pressure at the nozzle [Pa]
    bore_m : float
        Bore of one nozzle [m]
    elevation_deg : float
        Angle of the jet above level, 15 to 35 [deg]
    stand_m : float
        Height of the nozzle above the ground [m]
    density_kg_m3 : float
        Density of the water [kg/m3]

    Returns
    -------
    throw : float
        Radius of the wetted circle [m]

    Notes
    -----
    d is the bore in mm, h the head in m and R_v the reach without air, which governs at very
    low pressure: there the jet hardly breaks up and just falls. In between, the sum of inverse
    squares is our own blend. Wind is not in it.

    Examples
    --------
    >>> round(jet_throw_m(2e5, 0.003), 1)
    10.1

    References
    ----------
    .. [1] Keller, J. and Bliesner, R. D. (1990), Sprinkle and Trickle Irrigation, chapter 5.
    """
    if pressure_pa <= 0.0:
        return 0.0
    head_m = pressure_pa / (density_kg_m3 * GRAVITY_M_S2)
    drag_limit = THROW_FACTOR * sqrt(1000.0 * bore_m * head_m)
    speed = sqrt(2.0 * GRAVITY_M_S2 * head_m)
    fall_limit = vacuum_throw_m(speed, elevation_deg, stand_m)
    return drag_limit * fall_limit / sqrt(drag_limit * drag_limit + fall_limit * fall_limit)


def application_rate_mm_h(flow_m3_s: float, throw_m: float, arc_deg: float = 360.0) -> float:
    """Mean depth that falls on the wetted sector each hour, Q / A [mm/h].

    >>> round(application_rate_mm_h(10 / 60000, 6.0), 3)
    5.305
    """
    area = pi * throw_m * throw_m * arc_deg / 360.0
    return flow_m3_s / area * 3.6e6


class Sprinkler:
    """One sprinkler: its nozzles together as one orifice."""

    __slots__ = ("_density", "_factor", "spec")

    def __init__(self, spec: SprinklerSpec, density_kg_m3: float = 998.2) -> None:
        self.spec = spec
        self._density = density_kg_m3
        self._factor = spec.nozzle_count * orifice_flow_m3_s(
            1.0, spec.nozzle_bore_m, spec.discharge_coefficient, density_kg_m3
        )

    def flow_m3_s(self, pressure_pa: float) -> float:
        """Flow at a gauge pressure; none when there is no pressure [m3/s]."""
        return self._factor * sqrt(pressure_pa) if pressure_pa > 0.0 else 0.0

    def pressure_pa(self, flow_m3_s: float) -> float:
        """Gauge pressure that a flow needs [Pa]."""
        if flow_m3_s <= 0.0:
            return 0.0
        root = flow_m3_s / self._factor
        return root * root

    def throw_m(self, pressure_pa: float) -> float:
        """Radius of the wetted circle in still air [m]."""
        spec = self.spec
        return jet_throw_m(
            pressure_pa, spec.nozzle_bore_m, spec.elevation_deg, density_kg_m3=self._density
        )

    def application_rate_mm_h(self, pressure_pa: float) -> float:
        """Mean depth that falls on the wetted sector each hour [mm/h]."""
        throw = self.throw_m(pressure_pa)
        if throw <= 0.0:
            return 0.0
        return application_rate_mm_h(self.flow_m3_s(pressure_pa), throw, self.spec.arc_deg)
