"""Flight of single drops: drag, terminal velocity, and the throw of one drop size."""

from math import cos, radians, sin, sqrt

from rillsim.water.properties import GRAVITY_M_S2

AIR_DENSITY_KG_M3 = 1.2041
AIR_VISCOSITY_M2_S = 1.516e-5
"""Dry air at 20 C and 101.325 kPa."""

WATER_DENSITY_KG_M3 = 998.2


def drop_drag(reynolds: float) -> float:
    r"""Drag coefficient of a sprinkler drop.

    .. math:: C_d = 33.3/Re - 0.0033 Re + 1.2 \quad (Re \le 128)

    .. math:: C_d = 72.2/Re - 5.56 \cdot 10^{-5} Re + 0.46 \quad (Re \le 1440)

    and 0.45 above.

    Parameters
    ----------
    reynolds : float
        Reynolds number of the drop in air, above 0 [-]

    Returns
    -------
    drag : float
        Drag coefficient [-]

    Notes
    -----
    For rigid drops: beyond 2 mm real drops flatten and fall slower, by 5 % at 3 mm and 20 %
    at 5 mm.

    Examples
    --------
    >>> drop_drag(2000.0)
    0.45

    References
    ----------
    .. [1] Fukui, Y., Nakanishi, K. and Okamura, S. (1980), Irrigation Science 2, 23-32.
    """
    if reynolds <= 128.0:
        return 33.3 / reynolds - 0.0033 * reynolds + 1.2
    if reynolds <= 1440.0:
        return 72.2 / reynolds - 5.56e-5 * reynolds + 0.46
    return 0.45


def terminal_velocity_m_s(drop_m: float) -> float:
    r"""Speed at which the drag of a drop equals its weight.

    .. math:: v = \sqrt{\frac{4 g d (\rho_w - \rho_a)}{3 C_d \rho_a}}

    Parameters
    ----------
    drop_m : float
        Diameter of the drop, 0.0002 to 0.006 [m]

    Returns
    -------
    speed : float
        Terminal velocity [m/s]

    Examples
    --------
    >>> round(terminal_velocity_m_s(0.001), 2)
    3.85

    References
    ----------
    .. [1] Fukui, Y., Nakanishi, K. and Okamura, S. (1980), Irrigation Science 2, 23-32.
    """
    low, high = 1e-3, 30.0
    pull = (1.0 - AIR_DENSITY_KG_M3 / WATER_DENSITY_KG_M3) * GRAVITY_M_S2
    while high - low > 1e-9:
        speed = 0.5 * (low + high)
        if _drag_per_speed(speed, drop_m) * speed < pull:
            low = speed
        else:
            high = speed
    return 0.5 * (low + high)


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


def drop_throw_m(
    drop_m: float, speed_m_s: float, elevation_deg: float = 25.0, stand_m: float = 1.0
) -> float:
    r"""Throw of one drop in still air, from the nozzle to the ground.

    .. math:: \dot{\mathbf v} = -\frac{3 C_d \rho_a}{4 \rho_w d} |v| \mathbf v
        - (1 - \rho_a/\rho_w)\,\mathbf g

    Parameters
    ----------
    drop_m : float
        Diameter of the drop, 0.0002 to 0.006 [m]
    speed_m_s : float
        Speed at the nozzle [m/s]
    elevation_deg : float
        Angle above level [deg]
    stand_m : float
        Height of the nozzle above the ground [m]

    Returns
    -------
    throw : float
        Distance to where the drop lands [m]

    Notes
    -----
    The drop is taken as formed at the nozzle; in a real jet the core carries it part of the way,
    so large drops go farther. Classical fourth-order Runge-Kutta, within 0.01 %.

    Examples
    --------
    >>> round(drop_throw_m(0.002, 19.618), 1)
    7.9

    References
    ----------
    .. [1] Fukui, Y., Nakanishi, K. and Okamura, S. (1980), Irrigation Science 2, 23-32.
    """
    step_s = 0.1 * sqrt(drop_m / 0.004) / max(1.0, speed_m_s / 5.0)
    state = (
        0.0,
        stand_m,
        speed_m_s * cos(radians(elevation_deg)),
        speed_m_s * sin(radians(elevation_deg)),
    )
    while True:
        after = _flight_step(state, drop_m, step_s)
        if after[1] <= 0.0:
            return _landing_m(state, drop_m, step_s)
        state = after


_Flight = tuple[float, float, float, float]


def _drag_per_speed(speed_m_s: float, drop_m: float) -> float:
    """Deceleration of a drop by drag, over its speed [1/s]."""
    reynolds = max(speed_m_s * drop_m / AIR_VISCOSITY_M2_S, 1e-6)
    ratio = AIR_DENSITY_KG_M3 / WATER_DENSITY_KG_M3
    return 0.75 * drop_drag(reynolds) * ratio / drop_m * speed_m_s


def _flight_rate(state: _Flight, drop_m: float) -> _Flight:
    _, _, across, up = state
    drag = _drag_per_speed(sqrt(across * across + up * up), drop_m)
    weight = (1.0 - AIR_DENSITY_KG_M3 / WATER_DENSITY_KG_M3) * GRAVITY_M_S2
    return across, up, -drag * across, -drag * up - weight


def _flight_step(state: _Flight, drop_m: float, step_s: float) -> _Flight:
    def ahead(rate: _Flight, share: float) -> _Flight:
        x, y, u, v = (a + share * step_s * b for a, b in zip(state, rate, strict=True))
        return x, y, u, v

    first = _flight_rate(state, drop_m)
    second = _flight_rate(ahead(first, 0.5), drop_m)
    third = _flight_rate(ahead(second, 0.5), drop_m)
    fourth = _flight_rate(ahead(third, 1.0), drop_m)
    x, y, u, v = (
        (a + 2.0 * b + 2.0 * c + d) / 6.0
        for a, b, c, d in zip(first, second, third, fourth, strict=True)
    )
    return ahead((x, y, u, v), 1.0)


def _landing_m(state: _Flight, drop_m: float, step_s: float) -> float:
    """Distance at which a step that ends under the ground meets it."""
    low, high = 0.0, step_s
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        if _flight_step(state, drop_m, middle)[1] > 0.0:
            low = middle
        else:
            high = middle
    return _flight_step(state, drop_m, low)[0]
