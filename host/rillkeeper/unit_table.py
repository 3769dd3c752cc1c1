"""The units that people may write, as one table a dimension.

The factors are exact fractions: they follow from the definitions of the inch, the pound, the
US gallon and standard gravity, so that nothing is rounded on the way to SI. Only those that
hold pi are as near as a float.

References
----------
.. [1] NIST Special Publication 811 (2008), Guide for the Use of the International System of
   Units, appendix B.
.. [2] ASTM B258, standard nominal diameters of solid round wires (American wire gauge).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

INCH_M = Fraction("0.0254")
FOOT_M = 12 * INCH_M
MILE_M = 5280 * FOOT_M
NAUTICAL_MILE_M = Fraction(1852)
POUND_KG = Fraction("0.45359237")
GRAVITY_M_S2 = Fraction("9.80665")
LITRE_M3 = Fraction("1e-3")
US_GALLON_M3 = 231 * INCH_M**3
IMPERIAL_GALLON_M3 = Fraction("4.54609") * LITRE_M3
PSI_PA = POUND_KG * GRAVITY_M_S2 / INCH_M**2
METRE_HEAD_PA = 1000 * GRAVITY_M_S2
"""Conventional column of water: 1000 kg/m3 at standard gravity (SP 811, table B.9)."""
HORSEPOWER_W = 550 * FOOT_M * POUND_KG * GRAVITY_M_S2
MINUTE_S, HOUR_S, DAY_S = Fraction(60), Fraction(3600), Fraction(86400)
ONE, KILO, MEGA, GIGA = Fraction(1), Fraction(10**3), Fraction(10**6), Fraction(10**9)
CENTI, MILLI, MICRO = Fraction("1e-2"), Fraction("1e-3"), Fraction("1e-6")
CELSIUS_PER_F = Fraction(5, 9)
PI = Fraction(math.pi)


@dataclass(frozen=True)
class Dimension:
    """One kind of quantity: its units as (factor to SI) and the two that it is shown in."""

    noun: str
    """With its article, as it reads in a sentence: "a length"."""
    units: Mapping[str, Fraction]
    metric: str
    us: str
    alias: Mapping[str, str] = field(default_factory=dict)
    """Other spellings of the same units; lengths share one list, with some units to spare."""
    offset: Mapping[str, Fraction] = field(default_factory=dict)
    """For scales whose zero is elsewhere: SI value = number * factor + offset."""
    fractions: bool = False
    """Shown in US units as a fraction of an inch where it is one: bores of pipe and hose."""

    def unit(self, spelling: str) -> str:
        """The unit that a spelling stands for, or nothing."""
        unit = self.alias.get(spelling, spelling)
        return unit if unit in self.units else ""

    @property
    def choices(self) -> str:
        """The units as a list for a sentence."""
        return ", ".join(self.units)


_LENGTH = {
    "m": ONE,
    "cm": CENTI,
    "mm": MILLI,
    "km": KILO,
    "ft": FOOT_M,
    "in": INCH_M,
    "yd": 3 * FOOT_M,
}
_LENGTH_ALIAS = {
    **dict.fromkeys(("metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("foot", "feet", "'"), "ft"),
    **dict.fromkeys(("inch", "inches", '"'), "in"),
    **dict.fromkeys(("yard", "yards"), "yd"),
}
_SMALL_LENGTH = {name: _LENGTH[name] for name in ("mm", "cm", "m", "in", "ft")}
_SPEED = {
    "m/s": ONE,
    "km/h": KILO / HOUR_S,
    "mph": MILE_M / HOUR_S,
    "ft/s": FOOT_M,
    "kn": NAUTICAL_MILE_M / HOUR_S,
}
_RATE = {
    "mm/h": MILLI / HOUR_S,
    "in/h": INCH_M / HOUR_S,
    "mm/d": MILLI / DAY_S,
    "cm/d": CENTI / DAY_S,
    "m/d": ONE / DAY_S,
    "in/d": INCH_M / DAY_S,
    "ft/d": FOOT_M / DAY_S,
}
_RATE_ALIAS = {f"{name}ay": name for name in _RATE if name.endswith("/d")}
_FLOW = {
    "L/min": LITRE_M3 / MINUTE_S,
    "L/s": LITRE_M3,
    "L/h": LITRE_M3 / HOUR_S,
    "m3/h": ONE / HOUR_S,
    "m3/s": ONE,
    "gal/min": US_GALLON_M3 / MINUTE_S,
    "gal/h": US_GALLON_M3 / HOUR_S,
    "imp gal/min": IMPERIAL_GALLON_M3 / MINUTE_S,
}
_FLOW_ALIAS = {
    **{name.lower(): name for name in ("L/min", "L/s", "L/h")},
    "lpm": "L/min",
    "gpm": "gal/min",
    "gph": "gal/h",
    "US gal/min": "gal/min",
}
_VOLUME = {
    "L": LITRE_M3,
    "mL": MILLI * LITRE_M3,
    "m3": ONE,
    "gal": US_GALLON_M3,
    "imp gal": IMPERIAL_GALLON_M3,
    "ft3": FOOT_M**3,
}
_VOLUME_ALIAS = {
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), "L"),
    **dict.fromkeys(("gallon", "gallons", "US gal"), "gal"),
    "ml": "mL",
}
_PRESSURE = {
    "bar": 100 * KILO,
    "kPa": KILO,
    "Pa": ONE,
    "MPa": MEGA,
    "mbar": Fraction(100),
    "psi": PSI_PA,
    "m head": METRE_HEAD_PA,
    "ft head": FOOT_M * METRE_HEAD_PA,
}
_SECTION = {"mm2": MICRO, "AWG": Fraction(0), "cmil": PI / 4 * (INCH_M * MILLI) ** 2}
"""The American wire gauge has no factor: see `awg_area_m2` in units."""
_TIME = {"s": ONE, "ms": MILLI, "min": MINUTE_S, "h": HOUR_S, "d": DAY_S}
_TIME_ALIAS = {
    **dict.fromkeys(("sec", "second", "seconds"), "s"),
    **dict.fromkeys(("minute", "minutes"), "min"),
    **dict.fromkeys(("hr", "hour", "hours"), "h"),
    **dict.fromkeys(("day", "days"), "d"),
}
_TEMPERATURE_ALIAS = {"degC": "C", "\N{DEGREE SIGN}C": "C", "degF": "F", "\N{DEGREE SIGN}F": "F"}
_OHM_ALIAS = {
    "ohms": "ohm",
    "\N{GREEK CAPITAL LETTER OMEGA}": "ohm",
    "\N{OHM SIGN}": "ohm",
    "m\N{GREEK CAPITAL LETTER OMEGA}": "mohm",
    "m\N{OHM SIGN}": "mohm",
}
_SQUARE = "\N{SUPERSCRIPT TWO}"

DIMENSIONS: Mapping[str, Dimension] = {
    "length": Dimension("a length", _LENGTH, "m", "ft", _LENGTH_ALIAS),
    "bore": Dimension("a bore", _SMALL_LENGTH, "mm", "in", _LENGTH_ALIAS, fractions=True),
    "roughness": Dimension(
        "a roughness", {n: _LENGTH[n] for n in ("mm", "cm", "in")}, "mm", "mm", _LENGTH_ALIAS
    ),
    "water depth": Dimension(
        "a depth of water", {n: _LENGTH[n] for n in ("mm", "cm", "in")}, "mm", "in", _LENGTH_ALIAS
    ),
    "area": Dimension(
        "an area",
        {"m2": ONE, "ft2": FOOT_M**2},
        "m2",
        "ft2",
        {f"m{_SQUARE}": "m2", f"ft{_SQUARE}": "ft2"},
    ),
    "wire section": Dimension(
        "a wire section", _SECTION, "mm2", "AWG", {f"mm{_SQUARE}": "mm2", "awg": "AWG"}
    ),
    "flow": Dimension("a flow", _FLOW, "L/min", "gal/min", _FLOW_ALIAS),
    "volume": Dimension("a volume", _VOLUME, "L", "gal", _VOLUME_ALIAS),
    "pressure": Dimension("a pressure", _PRESSURE, "bar", "psi", {"PSI": "psi"}),
    "stiffness": Dimension(
        "a stiffness", {"MPa": MEGA, "GPa": GIGA, "kPa": KILO, "psi": PSI_PA}, "MPa", "psi"
    ),
    "voltage": Dimension("a voltage", {"V": ONE, "mV": MILLI}, "V", "V"),
    "current": Dimension("a current", {"A": ONE, "mA": MILLI}, "A", "A"),
    "charge": Dimension(
        "a charge",
        {"Ah": HOUR_S, "mAh": MILLI * HOUR_S, "C": ONE},
        "Ah",
        "Ah",
        {"A h": "Ah", "mA h": "mAh"},
    ),
    "resistance": Dimension(
        "a resistance", {"mohm": MILLI, "ohm": ONE}, "mohm", "mohm", _OHM_ALIAS
    ),
    "power": Dimension(
        "a power", {"W": ONE, "mW": MILLI, "kW": KILO, "hp": HORSEPOWER_W}, "W", "W"
    ),
    "energy": Dimension(
        "an energy", {"Wh": HOUR_S, "kWh": KILO * HOUR_S, "J": ONE, "kJ": KILO}, "Wh", "Wh"
    ),
    "temperature": Dimension(
        "a temperature",
        {"C": ONE, "F": CELSIUS_PER_F, "K": ONE},
        "C",
        "F",
        _TEMPERATURE_ALIAS,
        {"F": -32 * CELSIUS_PER_F, "K": Fraction("-273.15")},
    ),
    "mass": Dimension(
        "a mass", {"kg": ONE, "g": MILLI, "lb": POUND_KG, "oz": POUND_KG / 16}, "kg", "lb"
    ),
    "time": Dimension("a time", _TIME, "min", "min", _TIME_ALIAS),
    "speed": Dimension("a speed", _SPEED, "m/s", "mph", {"kph": "km/h", "knots": "kn"}),
    "rate": Dimension("a rate of depth", _RATE, "mm/h", "in/h", _RATE_ALIAS),
    "daily fall": Dimension("a fall a day", _RATE, "cm/d", "in/d", _RATE_ALIAS),
    "angle": Dimension(
        "an angle", {"deg": ONE, "rad": 180 / PI}, "deg", "deg", {"\N{DEGREE SIGN}": "deg"}
    ),
    "shaft speed": Dimension(
        "a shaft speed",
        {"rpm": 2 * PI / MINUTE_S, "rad/s": ONE},
        "rpm",
        "rpm",
        {"1/min": "rpm", "rev/min": "rpm"},
    ),
    "share": Dimension("a share", {"%": CENTI}, "%", "%", {"percent": "%"}),
}
"""SI throughout, but for temperature (C) and angle (degrees), which the site keeps so."""
