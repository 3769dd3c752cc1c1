"""Weather from a table of daily values, as a station or a notebook gives them.

CSV with one heading row; units are in the headings. Rain comes as a total, so its hours are
drawn from the seed unless ``rain_start_h`` and ``rain_hours`` give them.
"""

import csv
from collections.abc import Iterator
from io import StringIO
from math import isfinite

import numpy as np

from rillsim.garden import radiation
from rillsim.garden.weather import DAY_S, HOUR_S, Day, Rain, Weather
from rillsim.garden.weatherdraw import rain_spells

NEEDED = (
    "day_of_year",
    "t_max_c",
    "t_min_c",
    "humidity_max",
    "humidity_min",
    "wind_m_s",
    "sunshine_h",
    "rain_mm",
)
ALLOWED = (*NEEDED, "wind_from_deg", "rain_start_h", "rain_hours")
RANGES = {
    "day_of_year": (1.0, 366.0),
    "t_max_c": (-60.0, 60.0),
    "t_min_c": (-60.0, 60.0),
    "humidity_max": (1.0, 100.0),
    "humidity_min": (1.0, 100.0),
    "wind_m_s": (0.0, 50.0),
    "wind_from_deg": (0.0, 360.0),
    "sunshine_h": (0.0, 24.0),
    "rain_mm": (0.0, 500.0),
    "rain_start_h": (0.0, 24.0),
    "rain_hours": (0.0, 24.0),
}
MISTAKES_MAX = 20


class BadWeather(ValueError):
    """A weather table that cannot be used; ``mistakes`` has one line for each reason."""

    def __init__(self, mistakes: list[str]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(mistakes))


