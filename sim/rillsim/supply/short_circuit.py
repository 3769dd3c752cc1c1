"""What flows when a cable is bridged: the least that must blow the fuse, the most that it breaks.

The least flows at the cable's far end, with an old, used, cold battery and a conductor that is
already hot; a fuse that it does not blow lets the whole cable glow. The most flows right behind
the fuse, with a new, full, warm battery and clean clamps; a fuse that does not break it arcs on.
The bridge itself is taken for nothing, and so is the inductance of the loop.

References
----------
.. [1] ISO 8820-3, blade fuse-links: open within 5 s at twice their rating, break 1000 A at 32 V
   (from memory).
"""

from dataclasses import replace

from rillsim.site import BatterySpec, CableSpec
from rillsim.supply.battery import Battery
from rillsim.supply.cable import NOMINAL_AREAS_M2, circuit

OPENS_WITHIN_5_S = 2.0
"""Current over rating at which a blade fuse opens within five seconds for certain [1]_."""
BLADE_BREAKS_A = 1000.0
"""Breaking capacity of a blade fuse at 32 V direct current [1]_."""

USED_SHARE = {"flooded": 0.5, "agm": 0.5, "lfp": 0.2}
"""Charge that is left in a used battery: common practice, no source."""
COLD_C = 0.0
WARM_C = 35.0
HOT_COPPER_C = 70.0
"""Ordinary PVC is good for this much."""
CLEAN_CLAMP_OHM = 0.001
"""Both clamps, bright and tight: common practice, no source."""


def least_at_the_far_end_a(cable: CableSpec, battery: BatterySpec) -> float:
    """Least current of a short circuit at the pump's end of the cable, [A].

    Examples
    --------
    >>> cord = CableSpec(length_m=30.48, area_m2=1.31e-6, fuse_a=20.0)
    >>> round(least_at_the_far_end_a(cord, BatterySpec()))
    12
    """
    aged = battery.at_age(1.0)
    old = replace(aged, temperature_c=min(battery.temperature_c, COLD_C))
    source = Battery(old, USED_SHARE[battery.chemistry])
    wires = circuit(replace(cable, temperature_c=max(cable.temperature_c, HOT_COPPER_C)))
    return source.emf_v / (source.resistance_ohm + wires.total_ohm)


def blowing_area_m2(cable: CableSpec, battery: BatterySpec) -> float | None:
    """Smallest nominal area of IEC 60228 whose short circuit blows the cable's fuse, [m2].

    None where none does: the battery itself gives too little, or the cable is too long.

    Examples
    --------
    >>> cord = CableSpec(length_m=30.48, area_m2=1.31e-6, fuse_a=20.0)
    >>> round(1e6 * blowing_area_m2(cord, BatterySpec()))
    6
    """
    needed_a = OPENS_WITHIN_5_S * cable.fuse_a
    for area_m2 in NOMINAL_AREAS_M2:
        thicker = replace(cable, area_m2=area_m2)
        if area_m2 > cable.area_m2 and least_at_the_far_end_a(thicker, battery) >= needed_a:
            return area_m2
    return None


def most_behind_the_fuse_a(cable: CableSpec, battery: BatterySpec) -> float:
    """Greatest current that the fuse at the post may have to break, [A].

    Examples
    --------
    >>> round(most_behind_the_fuse_a(CableSpec(), BatterySpec()))
    1177
    """
    new = replace(battery.at_age(0.0), temperature_c=max(battery.temperature_c, WARM_C))
    source = Battery(new, 1.0)
    clamp_ohm = min(cable.clamp_ohm, CLEAN_CLAMP_OHM)
    return source.emf_v / (source.resistance_ohm + clamp_ohm + circuit(cable).fuse_ohm)
