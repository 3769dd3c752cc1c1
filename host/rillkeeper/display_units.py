"""Quantities as the reports show them: always the same unit, always so many decimals."""

from dataclasses import dataclass
from datetime import date, timedelta

from rillkeeper.unit_table import DIMENSIONS

# How many decimals a unit is shown with in tables and sentences.
_DECIMALS = {
    "bar": 2,
    "psi": 1,
    "L": 0,
    "gal": 0,
    "mm": 1,
    "in": 2,
    "m": 1,
    "ft": 0,
    "m2": 0,
    "ft2": 0,
    "L/min": 1,
    "gal/min": 2,
    "V": 2,
    "A": 1,
    "Ah": 1,
    "mohm": 0,
    "min": 0,
    "C": 1,
    "F": 0,
}
_EPOCH = date(1970, 1, 1)
_SECONDS_MAX = 120
_MINUTES_MAX = 180
_HOURS_MAX = 100


@dataclass(frozen=True)
class Shown:
    """How a site's owner reads quantities: "metric" or "us"; values come in SI."""

    system: str = "metric"

    def unit(self, dimension: str) -> str:
        """The unit of a dimension.

        >>> Shown("us").unit("pressure")
        'psi'
        """
        kind = DIMENSIONS[dimension]
        return kind.us if self.system == "us" else kind.metric

    def number(self, value: float, dimension: str) -> float:
        """The value in that unit, not rounded."""
        kind = DIMENSIONS[dimension]
        unit = self.unit(dimension)
        return (value - float(kind.offset.get(unit, 0))) / float(kind.units[unit])

    def bare(self, value: float | None, dimension: str) -> str:
        """The number without its unit, for a column; a dash where it is not known."""
        if value is None or value != value:
            return "-"
        number = self.number(value, dimension)
        text = f"{number:.{_DECIMALS[self.unit(dimension)]}f}"
        return text.removeprefix("-") if float(text) == 0.0 else text

    def text(self, value: float, dimension: str) -> str:
        """The number with its unit.

        >>> Shown().text(143_279.0, "pressure"), Shown("us").text(143_279.0, "pressure")
        ('1.43 bar', '20.8 psi')
        """
        return f"{self.bare(value, dimension)} {self.unit(dimension)}"

    def decimals(self, dimension: str) -> int:
        """Decimals that the unit is shown with."""
        return _DECIMALS[self.unit(dimension)]


def duration_text(seconds: float) -> str:
    """A length of time in the unit that reads well.

    >>> duration_text(0.6), duration_text(90), duration_text(1500), duration_text(14400)
    ('0.6 s', '90 s', '25 min', '4 h')
    >>> duration_text(1.22e7)
    '141 days'
    """
    if seconds < _SECONDS_MAX:
        return f"{seconds:.3g} s"
    if seconds < _MINUTES_MAX * 60:
        return f"{seconds / 60:.0f} min"
    if seconds < _HOURS_MAX * 3600:
        return f"{seconds / 3600:.3g} h"
    return f"{seconds / 86400:.0f} days"


def clock_text(second: int) -> str:
    """Time of day to the minute.

    >>> clock_text(81_063)
    '22:31'
    """
    return f"{second // 3600:02d}:{second % 3600 // 60:02d}"


def date_of(day: int) -> date:
    """The date of a day number."""
    return _EPOCH + timedelta(days=day)


def day_text(day: int) -> str:
    """Short date for tables and charts.

    >>> day_text(20643)
    'Thu 9 Jul'
    """
    return f"{date_of(day):%a} {date_of(day).day} {date_of(day):%b}"


def long_day_text(day: int) -> str:
    """The same for headings.

    >>> long_day_text(20643)
    'Thursday 9 July 2026'
    """
    return f"{date_of(day):%A} {date_of(day).day} {date_of(day):%B %Y}"


def counted(number: int, noun: str, plural: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "night"), counted(3, "night"), counted(2, "try", "tries")
    ('1 night', '3 nights', '2 tries')
    """
    return f"{number} {noun if number == 1 else plural or noun + 's'}"
