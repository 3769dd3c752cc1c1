"""The weather of the replay: days as a station would report them, and any second within them.

Seconds count from midnight at the start of the first day; the clock is solar (noon at 12:00).
Where the days come from does not matter here; `weatherdraw` draws them.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import cos, pi

from rillsim.garden import fao56, radiation

DAY_S = 86400
HOUR_S = 3600
WARMEST_S = 15 * HOUR_S
"""Warmest hour of a clear day, about 3 h after noon (common practice, no source)."""
WINDIEST_S = 14 * HOUR_S
WIND_SWING = 0.6
"""The afternoon has 1.6 times the day's mean wind and the small hours 0.4 times it: wind over
land falls at night (common practice, no source)."""


@dataclass(frozen=True)
class Rain:
    """One spell of even rain within a day."""

    start_s: int
    """Second of its day."""
    duration_s: int
    depth_mm: float


@dataclass(frozen=True)
class Day:
    """What a weather station writes down for a day."""

    day_of_year: int
    t_max_c: float
    t_min_c: float
    humidity_max: float
    humidity_min: float
    wind_m_s: float
    """Mean of the day at 2 m."""
    wind_from_deg: float
    """Where it comes from, clockwise from north."""
    sunshine: float
    """Share of the possible hours."""
    rain: tuple[Rain, ...] = ()

    @property
    def rain_mm(self) -> float:
        """Rain of the day [mm]."""
        return sum(spell.depth_mm for spell in self.rain)


class Weather:
    """Days in a row at one place.

    Parameters
    ----------
    days : sequence of Day
        At least one; the first starts at second 0
    latitude_deg, altitude_m : float
        The place [degrees north, m]

    Notes
    -----
    Temperature runs from the lowest at sunrise to the highest at 15:00 and on to the next
    lowest, each way as half a cosine (Hoogenboom and Huck 1986, from memory). Before the first
    day and after the last one the nearest day repeats, without its rain.
    """

    def __init__(self, days: Sequence[Day], latitude_deg: float, altitude_m: float = 0.0) -> None:
        if not days:
            raise ValueError("weather of no days: give at least one")
        self.days = tuple(days)
        self.latitude_deg = latitude_deg
        self.altitude_m = altitude_m

    def day_at(self, second: float) -> Day:
        """The day in which a second falls."""
        return self.days[self._index(second)]

    def _index(self, second: float) -> int:
        return min(len(self.days) - 1, max(0, int(second // DAY_S)))

    @cached_property
    def reference_mm(self) -> tuple[float, ...]:
        """Reference evapotranspiration of each day, Penman-Monteith [mm]."""
        return tuple(
            fao56.reference_day_mm(
                self.latitude_deg,
                self.altitude_m,
                day.day_of_year,
                (day.t_max_c, day.t_min_c),
                (day.humidity_max, day.humidity_min),
                day.wind_m_s,
                day.sunshine,
            )
            for day in self.days
        )

    @cached_property
    def _turns(self) -> tuple[list[float], list[float]]:
        """Seconds and temperatures of every lowest and highest, in order."""
        seconds: list[float] = []
        temperatures: list[float] = []
        for number, day in enumerate((self.days[0], *self.days, self.days[-1])):
            midnight = (number - 1) * DAY_S
            half_h = radiation.daylight_h(self.latitude_deg, day.day_of_year) / 2.0
            # Polar day and night still have a coldest hour.
            sunrise_s = min(9.0, max(2.0, 12.0 - half_h)) * HOUR_S
            seconds += [midnight + sunrise_s, midnight + WARMEST_S]
            temperatures += [day.t_min_c, day.t_max_c]
        return seconds, temperatures

    def air_c(self, second: float) -> float:
        """Air temperature [C]."""
        seconds, temperatures = self._turns
        after = bisect_right(seconds, second)
        if after in (0, len(seconds)):
            return temperatures[min(after, len(seconds) - 1)]
        start, end = seconds[after - 1], seconds[after]
        share = (1.0 - cos(pi * (second - start) / (end - start))) / 2.0
        return temperatures[after - 1] + share * (temperatures[after] - temperatures[after - 1])

    def humidity(self, second: float) -> float:
        """Relative humidity [%]: the day's vapour pressure at the temperature of the moment."""
        day = self.day_at(second)
        vapour = fao56.vapour_kpa(day.t_max_c, day.t_min_c, day.humidity_max, day.humidity_min)
        return min(100.0, 100.0 * vapour / fao56.saturation_kpa(self.air_c(second)))

    def wind_m_s(self, second: float) -> float:
        """Wind at 2 m [m/s]: the day's mean, more in the afternoon and less at night."""
        swing = cos(2.0 * pi * (second % DAY_S - WINDIEST_S) / DAY_S)
        return self.day_at(second).wind_m_s * (1.0 + WIND_SWING * swing)

    def wind_from_deg(self, second: float) -> float:
        """Where the wind comes from, clockwise from north [degrees]."""
        return self.day_at(second).wind_from_deg

    def rain_mm(self, start_s: float, end_s: float) -> float:
        """Rain between two seconds [mm]."""
        begins, longest_s = self._begins
        first = bisect_left(begins, start_s - longest_s)
        last = bisect_left(begins, end_s)
        return sum(
            spell.depth_mm * _overlap(start_s, end_s, begin, begin + spell.duration_s)
            for begin, spell in self._spells[first:last]
            if begin + spell.duration_s > start_s
        )

    def rain_edges_s(self) -> list[int]:
        """Seconds at which rain starts or ends, in order: between them nothing changes."""
        return sorted(
            edge for begin, spell in self._spells for edge in (begin, begin + spell.duration_s)
        )

    @cached_property
    def _spells(self) -> tuple[tuple[int, Rain], ...]:
        return tuple(
            (number * DAY_S + spell.start_s, spell)
            for number, day in enumerate(self.days)
            for spell in sorted(day.rain, key=lambda each: each.start_s)
        )

    @cached_property
    def _begins(self) -> tuple[list[int], int]:
        """When each spell begins, and how long the longest is [s]."""
        longest_s = max((spell.duration_s for _, spell in self._spells), default=0)
        return [begin for begin, _ in self._spells], longest_s

    def evaporation_mm(self, start_s: float, end_s: float) -> float:
        """Reference evapotranspiration between two seconds [mm].

        A day's total falls on its hours as the radiation outside the atmosphere does
        (FAO-56 eq. 28), so none by night and the most at noon.
        """
        total = 0.0
        for calendar in range(int(start_s // DAY_S), int(end_s // DAY_S) + 1):
            midnight = calendar * DAY_S
            start, end = max(start_s - midnight, 0.0), min(end_s - midnight, float(DAY_S))
            if end > start:
                number = self._index(midnight)
                total += self.reference_mm[number] * self._daylight_share(number, start, end)
        return total

    def solar_mj_m2(self, start_s: float, end_s: float) -> float:
        """Solar radiation on level ground between two seconds of one day [MJ/m2].

        The day's total is that of its sunshine (FAO-56 eq. 35), spread as above.
        """
        number = self._index(start_s)
        day = self.days[number]
        whole = radiation.extraterrestrial_mj_m2(self.latitude_deg, day.day_of_year)
        if whole <= 0.0:
            return 0.0
        midnight = start_s // DAY_S * DAY_S
        share = self._daylight_share(number, start_s - midnight, end_s - midnight)
        return radiation.solar_mj_m2(day.sunshine, whole) * share

    def _daylight_share(self, number: int, start_s: float, end_s: float) -> float:
        """Share of a day's sun between two seconds of it."""
        day_of_year = self.days[number].day_of_year
        whole = radiation.extraterrestrial_mj_m2(self.latitude_deg, day_of_year)
        if whole <= 0.0:  # Polar night: what little there is comes evenly.
            return (end_s - start_s) / DAY_S
        start, end = (2.0 * pi * (second / DAY_S - 0.5) for second in (start_s, end_s))
        between = radiation.extraterrestrial_between_mj_m2(
            self.latitude_deg, day_of_year, start, end
        )
        return between / whole


def _overlap(start_s: float, end_s: float, begin_s: float, stop_s: float) -> float:
    """Share of the second span that lies in the first."""
    return max(0.0, min(end_s, stop_s) - max(start_s, begin_s)) / (stop_s - begin_s)
