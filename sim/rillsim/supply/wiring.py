"""Choice of cable and fuse.

A wire is chosen by the voltage that it may lose and by the current that it can carry without
getting hot; a fuse protects the wire, not the pump. A wire that is too thin for its fuse can
start a fire: where a rule here finds no answer it says so instead of giving the nearest one.

References
----------
.. [1] ABYC E-11, AC and DC electrical systems on boats: conductor sizing by circular mils, and
   allowable amperage outside engine spaces by the insulation's temperature. The constant 10.75
   and the tables are from memory.
.. [2] NFPA 70, National Electrical Code, table 400.5(A)(1), flexible cords of two current-carrying
   conductors (from memory).
"""

from rillsim.supply.cable import (
    NOMINAL_AREAS_M2,
    awg_area_m2,
    awg_diameter_m,
    resistance_ohm_per_m,
    voltage_drop_v,
)

CM_CONSTANT = 10.75
"""Ohms per circular-mil foot of copper as ABYC E-11 takes it (from memory)."""
FOOT_M = 0.3048
MIL_M = 25.4e-6
FUSE_MARGIN = 1.25
"""Fuse over continuous current: NEC and ABYC practice, from memory."""
FUSE_RATINGS_A = (1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0)
"""Ratings of blade fuses that a shop has."""
GAUGES = (18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0)
"""American gauges of marine and car cable, rising in area."""
INSULATIONS = ("pvc", "105C", "cord")
"""Ordinary PVC of 70 C; marine and car cable for 105 C; the flexible cord of a household."""
# By gauge [A]. PVC goes by the table's column for 60 C, the next below its 70 C [1]_; cord by a
# table of its own [2]_.
AMPACITY_A = {
    "pvc": {18: 10.0, 16: 15.0, 14: 20.0, 12: 25.0, 10: 40.0, 8: 55.0, 6: 80.0},
    "105C": {18: 20.0, 16: 25.0, 14: 35.0, 12: 45.0, 10: 60.0, 8: 80.0, 6: 120.0},
    "cord": {18: 10.0, 16: 13.0, 14: 18.0, 12: 25.0, 10: 30.0, 8: 40.0, 6: 55.0},
}


def gauge_circular_mils(gauge: int) -> float:
    """Area of a gauge in circular mils: the square of its diameter in thousandths of an inch.

    Examples
    --------
    >>> round(gauge_circular_mils(10))
    10383
    """
    return (awg_diameter_m(gauge) / MIL_M) ** 2


def circular_mils(current_a: float, round_trip_m: float, drop_v: float) -> float:
    """Area that a wire needs by ABYC E-11, CM = 10.75 I L / E, L in feet both ways [1]_.

    Examples
    --------
    >>> round(circular_mils(10.0, 25.0 * 0.3048, 0.36))
    7465
    """
    if not drop_v > 0.0:
        raise ValueError(f"allowed voltage drop is {drop_v:g} V; it must be over 0 V")
    return CM_CONSTANT * current_a * (round_trip_m / FOOT_M) / drop_v


def smallest_gauge(
    current_a: float, round_trip_m: float, supply_v: float, drop_share: float
) -> int:
    """Smallest American gauge that keeps the drop, by the circular-mil rule [1]_.

    Examples
    --------
    >>> smallest_gauge(10.0, 25.0 * 0.3048, 12.0, 0.03)
    10
    """
    needed = circular_mils(current_a, round_trip_m, supply_v * drop_share)
    for gauge in GAUGES:
        if gauge_circular_mils(gauge) >= needed:
            return gauge
    raise ValueError(
        f"{current_a:g} A over {round_trip_m:g} m out and back needs {needed:.0f} circular mils,"
        f" more than {GAUGES[-1]} AWG; bring the battery nearer to the pump"
    )


