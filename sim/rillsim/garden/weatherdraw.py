"""Days of weather drawn from a seed around what is usual for the place and season.

The first draw of a day never depends on how many days are asked for: seven nights are the
first seven of ten.

Reference
---------
Richardson (1981), Water Resources Research 17, 182: wet and dry days as a Markov chain, rain of
a wet day exponential, temperature and sun as a first-order autoregression. Coefficients of
Richardson and Wright (1984), ARS-8, from memory; their consistency is tested. Persistence of
wet days from Geng, Penning de Vries and Supit (1986), Agric. For. Meteorol. 36, 363.
"""

from collections.abc import Callable
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from rillsim.garden import radiation
from rillsim.garden.weather import DAY_S, HOUR_S, Day, Rain, Weather
from rillsim.site import WeatherSpec

Floats = NDArray[np.float64]

# Residuals of highest temperature, lowest temperature and sunshine: x(i) = A x(i-1) + B e(i).
LAG = np.array([[0.567, 0.086, -0.002], [0.253, 0.504, -0.050], [-0.006, -0.039, 0.244]])
NOISE = np.array([[0.781, 0.0, 0.0], [0.328, 0.637, 0.0], [0.238, -0.341, 0.873]])
SAME_DAY = np.array([[1.0, 0.633, 0.186], [0.633, 1.0, -0.193], [0.186, -0.193, 1.0]])
"""Correlation between the three on one day (Richardson 1981)."""

PERSISTENCE = 0.25
"""A wet day follows a dry one with 0.75 of the chance of any day, and a wet one with 0.25 more
(Geng et al. 1986)."""

# Spread of days around the season and what rain does to a day: common practice, no source.
T_MAX_SPREAD_C = 3.0
T_MIN_SPREAD_C = 2.2
SUNSHINE_SPREAD = 0.2
HUMIDITY_SPREAD = 7.0
WIND_SPREAD = 0.35
WET_COOLER_C = 3.0
WET_SUNSHINE = 0.5
WET_MOISTER = 12.0
RAIN_RATE_MM_H = 3.0
RAIN_RATE_SPREAD = 0.8
SPELLS_MAX = 3
SPELL_S_MIN = 600


def draw_weather(
    spec: WeatherSpec,
    days: int,
    seed: int,
    altitude_m: float = 0.0,
    usual: Callable[[int], WeatherSpec] | None = None,
) -> Weather:
    """Weather of so many days; the same seed gives the same days.

    ``usual`` is what is usual so many days after the first, where that is not always ``spec``.

    >>> week = draw_weather(WeatherSpec(), days=7, seed=1)
    >>> len(week.days), week.days == draw_weather(WeatherSpec(), days=7, seed=1).days
    (7, True)
    """
    if days < 1:
        raise ValueError(f"weather of {days} days: ask for at least one")
    check_spec(spec)
    start = _generator(seed, 0)
    residual = np.linalg.cholesky(SAME_DAY) @ start.standard_normal(3)
    wet = bool(start.random() < spec.rain_chance)
    wind_from_deg = float(start.uniform(0.0, 360.0))
    drawn: list[Day] = []
    for number in range(days):
        random = _generator(seed, number + 1)
        residual = LAG @ residual + NOISE @ random.standard_normal(3)
        chance = spec.rain_chance * (1.0 - PERSISTENCE) + (PERSISTENCE if wet else 0.0)
        wet = bool(random.random() < chance)
        wind_from_deg = (wind_from_deg + 40.0 * float(random.standard_normal())) % 360.0
        today = usual(number) if usual else spec
        drawn.append(_day(today, number, residual, wet, wind_from_deg, random))
    return Weather(drawn, spec.latitude_deg, altitude_m)


