"""All that was tried, in order, and how it ended: the board's own judgement is evidence too.

An attempt is a run, or a time that the board would not even start.
"""

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.runlog.nights import Night, NightLog
from rillkeeper.runlog.runs import Run

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

FINE = "fine"
CUT = "power lost"
"""The records end before the run did: a blown fuse, a battery off its clamps."""
EARLY = "power lost at the start"
"""The same before the pump had made pressure: what it drew was too much."""
METER = "bad meter"
IGNORED = frozenset(
    (
        "low charge",
        "charge reserve",
        "over-run",
        "too many starts",
        "runs broken off",
        "duty",
        "late tick",
        "no clock",
        "frost",
        "bad frost",
        METER,
    )
)
"""Rules that speak of the battery's charge, the clock, the weather or the plan: a sound site
meets them too, and what they tell of a weak battery is in the voltages already."""

KIN = (
    frozenset(("no prime", "dry run", "dry too long", "line open")),
    frozenset(("dead head", "high pressure")),
    frozenset(("bad supply", "brown-out", "stall by sag", "stall", CUT, EARLY)),
    frozenset(("relay open", "no sag", "relay chatter", "relay closed", "relay stuck")),
)
"""Rules that take each other's place when the same trouble begins earlier or later in a run."""
NO_FLOW = "no flow"
NO_WATER = KIN[0] | KIN[1]
"""A dry pump as well as a shut line, of which a flow meter may speak in the place of the pressure;
without a pressure sensor it alone does."""
OWN_SHARE = 0.7
"""Of the chance of a trip: the rule that the trial showed; its kin share the rest."""
BY_PRESSURE = frozenset(("high pressure", "dead head", "line open"))
HAIR = 0.12
"""A stop for a pressure that is no further from its limit than this share tells hardly more than
the pressure does, which is a sign itself (common practice, no source)."""
HEALTHY_HAIR, FAULTY_HAIR = 0.04, 0.3
"""Chance of such a stop on a sound site, and in a trouble that showed none on the site's model."""
AGAIN = 0.9
"""And when it has been so before."""
LEAK = 0.02
"""Chance that a run passes which by its signature should not: a severity between two that were
tried (common practice, no source)."""
HEALTHY_LEAK = 2e-5
"""Chance of a trip in a run of a sound site: in the replays of some hundred sound sites there was
none (``tests/scenarios/test_no_false_trip.py``)."""
CUT_LEAK = 1e-4
EARLY_LEAK = 1e-6
"""The same of a loss of power while the pump runs, or of a log read just then; it seldom falls in
the first seconds (common practice, no source)."""
_RULES = 15.0
"""A leak goes to any of so many rules alike."""


def outcome_of(run: Run, meter_stood: bool = False) -> str | None:
    """What ended the run: a rule, "power lost", else "fine"; None where it tells nothing, as where
    the log was read while the pump ran.

    ``meter_stood``: in this night the board itself has found that it was the meter.
    """
    for trip in run.trips:
        if trip.rule not in IGNORED:
            return METER if meter_stood and trip.rule == NO_FLOW else trip.rule
    if run.trips:
        return None
    if run.stop:
        return FINE
    if run.running:
        return None
    return CUT if run.minutes or run.learned or run.prime_ms else EARLY


def chance(shown: str, seen: str, again: bool = False, hair: bool = False) -> float:
    """Chance of an outcome where the trial of the same trouble showed one.

    ``again``: it has been seen before. A site on which a trouble ends in another rule of the kin
    than on its model, or in none, ends so every time. ``hair``: the rule only just spoke.

    >>> chance("no prime", "line open") > chance("no prime", "fine") > chance("fine", "line open")
    True
    >>> chance("dead head", "no flow") == chance("no flow", "dry run") > chance("stall", "no flow")
    True
    """
    if shown == FINE:
        return (AGAIN if again else FAULTY_HAIR) if hair else healthy_chance(seen)
    if seen == FINE:
        return AGAIN if again and shown in BY_PRESSURE else LEAK
    if (shown == NO_FLOW and seen in NO_WATER) or (seen == NO_FLOW and shown in NO_WATER):
        return 1.0 - LEAK if again else (1.0 - OWN_SHARE) * (1.0 - LEAK)
    kin = next((family for family in KIN if shown in family), frozenset())
    if again and seen in kin:
        return 1.0 - LEAK
    if seen == shown:
        return (1.0 - LEAK) * (OWN_SHARE if kin else 1.0)
    if seen in kin:
        return (1.0 - OWN_SHARE) * (1.0 - LEAK) / (len(kin) - 1)
    return healthy_chance(seen)


def healthy_chance(seen: str, again: bool = False, hair: bool = False) -> float:
    """Chance of an outcome on a sound site."""
    if hair:
        return AGAIN if again else HEALTHY_HAIR
    if seen in (CUT, EARLY):
        return CUT_LEAK if seen == CUT else EARLY_LEAK
    return 1.0 - HEALTHY_LEAK if seen == FINE else HEALTHY_LEAK / _RULES


def by_a_hair(run: Run | None, outcome: str | None) -> bool:
    """Whether the rule only just spoke, and the pressure of the run is a sign itself: a line that
    is shut at once trips before any is."""
    if run is None or outcome not in BY_PRESSURE or not (run.learned or run.minutes):
        return False
    spoke = next(trip for trip in run.trips if trip.rule == outcome)
    return abs(spoke.value - spoke.limit) < HAIR * abs(spoke.limit)


@dataclass(frozen=True)
class Attempts:
    """One place for each attempt."""

    runs: tuple[Run | None, ...]
    """None where the board refused, or spoke while the pump stood."""
    outcomes: tuple[str | None, ...]
    night_places: Ints
    """Of its night in the log, from 0."""
    days: Ints
    """Day number of its night."""
    batteries: Ints
    again: tuple[bool, ...]
    """Whether the outcome was there before."""
    hair: tuple[bool, ...]
    """Whether the rule only just spoke."""

    def healthy_log_chances(self) -> Floats:
        """Logarithm of the chance of each outcome on a sound site."""
        each = zip(self.outcomes, self.again, self.hair, strict=True)
        return np.array(
            [
                0.0 if seen is None else log(healthy_chance(seen, again, hair))
                for seen, again, hair in each
            ]
        )


def attempts_of(evidence: NightLog) -> Attempts:
    """Everything that a log tells was tried."""
    rows: list[tuple[Run | None, str | None, int, int, int]] = []
    battery = 1
    for place, night in enumerate(evidence.nights):
        for run in night.runs:
            battery = run.battery
            outcome = outcome_of(run, night.meter_stood)
            rows.append((run, outcome, place, night.day, battery))
        refused = refusal_of(night)
        if refused is not None:
            rows.append((None, refused, place, night.day, battery))
    outcomes = tuple(row[1] for row in rows)
    return Attempts(
        runs=tuple(row[0] for row in rows),
        outcomes=outcomes,
        night_places=np.array([row[2] for row in rows], dtype=int),
        days=np.array([row[3] for row in rows], dtype=int),
        batteries=np.array([row[4] for row in rows], dtype=int),
        again=tuple(outcome in outcomes[:place] for place, outcome in enumerate(outcomes)),
        hair=tuple(by_a_hair(row[0], row[1]) for row in rows),
    )


def refusal_of(night: Night) -> str | None:
    """The rule by which a check refused, or a resting board spoke."""
    return next((trip.rule for trip in night.trips if trip.rule not in IGNORED), None)


def refusals_of(evidence: NightLog) -> list[str]:
    """The same of all nights."""
    found = map(refusal_of, evidence.nights)
    return [rule for rule in found if rule is not None]