def smallest_area_m2(
    current_a: float,
    length_m: float,
    drop_v: float,
    temperature_c: float = 20.0,
    strand_class: int = 5,
) -> float:
    """Smallest nominal area of IEC 60228 that keeps the drop, [m2].

    Examples
    --------
    >>> round(smallest_area_m2(8.0, 5.0, 0.6) * 1e6, 2)
    4.0
    """
    for area_m2 in NOMINAL_AREAS_M2:
        per_m = resistance_ohm_per_m(area_m2, temperature_c, strand_class)
        if voltage_drop_v(current_a, length_m, per_m) <= drop_v:
            return area_m2
    raise ValueError(
        f"{current_a:g} A over {length_m:g} m loses more than {drop_v:g} V even at"
        f" {NOMINAL_AREAS_M2[-1] * 1e6:g} mm2; bring the battery nearer to the pump"
    )


def ampacity_a(gauge: int, insulation: str = "pvc") -> float:
    """Current that a gauge carries with this insulation, alone in free air [1]_ [2]_, [A].

    Examples
    --------
    >>> ampacity_a(14), ampacity_a(14, "105C"), ampacity_a(14, "cord")
    (20.0, 35.0, 18.0)
    """
    carried = AMPACITY_A[insulation]
    if gauge not in carried:
        known = ", ".join(str(one) for one in carried)
        raise ValueError(f"no ampacity is known for {gauge} AWG; known are {known}")
    return carried[gauge]


def area_ampacity_a(area_m2: float, insulation: str = "pvc") -> float:
    """Ampacity of the next thinner known gauge, so on the safe side, [A].

    Examples
    --------
    >>> area_ampacity_a(2.5e-6)
    20.0
    """
    carried = 0.0
    for gauge, ampere in AMPACITY_A[insulation].items():
        if awg_area_m2(gauge) <= area_m2 * 1.0001:
            carried = ampere
    if carried == 0.0:
        raise ValueError(
            f"{area_m2 * 1e6:g} mm2 is thinner than 18 AWG (0.82 mm2), too thin for a pump"
        )
    return carried


def carrying_gauge(current_a: float, insulation: str = "pvc") -> int:
    """Smallest American gauge that carries a current. Raises ValueError where none does.

    Examples
    --------
    >>> carrying_gauge(25.0), carrying_gauge(25.0, "105C")
    (12, 16)
    """
    for gauge, ampere in AMPACITY_A[insulation].items():
        if ampere >= current_a:
            return gauge
    raise ValueError(f"no wire of the table carries {current_a:g} A")


def carrying_area_m2(current_a: float, insulation: str = "pvc") -> float:
    """Smallest nominal area of IEC 60228 that carries a current. Raises ValueError.

    Examples
    --------
    >>> carrying_area_m2(25.0) * 1e6
    4.0
    """
    for area_m2 in NOMINAL_AREAS_M2:
        if area_m2 >= awg_area_m2(18) and area_ampacity_a(area_m2, insulation) >= current_a:
            return area_m2
    raise ValueError(f"no wire of the table carries {current_a:g} A")


def largest_fuse_a(limit_a: float) -> float | None:
    """Largest blade fuse of at most so many ampere, [A]; None where there is none.

    Examples
    --------
    >>> largest_fuse_a(18.0)
    15.0
    """
    return max((rating_a for rating_a in FUSE_RATINGS_A if rating_a <= limit_a), default=None)


def fuse_rating_a(continuous_a: float, wire_ampacity_a: float) -> float:
    """Smallest blade fuse of at least 1.25 times the current; never above the ampacity, [A].

    Examples
    --------
    >>> fuse_rating_a(17.0, 35.0)
    25.0
    """
    if not continuous_a > 0.0:
        raise ValueError(f"current is {continuous_a:g} A; it must be over 0 A")
    wanted = FUSE_MARGIN * continuous_a
    for rating_a in FUSE_RATINGS_A:
        if rating_a >= wanted:
            if rating_a > wire_ampacity_a:
                raise ValueError(
                    f"a fuse of {rating_a:g} A, as {continuous_a:g} A needs, would not protect"
                    f" a wire of {wire_ampacity_a:g} A: take a thicker wire"
                )
            return rating_a
    raise ValueError(
        f"{continuous_a:g} A needs a fuse of {wanted:.0f} A, over the largest blade fuse of"
        f" {FUSE_RATINGS_A[-1]:g} A"
    )
