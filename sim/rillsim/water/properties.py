"""Water and the air above it: density, viscosity, vapour pressure, sound, atmosphere."""

from dataclasses import dataclass
from math import pow, sqrt

from fluids import ATMOSPHERE_1976

GRAVITY_M_S2 = 9.80665
"""Standard gravity (CGPM 1901)."""

TEMPERATURE_MIN_C = 0.0
TEMPERATURE_MAX_C = 50.0
"""Range of the fits below; open water outside it is ice, or no place for a garden pump."""

_KELVIN = 273.15


@dataclass(frozen=True)
class Water:
    """Water of one temperature, as every hydraulic model of a site needs it."""

    temperature_c: float
    density_kg_m3: float
    viscosity_pa_s: float
    vapour_pa: float
    bulk_modulus_pa: float

    @classmethod
    def at(cls, temperature_c: float) -> "Water":
        """Properties at ``temperature_c`` and atmospheric pressure.

        >>> round(Water.at(20.0).bulk_modulus_pa / 1e9, 2)
        2.19
        """
        density = density_kg_m3(temperature_c)
        sound = sound_speed_m_s(temperature_c)
        return cls(
            temperature_c=temperature_c,
            density_kg_m3=density,
            viscosity_pa_s=viscosity_pa_s(temperature_c),
            vapour_pa=vapour_pressure_pa(temperature_c),
            bulk_modulus_pa=density * sound * sound,
        )


def density_kg_m3(temperature_c: float) -> float:
    r"""Density of air-free water at 101.325 kPa.

    .. math:: \rho = \frac{\sum_{i=0}^{5} a_i t^i}{1 + b t}

    Parameters
    ----------
    temperature_c : float
        Water temperature, 0 to 50 [C]

    Returns
    -------
    density : float
        Density [kg/m3]

    Notes
    -----
    Within 0.001 % of IAPWS-95 over the range.

    Examples
    --------
    >>> round(density_kg_m3(20.0), 2)
    998.2

    References
    ----------
    .. [1] Kell, G. S. (1975), J. Chem. Eng. Data 20(1), 97-105.
    """
    t = _checked(temperature_c)
    top = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return top / (1.0 + 16.879850e-3 * t)


def viscosity_pa_s(temperature_c: float) -> float:
    r"""Dynamic viscosity of water at 0.1 MPa.

    .. math:: \mu = 10^{-6} \sum_{i=1}^{4} a_i (T / 300)^{b_i}

    Parameters
    ----------
    temperature_c : float
        Water temperature, 0 to 50 [C]

    Returns
    -------
    viscosity : float
        Dynamic viscosity [Pa s]

    Notes
    -----
    The release gives it for -20 to 110 C with 1 % uncertainty.

    Examples
    --------
    >>> round(viscosity_pa_s(20.0) * 1000.0, 4)
    1.0016

    References
    ----------
    .. [1] IAPWS SR6-08(2011), Properties of Liquid Water at 0.1 MPa, eq. 7.
    """
    ratio = (_checked(temperature_c) + _KELVIN) / 300.0
    terms = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
    return 1e-6 * sum(factor * pow(ratio, power) for factor, power in terms)


def vapour_pressure_pa(temperature_c: float) -> float:
    r"""Saturation pressure of water.

    .. math:: p = \left[\frac{2C}{-B + \sqrt{B^2 - 4AC}}\right]^4 \cdot 10^6

    with A, B, C quadratic in :math:`\vartheta = T + n_9/(T - n_{10})`.

    Parameters
    ----------
    temperature_c : float
        Water temperature, 0 to 50 [C]

    Returns
    -------
    pressure : float
        Vapour pressure, absolute [Pa]

    Notes
    -----
    The equation itself holds up to the critical point.

    Examples
    --------
    >>> round(vapour_pressure_pa(300.0 - 273.15), 2)
    3536.59

    References
    ----------
    .. [1] IAPWS R7-97(2012), IF97, region 4, eq. 30 and table 34.
    """
    kelvin = _checked(temperature_c) + _KELVIN
    theta = kelvin - 0.23855557567849 / (kelvin - 0.65017534844798e3)
    a = theta * theta + 0.11670521452767e4 * theta - 0.72421316703206e6
    b = -0.17073846940092e2 * theta * theta + 0.12020824702470e5 * theta - 0.32325550322333e7
    c = 0.14915108613530e2 * theta * theta - 0.48232657361591e4 * theta + 0.40511340542057e6
    root = 2.0 * c / (-b + sqrt(b * b - 4.0 * a * c))
    return 1e6 * root * root * root * root


def sound_speed_m_s(temperature_c: float) -> float:
    r"""Speed of sound in water at atmospheric pressure.

    .. math:: c = \sum_{i=0}^{5} k_i t^i

    Parameters
    ----------
    temperature_c : float
        Water temperature, 0 to 50 [C]

    Returns
    -------
    speed : float
        Speed of sound [m/s]

    Notes
    -----
    Within 0.02 % of IAPWS-95 over the range.

    Examples
    --------
    >>> round(sound_speed_m_s(20.0), 1)
    1482.4

    References
    ----------
    .. [1] Bilaniuk, N. and Wong, G. S. K. (1993), J. Acoust. Soc. Am. 93(3), 1609-1612.
    """
    t = _checked(temperature_c)
    return 1402.38744 + t * (
        5.03836171
        + t * (-5.81172916e-2 + t * (3.34638117e-4 + t * (-1.48259672e-6 + t * 3.16585020e-9)))
    )


def atmosphere_pa(altitude_m: float) -> float:
    r"""Mean air pressure at an altitude, by the standard atmosphere.

    .. math:: p = 101325 (1 - h / 44329)^{5.2559}

    (the closed form of the lowest layer; ``fluids`` evaluates the layer itself)

    Parameters
    ----------
    altitude_m : float
        Height above sea level, -500 to 5000 [m]

    Returns
    -------
    pressure : float
        Air pressure, absolute [Pa]

    Notes
    -----
    Weather moves the real pressure by some 2 % about this mean.

    Examples
    --------
    >>> round(atmosphere_pa(500.0))
    95461

    References
    ----------
    .. [1] U.S. Standard Atmosphere (1976), NOAA-S/T 76-1562.
    """
    if not -500.0 <= altitude_m <= 5000.0:
        raise ValueError(
            f"altitude {altitude_m:g} m is outside -500 to 5000 m; give the height of the pond"
        )
    return float(ATMOSPHERE_1976(altitude_m).P)


def _checked(temperature_c: float) -> float:
    if not TEMPERATURE_MIN_C <= temperature_c <= TEMPERATURE_MAX_C:
        raise ValueError(
            f"water temperature {temperature_c:g} C is outside "
            f"{TEMPERATURE_MIN_C:g} to {TEMPERATURE_MAX_C:g} C, the range of liquid open water"
        )
    return temperature_c
