"""Calibration from what the board reads and what a meter shows, at one point or at two.

Two points give gain and zero, one gives the zero alone: right there, and off by what the gain is
wrong elsewhere. A correction that is larger than the parts can be wrong is refused: then a wire,
a resistor or the meter's range is wrong, and a trim would only hide it.
"""

from collections.abc import Mapping, Sequence

from rillkeeper.errors import RillkeeperError

BATTERY_GAIN_MAX = 0.04
"""Two resistors of 1 % that err in opposite ways are 1.64 %, and the 3.3 V of a board 2 %
(common practice, no source)."""
BATTERY_OFFSET_MAX_MV = 150
"""The converter's own offset, and a few counts of leak (common practice, no source)."""
PRESSURE_SPAN_MAX = 0.05
"""Transducer 1 %, two resistors of 1 %, its 5 V supply 2 % (common practice, no source)."""
BATTERY_APART_MV = 500
"""Points that are nearer do not tell the gain: a meter's last digit is 10 mV."""
PRESSURE_APART_PA = 40_000
"""Four metres of water; less would not tell the span from the converter's steps."""
WATER_KG_M3 = 998.2
"""Density at 20 C (CRC Handbook, table of the density of water)."""
GRAVITY_M_S2 = 9.80665
"""Standard gravity (ISO 80000-3)."""

Point = tuple[float, float]
"""What the board read, and what was true."""


class Implausible(RillkeeperError):
    """A correction that the parts' tolerances do not explain."""


def head_pa(height_m: float) -> float:
    r"""Pressure of standing water.

    .. math:: p = \rho g h

    >>> round(head_pa(10.0))
    97890
    """
    return WATER_KG_M3 * GRAVITY_M_S2 * height_m


def battery_trims(points: Sequence[Point], settings: Mapping[str, int]) -> dict[str, int]:
    """The trims that let the board read what the meter showed, in mV.

    >>> now = {"battery_full_mv": 18300, "battery_full_trim_mv": 0, "battery_offset_mv": 0}
    >>> battery_trims([(12500.0, 12600.0)], now)
    {'battery_offset_mv': 100}
    >>> battery_trims([(11000.0, 11110.0), (12500.0, 12625.0)], now)
    {'battery_full_trim_mv': 183, 'battery_offset_mv': 0}
    """
    full = settings["battery_full_mv"] + settings["battery_full_trim_mv"]
    offset = settings["battery_offset_mv"]
    (read, true), *more = points
    if not more:
        new = round(offset + true - read)
        most = BATTERY_OFFSET_MAX_MV + BATTERY_GAIN_MAX * true
        _check("battery", abs(new), most, "mV off; look at the divider and at the meter's range")
        return {"battery_offset_mv": new}
    read_2, true_2 = more[0]
    _check_apart(abs(true_2 - true), BATTERY_APART_MV, "half a volt")
    gain = (true_2 - true) / (read_2 - read) if read_2 != read else 0.0
    trim = round(full * gain) - settings["battery_full_mv"]
    new = round(true - (read - offset) * gain)
    most = BATTERY_GAIN_MAX * settings["battery_full_mv"]
    _check("battery scale", abs(trim), most, "mV off at full scale; look at the divider")
    _check("battery zero", abs(new), BATTERY_OFFSET_MAX_MV, "mV off; look at the ground wire")
    return {"battery_full_trim_mv": trim, "battery_offset_mv": new}


def pressure_trims(points: Sequence[Point], settings: Mapping[str, int]) -> dict[str, int]:
    """The trims that let the board read what was true, in Pa.

    >>> now = {"pressure_zero_count": 410, "pressure_zero_trim_count": 0,
    ...        "pressure_span_count": 3277, "pressure_span_trim_count": 0,
    ...        "pressure_span_kpa": 1000}
    >>> pressure_trims([(3052.0, 0.0)], now)
    {'pressure_zero_trim_count': 10}
    >>> pressure_trims([(0.0, 0.0), (100_000.0, 98_000.0)], now)
    {'pressure_zero_trim_count': 0, 'pressure_span_trim_count': 67}
    """
    span = settings["pressure_span_count"] + settings["pressure_span_trim_count"]
    zero = settings["pressure_zero_count"] + settings["pressure_zero_trim_count"]
    full_pa = settings["pressure_span_kpa"] * 1000.0
    counts = [(zero + read * span / full_pa, true) for read, true in points]
    found = {}
    if len(counts) > 1:
        (low, low_pa), (high, high_pa) = counts[:2]
        _check_apart(abs(high_pa - low_pa), PRESSURE_APART_PA, "four metres of water")
        span = round((high - low) * full_pa / (high_pa - low_pa))
        trim = span - settings["pressure_span_count"]
        most = PRESSURE_SPAN_MAX * settings["pressure_span_count"]
        _check("pressure span", abs(trim), most, "counts off; look at its 5 V and the divider")
        found["pressure_span_trim_count"] = trim
    count, true = counts[0]
    trim = round(count - true * span / full_pa) - settings["pressure_zero_count"]
    _check("pressure zero", abs(trim), 60, "counts off; is the line really open?")
    return {"pressure_zero_trim_count": trim, **found}


def _check(what: str, correction: float, most: float, advice: str) -> None:
    if correction > most:
        raise Implausible(
            f"{what}: {correction:.0f} {advice}; no more than {most:.0f} can be the parts'"
        )


def _check_apart(apart: float, least: float, words: str) -> None:
    if apart < least:
        raise Implausible(f"the two points are too near each other; take them {words} apart")
