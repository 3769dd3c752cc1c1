"""Sun and radiation of a day or an hour, by the equations of FAO-56 chapter 3.

Radiation is in MJ/m2 for the day (or for the hour), temperatures in degrees Celsius and
vapour pressure in kPa, as that paper has them, so that every line can be checked against it.

Reference
---------
Allen, Pereira, Raes and Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage
Paper 56. Inputs of its examples other than 17, 18 and 20 are quoted from memory.
"""

from functools import lru_cache
from math import acos, cos, pi, radians, sin, sqrt, tan

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
"""FAO-56 eq. 21."""
ALBEDO = 0.23
"""Of the grass reference crop (FAO-56 eq. 38)."""
STEFAN_BOLTZMANN_MJ_K4_M2_DAY = 4.903e-9
"""FAO-56 eq. 39."""
KELVIN = 273.16
"""Added to degrees Celsius in FAO-56 eq. 39."""
ANGSTROM_A = 0.25
ANGSTROM_B = 0.50
"""FAO-56 eq. 35 where no local calibration exists."""


def sun_distance_factor(day_of_year: int) -> float:
    """Inverse relative distance from Earth to Sun [-] (FAO-56 eq. 23).

    >>> round(sun_distance_factor(246), 3)
    0.985
    """
    return 1.0 + 0.033 * cos(2.0 * pi * day_of_year / 365.0)


def declination_rad(day_of_year: int) -> float:
    """Solar declination [rad] (FAO-56 eq. 24).

    >>> round(declination_rad(246), 3)
    0.12
    """
    return 0.409 * sin(2.0 * pi * day_of_year / 365.0 - 1.39)


def sunset_angle_rad(latitude_deg: float, day_of_year: int) -> float:
    """Hour angle of sunset [rad] (FAO-56 eq. 25): 0 in polar night, pi in polar day.

    >>> round(sunset_angle_rad(-20.0, 246), 3)
    1.527
    """
    cosine = -tan(radians(latitude_deg)) * tan(declination_rad(day_of_year))
    return acos(min(1.0, max(-1.0, cosine)))


def daylight_h(latitude_deg: float, day_of_year: int) -> float:
    """Hours from sunrise to sunset, N = 24 ws / pi (FAO-56 eq. 34).

    >>> round(daylight_h(-20.0, 246), 1)
    11.7
    """
    return 24.0 / pi * sunset_angle_rad(latitude_deg, day_of_year)


def extraterrestrial_between_mj_m2(
    latitude_deg: float, day_of_year: int, angle_1_rad: float, angle_2_rad: float
) -> float:
    """Radiation outside the atmosphere between two hour angles [MJ/m2] (FAO-56 eq. 28).

    Ra = 12 * 60 / pi Gsc dr [(w2 - w1) sin(phi) sin(delta) + cos(phi) cos(delta)
    (sin(w2) - sin(w1))]

    Parameters
    ----------
    latitude_deg : float
        Latitude, north positive [degrees]
    day_of_year : int
        1 for the first of January
    angle_1_rad, angle_2_rad : float
        Hour angles of start and end, 0 at solar noon [rad]; the night adds nothing.
    """
    sunset = sunset_angle_rad(latitude_deg, day_of_year)
    start = min(sunset, max(-sunset, angle_1_rad))
    end = min(sunset, max(-sunset, angle_2_rad))
    latitude, declination = radians(latitude_deg), declination_rad(day_of_year)
    level = (end - start) * sin(latitude) * sin(declination)
    swing = cos(latitude) * cos(declination) * (sin(end) - sin(start))
    flux = 12.0 * 60.0 / pi * SOLAR_CONSTANT_MJ_M2_MIN * sun_distance_factor(day_of_year)
    return flux * (level + swing)


@lru_cache(maxsize=16)
def extraterrestrial_mj_m2(latitude_deg: float, day_of_year: int) -> float:
    """Radiation outside the atmosphere over a day, Ra [MJ/m2] (FAO-56 eq. 21).

    FAO-56 example 8 (20 degrees south, 3 September) has 32.2.

    >>> round(extraterrestrial_mj_m2(-20.0, 246), 1)
    32.2
    """
    return extraterrestrial_between_mj_m2(latitude_deg, day_of_year, -pi, pi)


def solar_mj_m2(sunshine_share: float, extraterrestrial: float) -> float:
    """Solar radiation from sunshine, Rs = (0.25 + 0.50 n/N) Ra [MJ/m2] (FAO-56 eq. 35).

    FAO-56 example 10 (Rio de Janeiro, May: n 7.1 h, N 10.9 h, Ra 25.1) prints 14.5.

    >>> round(solar_mj_m2(7.1 / 10.9, 25.1), 2)
    14.45
    """
    return (ANGSTROM_A + ANGSTROM_B * sunshine_share) * extraterrestrial


def solar_from_temperature_mj_m2(
    t_max_c: float, t_min_c: float, extraterrestrial: float, k_rs: float = 0.16
) -> float:
    """Solar radiation where no sunshine was recorded, Rs = kRs sqrt(Tmax - Tmin) Ra [MJ/m2].

    FAO-56 eq. 50; kRs 0.16 inland, 0.19 at a coast. Example 15 (Lyon, July) has 22.3.

    >>> round(solar_from_temperature_mj_m2(26.6, 14.8, 40.6), 1)
    22.3
    """
    return k_rs * sqrt(t_max_c - t_min_c) * extraterrestrial


def clear_sky_mj_m2(altitude_m: float, extraterrestrial: float) -> float:
    """Solar radiation under a clear sky, Rso = (0.75 + 2e-5 z) Ra [MJ/m2] (FAO-56 eq. 37).

    >>> round(clear_sky_mj_m2(0.0, 25.1), 1)
    18.8
    """
    return (0.75 + 2.0e-5 * altitude_m) * extraterrestrial


def net_shortwave_mj_m2(solar: float) -> float:
    """Solar radiation that the grass keeps, Rns = (1 - 0.23) Rs [MJ/m2] (FAO-56 eq. 38).

    >>> round(net_shortwave_mj_m2(14.5), 1)
    11.2
    """
    return (1.0 - ALBEDO) * solar


def _longwave(t4_k4: float, vapour_kpa: float, cloud_ratio: float) -> float:
    """Bracket of FAO-56 eq. 39; the cloud ratio Rs/Rso may not pass 1."""
    humid = 0.34 - 0.14 * sqrt(vapour_kpa)
    return STEFAN_BOLTZMANN_MJ_K4_M2_DAY * t4_k4 * humid * (1.35 * min(1.0, cloud_ratio) - 0.35)


def net_longwave_mj_m2(
    t_max_c: float, t_min_c: float, vapour_kpa: float, cloud_ratio: float
) -> float:
    """Heat that leaves the ground for the sky in a day, Rnl [MJ/m2] (FAO-56 eq. 39).

    ``cloud_ratio`` is Rs/Rso. FAO-56 example 11 (Rio de Janeiro, May) has 3.5.

    >>> round(net_longwave_mj_m2(25.1, 19.1, 2.1, 14.5 / 18.8), 1)
    3.5
    """
    t4 = ((t_max_c + KELVIN) ** 4 + (t_min_c + KELVIN) ** 4) / 2.0
    return _longwave(t4, vapour_kpa, cloud_ratio)
