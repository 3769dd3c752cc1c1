"""The years of a daily weather table, each a season of weather.

A year counts where the table knows the temperatures of each day of the season, but for gaps of a
few days, which take the day before. What else is missing is made good as FAO-56 chapter 3 does:
humidity from the lowest temperature, sunshine from the daily range, wind as 2 m/s. A table of ET0
alone has no weather to replay.
"""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from rillkeeper.display_units import day_text
from rillkeeper.errors import RillkeeperError
from rillkeeper.morning.weather.reader import Day as Row
from rillkeeper.morning.weather.reader import Days
from rillkeeper.morning.weather.reference import solar_mj_m2, vapour_kpa, wind_m_s
from rillsim.garden import fao56, radiation
from rillsim.garden.weather import Day, Weather
from rillsim.garden.weatherdraw import rain_spells
from rillsim.site import Site

GAP_DAYS = 3
"""So many days in a row may be missing."""
_EPOCH = date(1970, 1, 1)
_COMMON_YEAR = 2026
"""A day of the year is a date of a year without a leap day."""
_STREAM = 0x7AB1E


def years_of(days: Days, site: Site, nights: int, seed: int) -> tuple[dict[int, Weather], str]:
    """Weather by calendar year, and a sentence on the years that are left out.

    Parameters
    ----------
    days : dict
        The table (weather/reader.py)
    site : Site
        Its place, and the day of the year on which the season begins
    nights : int
        How long a season is
    seed : int
        Of the hours at which a day's rain falls: a daily table does not tell

    Raises
    ------
    RillkeeperError
        Where no year of the table is whole
    """
    found: dict[int, Weather] = {}
    left_out: list[str] = []
    first, last = (_EPOCH + timedelta(days=number) for number in (min(days), max(days)))
    begin = date(_COMMON_YEAR, 1, 1) + timedelta(days=min(site.weather.day_of_year, 365) - 1)
    for year in range(first.year, last.year + 1):
        begins = (begin.replace(year=year) - _EPOCH).days
        rows = _season(days, begins, nights + 1)
        if isinstance(rows, int):
            left_out.append(f"{year} (no temperatures on {day_text(rows)})")
            continue
        rng = np.random.Generator(np.random.Philox(np.random.SeedSequence([seed, _STREAM, year])))
        air = [_day(row, begins + place, site, rng) for place, row in enumerate(rows)]
        found[year] = Weather(air, site.weather.latitude_deg, site.water.altitude_m)
    if not found:
        raise RillkeeperError(
            f"the weather table has no whole season of {nights} nights from day "
            f"{site.weather.day_of_year} of the year on: {'; '.join(left_out[:3])}; choose "
            "--from and --to within it"
        )
    return found, f"Left out of the table: {', '.join(left_out)}." if left_out else ""


def _season(days: Days, begins: int, count: int) -> list[Row] | int:
    """The rows of a season, or the first day of a gap."""
    rows: list[Row] = []
    missing = 0
    for number in range(begins, begins + count):
        row = days.get(number, {})
        if "t_max" in row and "t_min" in row:
            missing = 0
        elif rows and missing < GAP_DAYS:
            missing += 1
            row = {**rows[-1], "rain": row.get("rain", 0.0)}
        else:
            return number - missing
        rows.append(row)
    return rows


def _day(row: Row, number: int, site: Site, rng: np.random.Generator) -> Day:
    """A row of the table as the replay has its days."""
    latitude_deg = site.weather.latitude_deg
    day_of_year = (_EPOCH + timedelta(days=number)).timetuple().tm_yday
    t_max_c, t_min_c = row["t_max"], row["t_min"]
    vapour = vapour_kpa(row, [])
    outside = radiation.extraterrestrial_mj_m2(latitude_deg, day_of_year)
    solar = solar_mj_m2(row, latitude_deg, day_of_year, outside, [])
    # FAO-56 eq. 35 turned round.
    share = (solar / outside - 0.25) / 0.5 if outside > 0.0 else 0.0
    day = Day(
        day_of_year=day_of_year,
        t_max_c=max(t_max_c, t_min_c + 0.1),
        t_min_c=t_min_c,
        humidity_max=_percent(vapour, t_min_c),
        humidity_min=_percent(vapour, t_max_c),
        wind_m_s=wind_m_s(row, []),
        wind_from_deg=float(rng.uniform(0.0, 360.0)),
        sunshine=min(max(share, 0.0), 1.0),
    )
    return replace(day, rain=rain_spells(row.get("rain", 0.0), rng))


def _percent(vapour_kpa: float, air_c: float) -> float:
    return min(100.0, max(1.0, 100.0 * vapour_kpa / fao56.saturation_kpa(air_c)))
