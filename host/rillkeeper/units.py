"""Quantities as people write them ("3/4 in", "5.5 gal/min", "12 AWG"), to SI and back.

The gallon is the US gallon; the imperial one is written "imp gal". A pressure may be given as
a column of water, "20 m head". Temperatures come out in degrees Celsius and angles in degrees.
"""

import difflib
import math
import re
import unicodedata
from fractions import Fraction

from rillkeeper.unit_table import DIMENSIONS, INCH_M, Dimension

SYSTEMS = ("metric", "us")

_DECIMAL = r"(?:[0-9]{1,20}\.?[0-9]{0,20}|\.[0-9]{1,20})(?:[eE][+-]?[0-9]{1,3})?"
_FRACTION = r"(?:(?P<whole>[0-9]{1,6})(?:\s+|-))?(?P<above>[0-9]{1,6})/(?P<below>[0-9]{1,6})"
_BARE_FRACTION = r"(?:[0-9]{1,6}(?:\s+|-))?[0-9]{1,6}/[0-9]{1,6}"
_NUMBER = re.compile(rf"\s*(?P<sign>[+-]?)\s*(?:{_FRACTION}|(?P<decimal>{_DECIMAL}))")
_RANGE = re.compile(r"(?P<first>.*\S)\s+to\s+(?P<last>\S.*)")
_CLOCK = re.compile(r"(?P<h>[01]?[0-9]|2[0-3])(?:[:.h](?P<m>[0-5][0-9]))?\s*(?P<half>[ap])?m?")
_HOURS = re.compile(r"(?P<h>[0-9]{1,3})(?::(?P<m>[0-5][0-9])\s*h|\s*h\s*(?P<min>[0-5]?[0-9]))")
_PART = re.compile(
    rf"\s*(?:and\s+)?(?P<number>{_DECIMAL}|{_BARE_FRACTION})\s*(?P<unit>[^\s\d.,/]+)"
)
_VULGAR = re.compile(
    "([0-9]?)([\N{VULGAR FRACTION ONE QUARTER}-\N{VULGAR FRACTION THREE QUARTERS}"
    "\N{VULGAR FRACTION ONE SEVENTH}-\N{VULGAR FRACTION SEVEN EIGHTHS}])"
)
_AS_TYPED = str.maketrans(
    {
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{PRIME}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{FRACTION SLASH}": "/",
        "\N{MINUS SIGN}": "-",
    }
)
"""What a phone or a word processor makes of quotes, spaces and minus signs."""
_AWG_LARGEST, _AWG_SMALLEST = -3, 40
_AWG_STEP = 92 ** (1 / 39)
_AWG_36_M = float(INCH_M * 5 / 1000)
_FINEST_FRACTION = 64
"""Rulers and drills are marked to 1/64 in."""
_LARGEST_FRACTION = 100
"""Beyond so many inches nobody writes a fraction."""


class UnitError(ValueError):
    """A text that is not the quantity asked for; says why and what would be."""

    def __init__(self, problem: str, allowed: str, nearest: str = "") -> None:
        super().__init__(f"{problem}; {allowed}" + (f"; nearest: {nearest}" if nearest else ""))
        self.problem = problem
        self.allowed = allowed
        self.nearest = nearest


def awg_area_m2(gauge: int) -> float:
    """Section of a solid wire by its American wire gauge.

    .. math:: d = 0.005\\,\\mathrm{in} \\cdot 92^{(36 - n)/39}

    Parameters
    ----------
    gauge : int
        Gauge number; 0, -1, -2, -3 for 1/0, 2/0, 3/0, 4/0 [-]

    Returns
    -------
    area_m2 : float
        Section of the copper [m^2]

    Examples
    --------
    >>> round(awg_area_m2(12) * 1e6, 4)
    3.3088

    References
    ----------
    .. [1] ASTM B258.
    """
    diameter_m = _AWG_36_M * _AWG_STEP ** (36 - gauge)
    return math.pi / 4 * diameter_m**2


