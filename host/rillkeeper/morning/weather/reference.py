"""Reference evapotranspiration of a day from what a weather table has, and by which rule.

FAO-56 chapter 3 says how each missing part is made good: vapour pressure from the dew point,
from humidities, or else from the lowest temperature (eq. 14, 17 to 19, 48); radiation from
sunshine, or else from the daily range of temperature (eq. 35, 50); wind as 2 m/s. From
temperatures alone it gives the Hargreaves equation (eq. 52).

Reference
---------
Allen, Pereira, Raes and Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage
Paper 56, chapters 3 and 4.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from rillkeeper.morning.weather.reader import Day
from rillsim.garden import fao56, radiation
from rillsim.garden.dual import HUMIDITY_USUAL

WIND_UNKNOWN_M_S = 2.0
"""Mean of 2000 weather stations; in place of a wind that was not measured (FAO-56 chapter 3)."""
TALL_MAST_M = 10.0

GIVEN = "as given"
PENMAN_MONTEITH = "Penman-Monteith (FAO-56 eq. 6)"
HARGREAVES = "Hargreaves (FAO-56 eq. 52), from temperatures alone"


@dataclass(frozen=True)
class Reference:
    """Reference evapotranspiration of a day."""

    mm: float
    method: str
    filled: tuple[str, ...] = ()
    """What was missing, and by which rule it was made good."""


def reference_of(
    day: Day, day_number: int, latitude_deg: float, altitude_m: float
) -> Reference | None:
    """ETo of a day; None where not even its temperatures are known.

    FAO-56 example 18 (Uccle, 6 July: 50 deg 48 min N, 100 m) has 3.9:

    >>> air = {"t_max": 21.5, "t_min": 12.3, "humidity_max": 84.0, "humidity_min": 63.0}
    >>> weather = {**air, "wind": 2.078, "sunshine": 9.25}
    >>> round(reference_of(weather, 20640, 50.8, 100.0).mm, 1)
    3.9
    """
    if "et0" in day:
        return Reference(day["et0"], GIVEN)
    if "t_max" not in day or "t_min" not in day:
        return None
    t_max_c, t_min_c = day["t_max"], day["t_min"]
    day_of_year = (date(1970, 1, 1) + timedelta(days=day_number)).timetuple().tm_yday
    outside = radiation.extraterrestrial_mj_m2(latitude_deg, day_of_year)
    if not set(day) - {"t_max", "t_min", "rain"}:
        return Reference(max(0.0, fao56.hargreaves_mm(t_max_c, t_min_c, outside)), HARGREAVES)
    filled: list[str] = []
    solar = solar_mj_m2(day, latitude_deg, day_of_year, outside, filled)
    vapour = vapour_kpa(day, filled)
    wind = wind_m_s(day, filled)
    clear = radiation.clear_sky_mj_m2(altitude_m, outside)
    cloud_ratio = solar / clear if clear > 0.0 else 1.0
    longwave = radiation.net_longwave_mj_m2(t_max_c, t_min_c, vapour, cloud_ratio)
    mm = fao56.penman_monteith_day_mm(
        radiation.net_shortwave_mj_m2(solar) - longwave,
        0.0,
        (t_max_c + t_min_c) / 2.0,
        wind,
        fao56.saturation_mean_kpa(t_max_c, t_min_c),
        vapour,
        fao56.psychrometric_kpa_c(fao56.pressure_kpa(altitude_m)),
    )
    return Reference(max(0.0, mm), PENMAN_MONTEITH, tuple(filled))


def climate_of(day: Day) -> tuple[float, float]:
    """Wind at 2 m [m/s] and lowest humidity [%], for the crop coefficients of the day.

    What the table has not is the climate that the coefficients are made for: 2 m/s and 45 %; from
    temperatures the humidity is that of the vapour pressure at the warmest hour.

    >>> climate_of({"et0": 5.0})
    (2.0, 45.0)
    """
    humidity = HUMIDITY_USUAL
    if "humidity_min" in day:
        humidity = day["humidity_min"]
    elif "t_max" in day and "t_min" in day:
        humidity = min(100.0, 100.0 * vapour_kpa(day, []) / fao56.saturation_kpa(day["t_max"]))
    return wind_m_s(day, []), humidity


def solar_mj_m2(
    day: Day, latitude_deg: float, day_of_year: int, outside: float, filled: list[str]
) -> float:
    """Solar radiation [MJ/m2 in the day]."""
    if "radiation" in day:
        return day["radiation"]
    if "sunshine" in day:
        possible_h = radiation.daylight_h(latitude_deg, day_of_year)
        share = min(1.0, day["sunshine"] / possible_h) if possible_h > 0.0 else 0.0
        return radiation.solar_mj_m2(share, outside)
    filled.append("radiation from the range of temperature (eq. 50)")
    return radiation.solar_from_temperature_mj_m2(day["t_max"], day["t_min"], outside)


def vapour_kpa(day: Day, filled: list[str]) -> float:
    """Vapour pressure [kPa]."""
    t_max_c, t_min_c = day["t_max"], day["t_min"]
    if "dew_point" in day:
        return fao56.saturation_kpa(day["dew_point"])
    if "humidity_max" in day and "humidity_min" in day:
        return fao56.vapour_kpa(t_max_c, t_min_c, day["humidity_max"], day["humidity_min"])
    if "humidity" in day:
        filled.append("vapour pressure from the mean humidity (eq. 19)")
        return day["humidity"] / 100.0 * fao56.saturation_mean_kpa(t_max_c, t_min_c)
    if "humidity_max" in day:
        filled.append("vapour pressure from the highest humidity (eq. 18)")
        return fao56.saturation_kpa(t_min_c) * day["humidity_max"] / 100.0
    filled.append("vapour pressure from the lowest temperature (eq. 48)")
    return fao56.saturation_kpa(t_min_c)


def wind_m_s(day: Day, filled: list[str]) -> float:
    """Wind at 2 m [m/s]."""
    if "wind" in day:
        return day["wind"]
    if "wind_10m" in day:
        return fao56.wind_at_2m_m_s(day["wind_10m"], TALL_MAST_M)
    filled.append("wind as 2 m/s")
    return WIND_UNKNOWN_M_S
