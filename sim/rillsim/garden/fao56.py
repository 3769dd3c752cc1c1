"""Reference evapotranspiration: what a watered lawn would give off, in mm.

Daily and hourly Penman-Monteith and the Hargreaves equation, with each term between as a
function of its own. Units are those of the paper: degrees Celsius, kPa, m/s, MJ/m2, mm.

Reference
---------
Allen, Pereira, Raes and Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage
Paper 56. The equation numbers are that paper's. Inputs of its examples other than 17, 18 and 20
are quoted from memory.
"""

from math import exp, log, sqrt

from rillsim.garden import radiation

LATENT_HEAT_MJ_KG = 2.45
"""Latent heat of vaporization near 20 C; 1 / 2.45 = 0.408 mm per MJ/m2 (FAO-56 eq. 20)."""


def pressure_kpa(altitude_m: float) -> float:
    """Mean air pressure, P = 101.3 ((293 - 0.0065 z) / 293)^5.26 [kPa] (eq. 7).

    FAO-56 example 2 (1800 m) has 81.8.

    >>> round(pressure_kpa(1800.0), 1)
    81.8
    """
    return 101.3 * float(((293.0 - 0.0065 * altitude_m) / 293.0) ** 5.26)


def psychrometric_kpa_c(pressure: float) -> float:
    """Psychrometric constant, gamma = 0.665e-3 P [kPa/C] (eq. 8).

    >>> round(psychrometric_kpa_c(81.8), 3)
    0.054
    """
    return 0.665e-3 * pressure


def saturation_kpa(t_c: float) -> float:
    """Saturation vapour pressure, e0 = 0.6108 exp(17.27 T / (T + 237.3)) [kPa] (eq. 11).

    FAO-56 example 3 has 3.075 at 24.5 C. Within 0.2 % of IAPWS from 0 to 50 C.

    >>> round(saturation_kpa(24.5), 3)
    3.075
    """
    return 0.6108 * exp(17.27 * t_c / (t_c + 237.3))


def saturation_mean_kpa(t_max_c: float, t_min_c: float) -> float:
    """Mean saturation vapour pressure of a day, es [kPa] (eq. 12).

    >>> round(saturation_mean_kpa(24.5, 15.0), 2)
    2.39
    """
    return (saturation_kpa(t_max_c) + saturation_kpa(t_min_c)) / 2.0


def slope_kpa_c(t_c: float) -> float:
    """Slope of the saturation vapour pressure curve, Delta [kPa/C] (eq. 13).

    >>> round(slope_kpa_c(30.2), 3)
    0.246
    """
    return 4098.0 * saturation_kpa(t_c) / (t_c + 237.3) ** 2


def vapour_kpa(t_max_c: float, t_min_c: float, humidity_max: float, humidity_min: float) -> float:
    """Vapour pressure from the day's highest and lowest humidity [%], ea [kPa] (eq. 17).

    FAO-56 example 5 (25 C and 18 C, 82 % and 54 %) has 1.70.

    >>> round(vapour_kpa(25.0, 18.0, 82.0, 54.0), 2)
    1.7
    """
    morning = saturation_kpa(t_min_c) * humidity_max / 100.0
    afternoon = saturation_kpa(t_max_c) * humidity_min / 100.0
    return (morning + afternoon) / 2.0


def wind_at_2m_m_s(wind_m_s: float, height_m: float) -> float:
    """Wind measured at ``height_m`` carried to 2 m over grass [m/s] (eq. 47).

    FAO-56 example 14 (3.2 m/s at 10 m) has 2.4.

    >>> round(wind_at_2m_m_s(3.2, 10.0), 1)
    2.4
    """
    return wind_m_s * 4.87 / log(67.8 * height_m - 5.42)


def _penman_monteith(
    numerator: float,
    available: float,
    t_c: float,
    wind_m_s: float,
    deficit_kpa: float,
    gamma: float,
) -> float:
    """The form that eq. 6 (a day, 900) and eq. 53 (an hour, 37) share [mm]."""
    slope = slope_kpa_c(t_c)
    aerodynamic = gamma * numerator / (t_c + 273.0) * wind_m_s * deficit_kpa
    return (0.408 * slope * available + aerodynamic) / (slope + gamma * (1.0 + 0.34 * wind_m_s))


