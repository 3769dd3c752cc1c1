"""Seasons of weather: drawn day by day around the year's course, or a table's own days.

A week is drawn around one usual day (weatherdraw.py). Over a season that day moves: warmth goes
up and down with the year, and the sun with it, since radiation is reckoned from the day of the
year. No two years are alike either: a year as a whole is wetter or drier, warmer or cooler. A
daily chain of wet and dry days alone makes years too much alike (Wilks and Wilby 1999, Progress
in Physical Geography 23, 329: "overdispersion", from memory).

The same seed and number give the same season, whatever else is asked for.
"""

from dataclasses import replace
from math import cos, exp, pi

import numpy as np

from rillsim.garden import weatherdraw
from rillsim.garden.weather import Weather
from rillsim.site import WeatherSpec

SWING_C_PER_DEG = 0.2
"""Half of the year's range of monthly means for each degree of latitude: 10 C at 50 degrees,
inland more, by the sea less (common practice, no source)."""
WARMEST_DAY = 201
"""20 July in the north, half a year later in the south: some four weeks after the longest day
(common practice, no source)."""
YEAR_RAIN_SPREAD = 0.25
"""Spread of the logarithm of a year's chance of a wet day (common practice, no source)."""
YEAR_WARMTH_SPREAD_C = 0.8
"""Spread of a season's mean temperature from year to year (common practice, no source)."""
_STREAM = 0x5EA50


def draw_season(
    spec: WeatherSpec, days: int, seed: int, number: int, altitude_m: float = 0.0
) -> Weather:
    """Season ``number`` of a seed, from the day of the year that ``spec`` is for.

    >>> one = draw_season(WeatherSpec(), 120, seed=1, number=3)
    >>> one.days == draw_season(WeatherSpec(), 120, seed=1, number=3).days
    True
    """
    rng = np.random.Generator(np.random.Philox(np.random.SeedSequence([seed, _STREAM, number])))
    wetter = float(rng.standard_normal())
    warmer_c = YEAR_WARMTH_SPREAD_C * float(rng.standard_normal())
    wet = exp(YEAR_RAIN_SPREAD * wetter - YEAR_RAIN_SPREAD**2 / 2.0)
    year = replace(spec, rain_chance=min(spec.rain_chance * wet, 1.0))
    day_seed = int(rng.integers(1 << 62))

    def usual(offset: int) -> WeatherSpec:
        return spec_on(year, offset, warmer_c)

    return weatherdraw.draw_weather(year, days, day_seed, altitude_m, usual)


def spec_on(spec: WeatherSpec, offset: int, warmer_c: float = 0.0) -> WeatherSpec:
    """What is usual so many days after the day that ``spec`` is for.

    >>> summer = WeatherSpec(latitude_deg=50.0, day_of_year=201, t_max_c=25.0)
    >>> round(spec_on(summer, 182).t_max_c)
    5
    """
    shift_c = warmer_c + _course_c(spec, spec.day_of_year + offset)
    shift_c -= _course_c(spec, spec.day_of_year)
    return replace(spec, t_max_c=spec.t_max_c + shift_c, t_min_c=spec.t_min_c + shift_c)


def _course_c(spec: WeatherSpec, day_of_year: int) -> float:
    """How much warmer than the year's mean a day of the year is."""
    warmest = WARMEST_DAY if spec.latitude_deg >= 0.0 else WARMEST_DAY - 182
    swing_c = SWING_C_PER_DEG * abs(spec.latitude_deg)
    return swing_c * cos(2.0 * pi * (day_of_year - warmest) / 365.0)
