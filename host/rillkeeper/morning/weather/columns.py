"""The columns that a weather table may have: their names, units and the values that can be."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from rillkeeper.unit_table import DAY_S, DIMENSIONS, HOUR_S, KILO, MEGA, ONE

_RADIATION = {
    "MJ/m2": ONE,
    "kWh/m2": KILO * HOUR_S / MEGA,
    "W/m2": DAY_S / MEGA,
}
"""To MJ/m2 in a day; W/m2 is the mean of the day and the night."""
_WRITTEN_AS = {
    "MJ/m2/d": "MJ/m2",
    "MJ/m2/day": "MJ/m2",
    "kWh/m2/d": "kWh/m2",
    "kWh/m2/day": "kWh/m2",
    "mm/d": "mm",
    "mm/day": "mm",
    "in/d": "in",
    "in/day": "in",
    "hours": "h",
    "hr": "h",
    "percent": "%",
}
_SQUARE = "\N{SUPERSCRIPT TWO}"


@dataclass(frozen=True)
class Column:
    """One column: its name, the units it may come in, and the range of its values."""

    name: str
    units: dict[str, Fraction]
    """Factor to the unit of the field below."""
    low: float
    high: float
    own: str
    """The unit that values are kept in."""
    offsets: dict[str, Fraction]
    other_names: tuple[str, ...] = ()

    @property
    def allowed(self) -> str:
        """For a sentence: "-60 to 60 C"."""
        return f"{self.low:g} to {self.high:g} {self.own}"


def _temperature(name: str, *other_names: str) -> Column:
    kind = DIMENSIONS["temperature"]
    units = {unit: kind.units[unit] for unit in ("C", "F")}
    return Column(name, units, -60.0, 60.0, "C", dict(kind.offset), other_names)


def _depth(name: str, high: float, *other_names: str) -> Column:
    return Column(name, {"mm": ONE, "in": Fraction("25.4")}, 0.0, high, "mm", {}, other_names)


def _humidity(name: str, *other_names: str) -> Column:
    return Column(name, {"%": ONE}, 1.0, 100.0, "%", {}, other_names)


def _wind(name: str, *other_names: str) -> Column:
    kind = DIMENSIONS["speed"]
    return Column(name, dict(kind.units), 0.0, 50.0, "m/s", {}, other_names)


COLUMNS = (
    _temperature("t_max", "tmax", "max_temperature", "temperature_max"),
    _temperature("t_min", "tmin", "min_temperature", "temperature_min"),
    _humidity("humidity", "humidity_mean", "rh"),
    _humidity("humidity_max", "rh_max"),
    _humidity("humidity_min", "rh_min"),
    _temperature("dew_point", "dewpoint"),
    _wind("wind", "wind_2m"),
    _wind("wind_10m"),
    Column("sunshine", {"h": ONE}, 0.0, 24.0, "h", {}, ("sun", "sunshine_hours")),
    Column("radiation", _RADIATION, 0.0, 50.0, "MJ/m2", {}, ("solar", "solar_radiation")),
    _depth("rain", 500.0, "rainfall", "precipitation"),
    _depth("et0", 20.0, "eto", "reference_et"),
)
DATE = "date"
NAMES = {name: column for column in COLUMNS for name in (column.name, *column.other_names)}
LISTED = "date, " + ", ".join(column.name for column in COLUMNS)


class Heading(NamedTuple):
    """A heading as it was understood."""

    written: str
    column: Column | None
    """None for the date, and for a column that is not used."""
    factor: float
    offset: float

    def value(self, number: float) -> float:
        """A number of this column in the column's own unit."""
        return number * self.factor + self.offset


class HeadingMistake(Exception):
    """Why a heading cannot be used, and what is allowed."""


def heading_of(written: str) -> Heading | None:
    """The column of a heading such as "t_max [C]", "Rain (in)" or "wind m/s".

    None where the name is not one of ours: such a column is left alone.

    >>> found = heading_of("T_max (F)")
    >>> found.column.name, round(found.value(50.0), 6)
    ('t_max', 10.0)
    """
    name, unit = _parted(written)
    if name == DATE:
        return Heading(written, None, 1.0, 0.0)
    column = NAMES.get(name)
    if column is None:
        return None
    alias = {**DIMENSIONS["temperature"].alias, **DIMENSIONS["speed"].alias, **_WRITTEN_AS}
    unit = unit.replace(_SQUARE, "2")
    unit = alias.get(unit, unit)
    lowered = {known.lower(): known for known in column.units}
    unit = unit if unit in column.units else lowered.get(unit.lower(), unit)
    choices = ", ".join(column.units)
    if not unit:
        raise HeadingMistake(f"has no unit; write it as {column.name} [{column.own}]; {choices}")
    if unit not in column.units:
        raise HeadingMistake(f'has a unit "{unit}" that does not fit; allowed: {choices}')
    offset = float(column.offsets.get(unit, Fraction(0)))
    return Heading(written, column, float(column.units[unit]), offset)


def _parted(written: str) -> tuple[str, str]:
    """Name and unit: the unit in brackets, after a space, or after the last underscore."""
    text = written.strip()
    found = re.fullmatch(r"(?P<name>[^\[\](){}]+?)\s*[\[({](?P<unit>[^\])}]*)[\])}]", text)
    if not found:
        found = re.fullmatch(r"(?P<name>\S+(?: \S+)*?)\s+(?P<unit>\S+)", text)
    if found and _plain(found["name"]) in (*NAMES, DATE):
        return _plain(found["name"]), found["unit"].strip()
    if _plain(text) not in (*NAMES, DATE) and "_" in text:
        name, _, unit = text.rpartition("_")
        if _plain(name) in NAMES:
            return _plain(name), unit
    return _plain(text), ""


def _plain(name: str) -> str:
    return re.sub(r"[\s\-]+", "_", name.strip().lower())
