"""What a season wears: battery and pump grow older week by week.

Within a week nothing changes: a fault that grew at every tick would have every tick replayed.
"""

from dataclasses import dataclass

from rillsim.site import FaultSpec

WEEK = 7
DAY_S = 86400.0
HALF_DAY_S = DAY_S / 2.0


@dataclass(frozen=True)
class Wear:
    """How far a whole season takes each, as severities of the catalogue's faults."""

    battery: float = 0.0
    """Of "battery_tired"."""
    pump: float = 0.0
    """Of "pump_worn"."""


def wear_faults(wear: Wear, nights: int) -> tuple[FaultSpec, ...]:
    """Both by the week, from nothing in the first to all in the last.

    >>> [round(each.severity, 2) for each in wear_faults(Wear(battery=0.5), 21)]
    [0.25, 0.5]
    """
    weeks = range(1, -(-nights // WEEK))
    last = max(len(weeks), 1)
    return tuple(
        FaultSpec(name, WEEK * week + 1, -HALF_DAY_S, amount * week / last, WEEK * DAY_S)
        for name, amount in (("battery_tired", wear.battery), ("pump_worn", wear.pump))
        if amount > 0.0
        for week in weeks
    )