def check_spec(spec: WeatherSpec) -> None:
    """Refuse weather that cannot be, with what to change."""
    if not -90.0 <= spec.latitude_deg <= 90.0:
        raise ValueError(f"latitude {spec.latitude_deg:g} degrees: give -90 to 90")
    if not 1 <= spec.day_of_year <= 366:
        raise ValueError(f"day of the year {spec.day_of_year}: give 1 to 366")
    if not spec.t_min_c < spec.t_max_c:
        raise ValueError(
            f"lowest temperature {spec.t_min_c:g} C is not under the highest {spec.t_max_c:g} C"
        )
    if not 0.0 < spec.humidity_min <= spec.humidity_max <= 100.0:
        raise ValueError(
            f"humidity from {spec.humidity_min:g} to {spec.humidity_max:g} %: give a lowest above "
            "0 % and a highest not under it, 100 % at most"
        )
    if not (0.0 <= spec.sunshine <= 1.0 and 0.0 <= spec.rain_chance <= 1.0):
        raise ValueError(
            f"sunshine {spec.sunshine:g} and chance of rain {spec.rain_chance:g}: give shares "
            "from 0 to 1"
        )
    if spec.wind_m_s < 0.0 or spec.rain_mm < 0.0:
        raise ValueError(
            f"wind {spec.wind_m_s:g} m/s and rain {spec.rain_mm:g} mm: neither may be below 0"
        )


def rain_spells(depth_mm: float, random: np.random.Generator) -> tuple[Rain, ...]:
    """Cut a day's rain into one to three spells that do not touch, each within the day.

    Each spell has a third (half, whole) of the day for itself; it starts anywhere in it from
    which it can end in it, and rains as hard as it must.
    """
    if depth_mm <= 0.0:
        return ()
    count = int(random.integers(1, SPELLS_MAX + 1))
    shares = random.dirichlet(np.full(count, 2.0))
    room_s = DAY_S // count
    spells = []
    for number, share in enumerate(shares):
        rate_mm_h = RAIN_RATE_MM_H * exp(RAIN_RATE_SPREAD * float(random.standard_normal()))
        wanted_s = float(share) * depth_mm / rate_mm_h * HOUR_S
        duration_s = int(min(room_s - 1, max(SPELL_S_MIN, wanted_s)))
        start_s = number * room_s + int(random.integers(0, room_s - duration_s))
        spells.append(Rain(start_s, duration_s, float(share) * depth_mm))
    return tuple(spells)


def _generator(seed: int, day: int) -> np.random.Generator:
    return np.random.Generator(np.random.Philox(np.random.SeedSequence([seed, 0xA17, day])))


def _day(
    spec: WeatherSpec,
    number: int,
    residual: Floats,
    wet: bool,
    wind_from_deg: float,
    random: np.random.Generator,
) -> Day:
    """One day around the season; wet and dry days are set apart without moving the mean."""
    wetness = (1.0 if wet else 0.0) - spec.rain_chance
    warm, cool, sun = (float(x) for x in residual)
    t_max_c = spec.t_max_c + T_MAX_SPREAD_C * warm - WET_COOLER_C * wetness
    t_min_c = min(spec.t_min_c + T_MIN_SPREAD_C * cool, t_max_c - 2.0)
    dry_sunshine = spec.sunshine / (1.0 - (1.0 - WET_SUNSHINE) * spec.rain_chance)
    sunshine = dry_sunshine * (WET_SUNSHINE if wet else 1.0) + SUNSHINE_SPREAD * sun
    moist = WET_MOISTER * wetness + HUMIDITY_SPREAD * (0.7 * float(random.standard_normal()) - sun)
    humidity_max = min(100.0, max(20.0, spec.humidity_max + 0.5 * moist))
    humidity_min = min(humidity_max, max(10.0, spec.humidity_min + moist))
    gust = exp(WIND_SPREAD * float(random.standard_normal()) - WIND_SPREAD**2 / 2.0)
    depth_mm = -spec.rain_mm * log(1.0 - float(random.random())) if wet else 0.0
    return Day(
        day_of_year=(spec.day_of_year + number - 1) % 365 + 1,
        t_max_c=t_max_c,
        t_min_c=t_min_c,
        humidity_max=humidity_max,
        humidity_min=humidity_min,
        wind_m_s=spec.wind_m_s * gust,
        wind_from_deg=wind_from_deg,
        sunshine=min(1.0, max(0.0, sunshine)) if _has_sun(spec, number) else 0.0,
        rain=rain_spells(depth_mm, random),
    )


def _has_sun(spec: WeatherSpec, number: int) -> bool:
    return radiation.daylight_h(spec.latitude_deg, spec.day_of_year + number) > 0.0