def parse(text: str, dimension: str) -> float:
    """Read a quantity with its unit.

    >>> parse("3/4 in", "bore")
    0.01905
    >>> round(parse("5.5 gal/min", "flow") * 60_000, 4)
    20.8198
    >>> parse("70 F", "temperature")
    21.11111111111111
    >>> round(parse("7 ft 10 in", "length"), 4)
    2.3876
    >>> parse("9:30 h", "time"), parse("9h30", "time"), parse("9 h 30 min", "time")
    (34200.0, 34200.0, 34200.0)

    Raises `UnitError` where the number, the unit or its dimension is not right.
    """
    kind = DIMENSIONS[dimension]
    text = _plain(text)
    found = _NUMBER.match(text)
    if not found:
        raise UnitError("not a number with a unit", _wanted(kind))
    together = _compound(text, kind)
    if together is not None:
        return together
    unit = _known_unit(text[found.end() :].strip(), kind)
    if unit == "AWG":
        return awg_area_m2(_gauge(found))
    if found["below"] and int(found["below"]) == 0:
        raise UnitError("a fraction over zero", _wanted(kind))
    value = _number(found) * kind.units[unit] + kind.offset.get(unit, 0)
    try:
        return float(value)
    except OverflowError:
        raise UnitError("too large a number", _wanted(kind)) from None


def parse_range(text: str, dimension: str) -> tuple[float, float] | None:
    """Both ends of a text such as "1.2 m to 1.8 m" or "1.2 to 1.8 m"; none where it is no range.

    >>> parse_range("1.2 to 1.8 m", "length")
    (1.2, 1.8)

    Raises `UnitError` as `parse` does.
    """
    found = _RANGE.fullmatch(text.strip())
    if not found:
        return None
    first, last = found["first"], found["last"]
    number = _NUMBER.match(last)
    if number and re.fullmatch(_NUMBER.pattern + r"\s*", first):
        first += f" {last[number.end() :]}"
    low, high = sorted((parse(first, dimension), parse(last, dimension)))
    return low, high


def format(value: float, dimension: str, system: str = "metric", digits: int = 4) -> str:
    """Write a value in the unit that this dimension is shown in, to so many digits.

    >>> format(0.01905, "bore", "us")
    '3/4 in'
    >>> format(0.000347, "flow")
    '20.82 L/min'
    """
    kind = DIMENSIONS[dimension]
    unit = kind.us if system == "us" else kind.metric
    tolerance = 10.0**-digits
    if unit == "AWG":
        gauge = _nearest_gauge(value)
        if gauge is not None and math.isclose(value, awg_area_m2(gauge), rel_tol=tolerance):
            return f"{1 - gauge}/0 AWG" if gauge < 0 else f"{gauge} AWG"
        unit = kind.metric
    number = float((Fraction(value) - kind.offset.get(unit, 0)) / kind.units[unit])
    if unit == "in" and kind.fractions:
        inches = Fraction(round(number * _FINEST_FRACTION), _FINEST_FRACTION)
        if 0 < inches < _LARGEST_FRACTION and math.isclose(
            number, inches, rel_tol=min(tolerance, 1e-6)
        ):
            return f"{_mixed(inches)} in"
    return f"{_decimal(number, digits)} {unit}"


def parse_clock(text: str) -> int:
    """Second of the day of a time written as "22:30".

    >>> parse_clock("22:30"), parse_clock("10.30 pm"), parse_clock("22h30"), parse_clock("6 am")
    (81000, 81000, 81000, 21600)
    """
    found = _CLOCK.fullmatch(text.strip().lower())
    bare = found and found["m"] is None and found["half"] is None
    twelve = found and found["half"] and not 1 <= int(found["h"]) <= 12
    if not found or bare or twelve:
        raise UnitError("not a time of day", 'a time from "00:00" to "23:59"')
    hour = int(found["h"])
    if found["half"]:
        hour = hour % 12 + (12 if found["half"] == "p" else 0)
    return hour * 3600 + int(found["m"] or 0) * 60


def format_clock(second_of_day: int) -> str:
    """The time of day as "22:30".

    >>> format_clock(81000)
    '22:30'
    """
    return f"{second_of_day // 3600:02d}:{second_of_day % 3600 // 60:02d}"


