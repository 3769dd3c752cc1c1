"""All that was tried, in order: each run, and each time that the board would not even start."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.outcomes import IGNORED, outcome_of
from rillkeeper.runlog.evidence import Evidence, NightEvidence, RunEvidence

Ints = NDArray[np.int_]


@dataclass(frozen=True)
class Attempts:
    """One place for each attempt."""

    runs: tuple[RunEvidence | None, ...]
    """None where the board refused, or spoke while the pump stood."""
    outcomes: tuple[str | None, ...]
    night_places: Ints
    """Of its night in the log, from 0."""
    days: Ints
    """Day number of its night."""
    batteries: Ints


def attempts_of(evidence: Evidence) -> Attempts:
    """Everything that a log tells was tried."""
    rows: list[tuple[RunEvidence | None, str | None, int, int, int]] = []
    battery = 1
    for place, night in enumerate(evidence.nights):
        for run in night.runs:
            battery = run.battery
            rows.append((run, outcome_of(run), place, night.night, battery))
        refused = refusal_of(night)
        if refused is not None:
            rows.append((None, refused, place, night.night, battery))
    return Attempts(
        runs=tuple(row[0] for row in rows),
        outcomes=tuple(row[1] for row in rows),
        night_places=np.array([row[2] for row in rows], dtype=int),
        days=np.array([row[3] for row in rows], dtype=int),
        batteries=np.array([row[4] for row in rows], dtype=int),
    )


def refusal_of(night: NightEvidence) -> str | None:
    """The rule by which a check refused, or a resting board spoke."""
    return next((trip.rule for trip in night.trips if trip.rule not in IGNORED), None)


def refusals_of(evidence: Evidence) -> list[str]:
    """The same of all nights."""
    found = map(refusal_of, evidence.nights)
    return [rule for rule in found if rule is not None]