def read_weather(
    text: str, latitude_deg: float, altitude_m: float = 0.0, seed: int = 0
) -> Weather:
    """Weather from the text of a CSV table; all mistakes are told at once.

    >>> head = "day_of_year,t_max_c,t_min_c,humidity_max,humidity_min,wind_m_s,sunshine_h,rain_mm"
    >>> read_weather(head + "\\n187,21.5,12.3,84,63,2.078,9.25,0", 50.8, 100.0).days[0].t_max_c
    21.5
    """
    rows = _rows(text)
    headings = [cell.strip() for cell in rows[0][1]] if rows else []
    mistakes = list(_heading_mistakes(headings))
    if mistakes:
        raise BadWeather(mistakes)
    days: list[Day] = []
    for line, cells in rows[1:]:
        if not any(cell.strip() for cell in cells):
            continue
        values, wrong = _values(headings, cells, line)
        wrong += list(_row_mistakes(values, line, latitude_deg)) if not wrong else []
        mistakes += wrong
        if not wrong:
            days.append(_day(values, latitude_deg, seed))
    if not days and not mistakes:
        mistakes.append("the weather table has a heading but no days: add a row a day")
    mistakes += _order_mistakes(days) if not mistakes else []
    if mistakes:
        more = len(mistakes) - MISTAKES_MAX
        raise BadWeather(mistakes[:MISTAKES_MAX] + ([f"and {more} more"] if more > 0 else []))
    return Weather(days, latitude_deg, altitude_m)


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Rows of the table, each with the line that it ends on."""
    reader = csv.reader(StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        return [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise BadWeather([f"weather line {reader.line_num}: not a CSV table ({error})"]) from error


def _heading_mistakes(headings: list[str]) -> Iterator[str]:
    if not any(headings):
        yield f"the weather table is empty: it starts with the headings {','.join(NEEDED)}"
        return
    for name in NEEDED:
        if name not in headings:
            yield f"weather line 1: no column {name}"
    for name in headings:
        if name not in ALLOWED:
            yield f"weather line 1: unknown column {name!r}; known are {', '.join(ALLOWED)}"
    for name in sorted({name for name in headings if headings.count(name) > 1}):
        yield f"weather line 1: column {name} is there twice"
    if ("rain_start_h" in headings) != ("rain_hours" in headings):
        yield "weather line 1: rain_start_h and rain_hours go together: give both or neither"


def _values(
    headings: list[str], cells: list[str], line: int
) -> tuple[dict[str, float], list[str]]:
    """Numbers of a row by heading, and what is wrong with them one by one."""
    if len(cells) != len(headings):
        return {}, [f"weather line {line}: {len(cells)} values for {len(headings)} columns"]
    values: dict[str, float] = {}
    wrong: list[str] = []
    for name, cell in zip(headings, cells, strict=True):
        low, high = RANGES[name]
        try:
            value = float(cell)
        except ValueError:
            wrong.append(f"weather line {line}, {name}: {cell.strip()!r} is not a number")
            continue
        if not isfinite(value) or not low <= value <= high:
            wrong.append(f"weather line {line}, {name}: {value:g} is outside {low:g} to {high:g}")
        values[name] = value
    return values, wrong


def _row_mistakes(values: dict[str, float], line: int, latitude_deg: float) -> Iterator[str]:
    """What is wrong between the numbers of a row."""
    if values["day_of_year"] != int(values["day_of_year"]):
        yield f"weather line {line}, day_of_year: {values['day_of_year']:g} is not a whole number"
        return
    if values["t_min_c"] > values["t_max_c"]:
        yield (
            f"weather line {line}: t_min_c {values['t_min_c']:g} is above "
            f"t_max_c {values['t_max_c']:g}"
        )
    if values["humidity_min"] > values["humidity_max"]:
        yield (
            f"weather line {line}: humidity_min {values['humidity_min']:g} is above "
            f"humidity_max {values['humidity_max']:g}"
        )
    possible_h = radiation.daylight_h(latitude_deg, int(values["day_of_year"]))
    if values["sunshine_h"] > possible_h + 0.1:
        yield (
            f"weather line {line}, sunshine_h: {values['sunshine_h']:g} h of sun in a day that "
            f"has {possible_h:.1f} h of daylight at {latitude_deg:g} degrees"
        )
    start_h, hours = values.get("rain_start_h", 0.0), values.get("rain_hours", 24.0)
    if values["rain_mm"] > 0.0 and "rain_hours" in values:
        if hours * HOUR_S < 1.0:
            yield f"weather line {line}, rain_hours: rain of {values['rain_mm']:g} mm in no time"
        if start_h + hours > 24.0:
            yield (
                f"weather line {line}: rain from {start_h:g} h for {hours:g} h runs past "
                "midnight: give the rest to the next day"
            )


def _day(values: dict[str, float], latitude_deg: float, seed: int) -> Day:
    day_of_year = int(values["day_of_year"])
    random = np.random.Generator(
        np.random.Philox(np.random.SeedSequence([seed, 0xA18, day_of_year]))
    )
    wind_from_deg = float(random.uniform(0.0, 360.0))
    spells = rain_spells(values["rain_mm"], random)
    if spells and "rain_hours" in values:
        start_s = int(values["rain_start_h"] * HOUR_S)
        duration_s = min(max(1, round(values["rain_hours"] * HOUR_S)), DAY_S - start_s)
        spells = (Rain(start_s, duration_s, values["rain_mm"]),)
    possible_h = radiation.daylight_h(latitude_deg, day_of_year)
    return Day(
        day_of_year=day_of_year,
        t_max_c=values["t_max_c"],
        t_min_c=values["t_min_c"],
        humidity_max=values["humidity_max"],
        humidity_min=values["humidity_min"],
        wind_m_s=values["wind_m_s"],
        wind_from_deg=values.get("wind_from_deg", wind_from_deg),
        sunshine=min(1.0, values["sunshine_h"] / possible_h) if possible_h > 0.0 else 0.0,
        rain=spells,
    )


def _order_mistakes(days: list[Day]) -> list[str]:
    """Days must follow one another; the turn of the year may."""
    wrong = []
    for before, after in zip(days, days[1:], strict=False):
        turn = before.day_of_year >= 365 and after.day_of_year == 1
        if after.day_of_year != before.day_of_year + 1 and not turn:
            wrong.append(
                f"weather: day {after.day_of_year} follows day {before.day_of_year}: give every "
                "day once, in order"
            )
    return wrong