def penman_monteith_day_mm(
    net_radiation: float,
    soil_heat: float,
    t_mean_c: float,
    wind_m_s: float,
    saturation_mean: float,
    vapour: float,
    gamma: float,
) -> float:
    """Reference evapotranspiration of a day, ETo [mm] (eq. 6).

    ETo = (0.408 Delta (Rn - G) + gamma 900 / (T + 273) u2 (es - ea))
    / (Delta + gamma (1 + 0.34 u2))

    Parameters
    ----------
    net_radiation, soil_heat : float
        Rn and G [MJ/m2/day]
    t_mean_c : float
        Half way between the day's highest and lowest temperature [C]
    wind_m_s : float
        Mean wind at 2 m [m/s]
    saturation_mean, vapour : float
        es and ea [kPa]
    gamma : float
        Psychrometric constant [kPa/C]

    Examples
    --------
    FAO-56 example 17 (Bangkok in April) has 5.72 before its terms are rounded:

    >>> round(penman_monteith_day_mm(14.33, 0.14, 30.2, 2.0, 4.42, 2.85, 0.0674), 1)
    5.7
    """
    available, deficit = net_radiation - soil_heat, saturation_mean - vapour
    return _penman_monteith(900.0, available, t_mean_c, wind_m_s, deficit, gamma)


def hargreaves_mm(t_max_c: float, t_min_c: float, extraterrestrial: float) -> float:
    """Reference evapotranspiration of a day from temperatures alone [mm] (eq. 52).

    ETo = 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) Ra / 2.45; expect 20 % either way.

    >>> round(hargreaves_mm(26.6, 14.8, 40.55), 2)
    5.03
    """
    water_mm = extraterrestrial / LATENT_HEAT_MJ_KG
    t_mean_c = (t_max_c + t_min_c) / 2.0
    return 0.0023 * (t_mean_c + 17.8) * sqrt(t_max_c - t_min_c) * water_mm


def reference_day_mm(
    latitude_deg: float,
    altitude_m: float,
    day_of_year: int,
    temperatures_c: tuple[float, float],
    humidities: tuple[float, float],
    wind_m_s: float,
    sunshine_share: float,
) -> float:
    """Reference evapotranspiration of a day from what a weather station gives [mm].

    Parameters
    ----------
    latitude_deg, altitude_m : float
        Place [degrees north, m]
    day_of_year : int
        1 for the first of January
    temperatures_c, humidities : tuple
        (highest, lowest) of the day [C] and [%]
    wind_m_s : float
        Mean wind at 2 m [m/s]
    sunshine_share : float
        Hours of sunshine over the possible hours, 0 to 1

    Examples
    --------
    FAO-56 example 18 (Uccle, 6 July) has 3.9:

    >>> place, air = (50.8, 100.0, 187), ((21.5, 12.3), (84.0, 63.0))
    >>> round(reference_day_mm(*place, *air, 2.078, 9.25 / 16.1), 2)
    3.88
    """
    t_max_c, t_min_c = temperatures_c
    outside = radiation.extraterrestrial_mj_m2(latitude_deg, day_of_year)
    solar = radiation.solar_mj_m2(sunshine_share, outside)
    clear = radiation.clear_sky_mj_m2(altitude_m, outside)
    cloud_ratio = solar / clear if clear > 0.0 else 1.0
    vapour = vapour_kpa(t_max_c, t_min_c, *humidities)
    longwave = radiation.net_longwave_mj_m2(t_max_c, t_min_c, vapour, cloud_ratio)
    net = radiation.net_shortwave_mj_m2(solar) - longwave
    gamma = psychrometric_kpa_c(pressure_kpa(altitude_m))
    mean_c = (t_max_c + t_min_c) / 2.0
    saturation = saturation_mean_kpa(t_max_c, t_min_c)
    # Dew is not counted as water for the crop.
    return max(0.0, penman_monteith_day_mm(net, 0.0, mean_c, wind_m_s, saturation, vapour, gamma))
