"""What is compared: the readings of each run that was as it should be.

A run that a rule stopped or that was cut short says what went wrong, not what the site is like:
it draws on the battery in the model too, but is not held against it.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from rillkeeper.runlog.evidence import Minute, RunEvidence

RUNS_MAX = 40
"""The latest runs are enough, and an older site was another one."""
MINUTES_MIN = 3
CHARGED_JUMP_MAH = 1000
DAY_S = 86400.0


class Kind(Enum):
    """What was read."""

    REST_V = "battery at rest"
    LOADED_V = "battery while pumping"
    PRESSURE_PA = "pressure at the outlet"


SPREADS = {Kind.REST_V: 0.012, Kind.LOADED_V: 0.012, Kind.PRESSURE_PA: 0.006}
"""Deviation of a reading from a true model, in volts and as a share of the pressure. The noise of
the channels is far below: this is for what a model leaves out (common practice, no source)."""


@dataclass(frozen=True)
class Reading:
    """One number of the log."""

    run: int
    """Place among the runs that are lived through."""
    kind: Kind
    at_s: float
    """Since the relay closed; 0 is before."""
    value: float
    """In SI."""

    @property
    def spread(self) -> float:
        """Deviation that is usual."""
        share = self.kind is Kind.PRESSURE_PA
        return SPREADS[self.kind] * (abs(self.value) if share else 1.0)


@dataclass(frozen=True)
class Lived:
    """One run as the model goes through it."""

    evidence: RunEvidence
    rest_s: float
    """Since the pump stopped before."""
    on_s: float
    days: float
    """Since the first run's night."""
    charge: int
    """Counts the charges of the battery from 0."""
    new_charge: bool
    sound: bool
    """Whether it is held against the model."""


def runs_of(evidence: tuple[RunEvidence, ...]) -> list[Lived]:
    """The latest runs, with what the model needs to live through them."""
    chosen = evidence[-RUNS_MAX:]
    found: list[Lived] = []
    for place, run in enumerate(chosen):
        before = chosen[place - 1] if place else None
        jumped = before is not None and run.left_mah > before.left_mah + CHARGED_JUMP_MAH
        rest_s = run.pause_s if place and run.pause_s is not None else DAY_S / 2.0
        found.append(
            Lived(
                evidence=run,
                rest_s=max(0.0, rest_s),
                on_s=float(run.stop.on_s) if run.stop else 60.0 * len(run.minutes),
                days=float(run.night - chosen[0].night),
                charge=(found[-1].charge if found else 0) + jumped,
                new_charge=place == 0 or jumped,
                sound=_sound(run),
            )
        )
    return found


def readings_of(runs: list[Lived]) -> list[Reading]:
    """Every reading of the sound runs, in the order in which they were made."""
    found: list[Reading] = []
    for place, lived in enumerate(runs):
        if not lived.sound:
            continue
        run = lived.evidence
        if run.rest_mv is not None:
            found.append(Reading(place, Kind.REST_V, 0.0, run.rest_mv / 1000.0))
        if run.learned is not None:
            found.append(Reading(place, Kind.LOADED_V, LEARN_S, run.learned.loaded_mv / 1000.0))
        for minute in _looked_at(run):
            if minute.battery_mv is not None:
                volts = minute.battery_mv / 1000.0
                found.append(Reading(place, Kind.LOADED_V, minute.since_s, volts))
            if minute.pressure_pa is not None:
                pressure = float(minute.pressure_pa)
                found.append(Reading(place, Kind.PRESSURE_PA, minute.since_s, pressure))
    return found


LEARN_S = 7.0
"""From the closing of the relay: prime, and the board's wait before it learns the supply."""


def values(readings: list[Reading]) -> NDArray[np.float64]:
    """Their numbers."""
    return np.array([reading.value for reading in readings])


def spreads(readings: list[Reading]) -> NDArray[np.float64]:
    """Their deviations."""
    return np.array([reading.spread for reading in readings])


def _sound(run: RunEvidence) -> bool:
    return (
        not run.trips
        and run.stop is not None
        and len(run.minutes) >= MINUTES_MIN
        and not run.again
    )


def _looked_at(run: RunEvidence) -> list[Minute]:
    """The second minute, the middle one and the last: between them all goes straight."""
    places = sorted({1, len(run.minutes) // 2, len(run.minutes) - 1})
    return [run.minutes[place] for place in places]
