"""How a trouble may come about over the nights: at once, growing, or for a while only.

An onset gives the severity at each half of each run, as a share of its worst. The chance of an
onset is that of its shape, times that of a beginning just there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import Attempts

Floats = NDArray[np.float64]

STEP, RAMP, PULSE = "at once", "growing", "for a while"

PER_NIGHT = 0.01
"""Chance that a trouble begins in a night: about one in a watering season (common practice, no
source)."""
BEFORE = 0.05
"""Chance that one was there from the first night on (common practice, no source)."""
BY_DAY = 0.7
"""Share of what begins before the first run of a night: most of the time the pump stands (common
practice, no source)."""
SHAPE_SHARES = {STEP: 0.5, RAMP: 0.35, PULSE: 0.15}
"""Common practice, no source."""
FROM_FIRST = 0.01
"""Of that for a trouble that is there at the beginning of the log and then goes: whoever begins to
keep one has just looked the site over (common practice, no source)."""
OF_WEAR = 0.05
"""Of the chance to go away again, for what is worn: somebody would have to put a new part in."""
GROWTHS = (2.0, 4.0, 8.0, 16.0)
"""Nights from nothing to the worst, each twice the one before: a rate between two of them is that
of another severity. What grows slowly is the likelier, in proportion: in two nights it is hardly
to be told from what came at once (common practice, no source)."""
BEGUN_DAYS = (0.25, 0.75)
"""Before the first run that feels it: what grows begins at some hour of the day before that."""
HOUR_DAYS = 0.5 / 12.0**0.5
"""Deviation of the hour around each of these: anywhere in half a day."""


@dataclass(frozen=True)
class Onset:
    """One way for a trouble to come and go."""

    shape: str
    night: int
    """In which it begins, counted from 0 in the log."""
    half: int
    """The half of a run, counted over all, from which it is felt."""
    profile: Floats
    """Share of its worst at each half of each run."""
    log_chance: float
    later: Floats | None = None
    """The same of one that begins a deviation of the hour later, where the hour is not known."""


def quiet_log_chance(nights: int) -> float:
    """Logarithm of the chance that nothing goes wrong in so many nights.

    >>> round(quiet_log_chance(7), 3)
    -0.122
    """
    return log(1.0 - BEFORE) + nights * log(1.0 - PER_NIGHT)


def onsets_of(attempts: Attempts) -> list[Onset]:
    """Every onset that these nights can tell apart."""
    halves = np.repeat(attempts.night_places, 2)
    days = np.repeat(attempts.days, 2)
    if not len(halves):
        return []
    found = [Onset(STEP, 0, 0, np.ones(len(halves)), log(BEFORE))]
    for night in np.unique(halves):
        inside = np.flatnonzero(halves == night)
        found += _steps_and_pulses(halves, inside, int(night))
        if night < halves[-1]:
            found += _ramps(days, int(inside[0]), int(night))
    return found


def _steps_and_pulses(
    halves: NDArray[np.int_], inside: NDArray[np.int_], night: int
) -> list[Onset]:
    """From each half of a night on: for ever, to the end of the run, of the night, of the next."""
    found = []
    places = np.arange(len(halves))
    for half in map(int, inside):
        here = BY_DAY if half == inside[0] else (1.0 - BY_DAY) / (len(inside) - 1)
        chance = log(PER_NIGHT * here)
        from_here = (places >= half).astype(float)
        if half:
            found.append(Onset(STEP, night, half, from_here, chance + log(SHAPE_SHARES[STEP])))
        ends = {half + 2 - half % 2}
        ends |= {int(np.searchsorted(halves, night + more, side="right")) for more in (0, 1)}
        ends -= {len(halves)}
        for end in sorted(ends):
            share = log(SHAPE_SHARES[PULSE] / len(ends) * (1.0 if half else FROM_FIRST))
            until = from_here * (places < end)
            found.append(Onset(PULSE, night, half, until, chance + share))
    return found


def _ramps(days: NDArray[np.int_], half: int, night: int) -> list[Onset]:
    """Growing evenly from some hour of the day before a night on."""
    since = days - days[half]
    share = PER_NIGHT * SHAPE_SHARES[RAMP] / (sum(GROWTHS) * len(BEGUN_DAYS))

    def grown(growth: float, begun: float) -> Floats:
        return np.asarray(np.clip((since + begun) / growth, 0.0, 1.0))

    return [
        Onset(
            *(RAMP, night, half, grown(growth, begun), log(share * growth)),
            later=grown(growth, begun - HOUR_DAYS),
        )
        for growth in GROWTHS
        for begun in BEGUN_DAYS
    ]


def of_wear(onsets: Sequence[Onset]) -> list[Onset]:
    """The same for a trouble that does not mend itself."""
    return [
        replace(onset, log_chance=onset.log_chance + log(OF_WEAR))
        if onset.shape == PULSE
        else onset
        for onset in onsets
    ]


def for_one_battery(onsets: Sequence[Onset], batteries: NDArray[np.int_]) -> Sequence[Onset]:
    """The same for a trouble of a battery: it may go away with the battery that has it."""
    on = np.repeat(batteries, 2)
    if len(np.unique(on)) < 2:
        return onsets
    found = []
    for onset in onsets:
        alone = onset.profile * (on == on[onset.half])
        chance = onset.log_chance + log(0.5)
        found.append(replace(onset, log_chance=chance))
        later = None if onset.later is None else onset.later * (on == on[onset.half])
        found.append(replace(onset, profile=alone, log_chance=chance, later=later))
    return found
