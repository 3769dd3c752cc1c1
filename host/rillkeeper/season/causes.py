"""Why a night was cut short or missed, as the plant has it, and not as the board read it.

A board that draws air says that its pump ran dry; the plant knows that the pond has sunk below the
strainer. Each night has one cause, the first of these that held at its set: source, fault by
chance, battery; else what the board said. A board that is still locked is so for the night before.
"""

from dataclasses import dataclass

import numpy as np

from rillsim.replay import Week
from rillsim.site import FaultSpec

DAY_S = 86400.0
NOON_S = DAY_S / 2.0
AFTER_S = 4 * 3600.0
"""So long after its start a set may still be at work, or wait for its second half."""
HALF = 0.5
"""A battery that lacks less than this of what the board counts on is no reason to hold back."""

SOURCE = "source below the strainer"
EMPTY = "battery not charged in time"
AWAY = "battery away at the set's time"
DOUBTED = "battery taken for emptier than it was"
BY_CHANCE = "by chance: "
LOCKED = "missed"
"""What the board says of a set at whose time it stood locked, flat or without power."""
SHORTENED = "shortened for the battery"
OF_BATTERY = frozenset(("low charge", "charge reserve", "brown-out", "battery", SHORTENED))


@dataclass(frozen=True)
class SetTime:
    """What the plant was like while a night's sets were due."""

    source_gone: bool
    away: bool
    """The battery was not there when the first of them began."""
    lacks: float
    """What was most missing from it, as a share of the charge that the board counts on."""


def set_time(week: Week, night: int) -> SetTime:
    """Of one night, counted from 0, by the replay's samples."""
    start_s, end_s = _span_s(week, night)
    trace = week.trace
    first = max(int(np.searchsorted(trace.t_s, start_s, side="right")) - 1, 0)
    last = max(int(np.searchsorted(trace.t_s, end_s)), first + 1)
    lacks_ah = float(trace.charge_ah.max() - trace.charge_ah[first:last].min())
    return SetTime(
        source_gone=bool(trace.source_gone[first:last].any()),
        away=bool(trace.battery_v[min(first + 1, last - 1)] <= 0.0),
        lacks=1000.0 * lacks_ah / week.settings["capacity_mah"],
    )


def _span_s(week: Week, night: int) -> tuple[float, float]:
    """From the first set's start to the end of the last one's time."""
    sets = week.site.sets
    starts_s = [night * DAY_S + (one.start_s - NOON_S) % DAY_S for one in sets]
    ends_s = [start_s + one.window_s for start_s, one in zip(starts_s, sets, strict=True)]
    return min(starts_s), min(max(ends_s) + AFTER_S, (night + 1) * DAY_S)


def cause_of(
    week: Week, place: int, said: list[str], chance: tuple[FaultSpec, ...], before: str
) -> str:
    """The cause of a night that was not given whole.

    Parameters
    ----------
    week : Week
        The season
    place : int
        Which night, from 0
    said : list of str
        What the board said, by the names of its rules and causes
    chance : tuple of FaultSpec
        Faults that came by chance and were felt
    before : str
        The cause of the night before; empty where that was whole
    """
    now = set_time(week, place)
    there = [fault.name for fault in chance if _holds(week, place, fault)]
    if now.source_gone and not any(name.startswith("source_") for name in there):
        return SOURCE
    if there:
        return BY_CHANCE + there[0]
    if now.away:
        return AWAY
    if OF_BATTERY.intersection(said):
        return EMPTY if now.lacks >= HALF else DOUBTED
    if before and set(said) <= {LOCKED}:
        return before
    return said[0]


def _holds(week: Week, place: int, fault: FaultSpec) -> bool:
    """Whether a fault was there at a night's sets."""
    first_s, last_s = _span_s(week, place)
    begins_s = (fault.night - 1) * DAY_S + _span_s(week, 0)[0] + fault.offset_s
    over_s = begins_s + fault.duration_s if fault.duration_s else np.inf
    return bool(begins_s < last_s and over_s > first_s)


def causes_of(week: Week, said: list[list[str]], chance: tuple[FaultSpec, ...]) -> list[str]:
    """The cause of each night, empty where it was whole; ``said`` is empty there too."""
    felt = {one.spec for one in week.faults if one.felt}
    real = tuple(fault for fault in chance if fault in felt)
    found: list[str] = []
    for place, words in enumerate(said):
        before = found[-1] if found else ""
        found.append(cause_of(week, place, words, real, before) if words else "")
    return found