def _plain(text: str) -> str:
    """The spelling that is read: fractions in figures, straight quotes, the gauge at the end."""
    text = _VULGAR.sub(lambda one: f"{one[1]} {unicodedata.normalize('NFKC', one[2])} ", text)
    text = text.translate(_AS_TYPED).strip()
    gauge = re.fullmatch(r"#?\s*(?:AWG\s*#?\s*)?([0-9]+(?:/0)?)\s*(?:AWG|ga|gauge)?", text, re.I)
    if gauge and not text[:1].isdigit():
        return f"{gauge[1]} AWG"
    return text


def _compound(text: str, kind: Dimension) -> float | None:
    """Several units together, "7 ft 10 in", "1 h 30 min", each smaller than the one before; and
    hours as on a clock, "9:30 h", "9h30"."""
    if kind is DIMENSIONS["time"] and (hours := _HOURS.fullmatch(text)):
        return int(hours["h"]) * 3600.0 + int(hours["m"] or hours["min"]) * 60.0
    parts = list(_PART.finditer(text))
    if len(parts) < 2 or "".join(part[0] for part in parts).strip() != text or kind.offset:
        return None
    total, before = Fraction(0), None
    for part in parts:
        unit = kind.unit(part["unit"])
        factor = kind.units.get(unit, Fraction(0))
        found = _NUMBER.match(part["number"])
        zero = found is None or found["below"] is not None and int(found["below"]) == 0
        if not factor or zero or (before is not None and factor >= before):
            return None
        assert found is not None
        total += _number(found) * factor
        before = factor
    return float(total)


def _wanted(kind: Dimension) -> str:
    return f"{kind.noun} in {kind.choices}"


def _known_unit(unit: str, kind: Dimension) -> str:
    spelling = " ".join(unit.split())
    if kind.unit(spelling):
        return kind.unit(spelling)
    if not spelling:
        raise UnitError("the unit is missing", _wanted(kind))
    if spelling.startswith(","):
        raise UnitError("a comma in the number", f"a point for decimals, {_wanted(kind)}")
    for other in DIMENSIONS.values():
        if other.unit(spelling):
            raise UnitError(f"{other.noun}, where {kind.noun} belongs", _wanted(kind))
    names = {name.lower(): kind.unit(name) for name in (*kind.alias, *kind.units)}
    near = difflib.get_close_matches(spelling.lower(), names, n=1)
    raise UnitError(f'no unit "{spelling}"', _wanted(kind), names[near[0]] if near else "")


def _number(found: re.Match[str]) -> Fraction:
    sign = -1 if found["sign"] == "-" else 1
    if found["decimal"]:
        return sign * Fraction(found["decimal"])
    return sign * (int(found["whole"] or 0) + Fraction(int(found["above"]), int(found["below"])))


def _gauge(found: re.Match[str]) -> int:
    """Gauge number of "12" or, for the heavy ones, of "2/0"."""
    whole = found["decimal"] or ""
    if found["sign"] != "-" and whole.isdigit() and int(whole) <= _AWG_SMALLEST:
        return int(whole)
    if found["below"] == "0" and not found["whole"] and 1 <= int(found["above"]) <= 4:
        return 1 - int(found["above"])
    raise UnitError("no such wire gauge", "a whole gauge from 4/0 AWG to 40 AWG")


def _nearest_gauge(area_m2: float) -> int | None:
    if area_m2 <= 0.0:
        return None
    gauge = round(36 - math.log(math.sqrt(area_m2 * 4 / math.pi) / _AWG_36_M, _AWG_STEP))
    return gauge if _AWG_LARGEST <= gauge <= _AWG_SMALLEST else None


def _mixed(inches: Fraction) -> str:
    whole, rest = divmod(inches, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def _decimal(number: float, digits: int) -> str:
    """Plain notation where it reads well; a negative zero is a zero."""
    text = f"{number + 0.0:.{digits}g}"
    if "e" in text and 1e-4 <= abs(number) < 1e15:
        text = f"{float(text):.0f}" if abs(number) >= 1 else text
    return text
