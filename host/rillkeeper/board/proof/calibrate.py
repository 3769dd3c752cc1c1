"""Calibration from what the board reads and what a meter or a gauge shows.

Battery: with the pump off and with it on the voltages lie some tenths of a volt apart, and a line
through both would turn the last digit of the meter into per cents of the scale. Scale and zero are
those that the readings make likeliest, of parts that are as wrong as such parts are. Pressure: two
points give span and zero, one gives the zero alone. A correction that is larger than the parts can
be wrong is refused: then a wire, a resistor or the meter's range is wrong, and a trim would only
hide it.
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
READING_MV = 10
"""A meter's last digit, and what the battery moves by between two looks (own estimate)."""
BATTERY_LEFT_MV = 20
"""What may be left at either point: twice that."""
PRESSURE_APART_PA = 35_000
"""A hose that one can hold up without a ladder; 115 of the converter's steps, and a step more or
less is one per cent of the span."""
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

    Least squares over the points, and over how wrong scale and zero may be: half of what is
    refused is taken for their standard deviation. Of one point most goes to the scale, since that
    is what resistors are wrong by.

    >>> now = {"battery_full_mv": 18300, "battery_full_trim_mv": 0, "battery_offset_mv": 0}
    >>> battery_trims([(12500.0, 12600.0)], now)
    {'battery_full_trim_mv': 134, 'battery_offset_mv': 8}
    >>> battery_trims([(11000.0, 11110.0), (12500.0, 12625.0)], now)
    {'battery_full_trim_mv': 171, 'battery_offset_mv': 8}
    """
    full = settings["battery_full_mv"] + settings["battery_full_trim_mv"]
    nominal = settings["battery_full_mv"]
    shares = [(read - settings["battery_offset_mv"]) / full for read, _ in points]
    lacks = [true - share * nominal for share, (_, true) in zip(shares, points, strict=True)]
    zero_most, scale_most = float(BATTERY_OFFSET_MAX_MV), BATTERY_GAIN_MAX * nominal
    # The normal equations of scale and zero, each with its prior.
    scale_2 = sum(share * share for share in shares) + (2.0 * READING_MV / scale_most) ** 2
    zero_2 = len(points) + (2.0 * READING_MV / zero_most) ** 2
    both, right = sum(shares), sum(lacks)
    slope = sum(share * lack for share, lack in zip(shares, lacks, strict=True))
    root = scale_2 * zero_2 - both * both
    trim = round((slope * zero_2 - right * both) / root)
    zero = round((right * scale_2 - slope * both) / root)
    left = max(abs(lack - trim * share - zero) for share, lack in zip(shares, lacks, strict=True))
    _check("battery scale", abs(trim), scale_most, "mV off at full scale; look at the divider")
    _check("battery zero", abs(zero), zero_most, "mV off; look at the ground wire")
    if left > BATTERY_LEFT_MV:
        raise Implausible(
            f"battery: no one correction fits both readings, {left:.0f} mV remain; measure "
            "again, with the meter where the board measures"
        )
    return {"battery_full_trim_mv": trim, "battery_offset_mv": zero}


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
        _check_apart(abs(high_pa - low_pa), PRESSURE_APART_PA, "three and a half metres of water")
        span = round((high - low) * full_pa / (high_pa - low_pa))
        trim = span - settings["pressure_span_count"]
        most = PRESSURE_SPAN_MAX * settings["pressure_span_count"]
        _check("pressure span", abs(trim), most, "counts off; look at its 5 V and the divider")
        found["pressure_span_trim_count"] = trim
    count, true = counts[0]
    trim = round(count - true * span / full_pa) - settings["pressure_zero_count"]
    _check("pressure zero", abs(trim), 60, "counts off; is the line really open?")
    return {"pressure_zero_trim_count": trim, **found}


def battery_retrimmed(
    read_mv: float, before: Mapping[str, int], after: Mapping[str, int]
) -> float:
    """What the board will read, in mV, with other trims."""
    full = [now["battery_full_mv"] + now["battery_full_trim_mv"] for now in (before, after)]
    share = (read_mv - before["battery_offset_mv"]) / full[0]
    return share * full[1] + after["battery_offset_mv"]


def pressure_retrimmed(
    read_pa: float, before: Mapping[str, int], after: Mapping[str, int]
) -> float:
    """What the board will read, in Pa, with other trims."""
    full_pa = before["pressure_span_kpa"] * 1000.0
    span, zero = (
        [
            now[f"pressure_{key}_count"] + now[f"pressure_{key}_trim_count"]
            for now in (before, after)
        ]
        for key in ("span", "zero")
    )
    count = zero[0] + read_pa * span[0] / full_pa
    return (count - zero[1]) * full_pa / span[1]


def _check(what: str, correction: float, most: float, advice: str) -> None:
    if correction > most:
        raise Implausible(
            f"{what}: {correction:.0f} {advice}; no more than {most:.0f} can be the parts'"
        )


def _check_apart(apart: float, least: float, words: str) -> None:
    if apart < least:
        raise Implausible(f"the two points are too near each other; take them {words} apart")
