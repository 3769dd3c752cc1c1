"""How a filled hose swells, rings and shocks."""

from math import sqrt

from rillsim.water.pipe import bore_area_m2


def wave_speed_m_s(
    bulk_modulus_pa: float, density_kg_m3: float, bore_m: float, wall_m: float, modulus_pa: float
) -> float:
    r"""Speed of a pressure wave in a thin-walled pipe.

    .. math:: a = \sqrt{\frac{K/\rho}{1 + K D / (E e)}}

    Parameters
    ----------
    bulk_modulus_pa, density_kg_m3 : float
        Of the water [Pa], [kg/m3]
    bore_m, wall_m : float
        Inside diameter and wall thickness [m]
    modulus_pa : float
        Young's modulus of the wall; soft PVC 20 to 50 MPa, rigid PVC 2.8 GPa [Pa]

    Returns
    -------
    speed : float
        Wave speed [m/s]

    Notes
    -----
    A garden hose has thick soft walls: good to some 20 %.

    Examples
    --------
    >>> round(wave_speed_m_s(2.19e9, 998.2, 0.0127, 0.0025, 20e6), 2)
    62.75

    References
    ----------
    .. [1] Wylie, E. B. and Streeter, V. L. (1993), Fluid Transients in Systems, eq. 1-25.
    """
    give = 1.0 + bulk_modulus_pa * bore_m / (modulus_pa * wall_m)
    return sqrt(bulk_modulus_pa / density_kg_m3 / give)


def hose_compliance_m3_pa(
    length_m: float, bulk_modulus_pa: float, bore_m: float, wall_m: float, modulus_pa: float
) -> float:
    r"""Water that a filled hose takes up for each pascal.

    .. math:: C = L A \left(\frac{1}{K} + \frac{D}{E e}\right)

    Parameters
    ----------
    length_m, bore_m, wall_m : float
        Length, inside diameter and wall thickness [m]
    bulk_modulus_pa, modulus_pa : float
        Of the water and of the wall [Pa]

    Returns
    -------
    compliance : float
        Volume over pressure [m3/Pa]

    Examples
    --------
    >>> round(hose_compliance_m3_pa(30.0, 2.19e9, 0.0127, 0.0025, 20e6) * 1e6 * 1e5, 1)
    96.7

    References
    ----------
    .. [1] Wylie, E. B. and Streeter, V. L. (1993), Fluid Transients in Systems, chapter 2.
    """
    stretch = 1.0 / bulk_modulus_pa + bore_m / (modulus_pa * wall_m)
    return length_m * bore_area_m2(bore_m) * stretch


def surge_pa(
    speed_change_m_s: float,
    density_kg_m3: float,
    wave_speed_m_s: float,
    length_m: float = 0.0,
    closure_s: float = 0.0,
) -> float:
    r"""Pressure rise when a flow is stopped.

    .. math:: \Delta p = \rho a \Delta v; \qquad
        \Delta p = 2 \rho L \Delta v / t_c \quad (t_c > 2 L / a)

    Parameters
    ----------
    speed_change_m_s : float
        Change of flow speed [m/s]
    density_kg_m3, wave_speed_m_s : float
        Of the water and of the wave in the pipe [kg/m3], [m/s]
    length_m, closure_s : float
        Length of the pipe, and the time that stopping takes [m], [s]

    Returns
    -------
    rise : float
        Pressure rise [Pa]

    Examples
    --------
    >>> round(surge_pa(1.3157, 998.2, 62.75), -2)
    82400.0

    References
    ----------
    .. [1] Joukowsky (1898); AWWA Manual M11, Steel Pipe, chapter on water hammer.
    """
    if closure_s * wave_speed_m_s <= 2.0 * length_m:
        return density_kg_m3 * wave_speed_m_s * speed_change_m_s
    return 2.0 * density_kg_m3 * length_m * speed_change_m_s / closure_s


def outlet_relaxation_s(compliance_m3_pa: float, pressure_pa: float, flow_m3_s: float) -> float:
    r"""Time constant of a hose that empties through a square-law outlet, :math:`2 C p / Q` [s].

    >>> round(outlet_relaxation_s(96.7e-11, 2.1e5, 10.4 / 60000), 2)
    2.34
    """
    return 2.0 * compliance_m3_pa * pressure_pa / flow_m3_s
