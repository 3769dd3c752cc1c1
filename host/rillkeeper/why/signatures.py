"""What each trouble does to the signs of one site, worked out by trials in the plant.

A signature is the difference to the same trial in health, with the same noise, so that only
the trouble is left in it. Signs that a trial did not give (the run was cut short) keep the value
of the next milder one that gave them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.evidence import Evidence
from rillkeeper.why.attempts import refusals_of
from rillkeeper.why.causes import BATTERY, CAUSES, Manner, manners_on
from rillkeeper.why.features import COUNT, Reader
from rillkeeper.why.outcomes import FINE, outcome_of
from rillkeeper.why.tolerances import TOLERANCES, Tolerance
from rillkeeper.why.trial import trial
from rillsim.boards.sensors import Sensors
from rillsim.site import Site

Floats = NDArray[np.float64]

RESTED, SOAKED = range(2)
CHARGES = (1.0, 0.75, 0.5)
"""The sound site is tried at these shares of its charge."""
NOISE_SEEDS = (2, 3, 4, 5)
SOURCE = "source_falling"
_TRIAL_CHARGE = 0.9


@dataclass(frozen=True)
class Signature:
    """One manner of one cause on one site."""

    severities: Floats
    """Rising, from nothing."""
    effects: Floats
    """Severity by state (rested, soaked) by sign."""
    outcomes: tuple[tuple[str, str], ...]
    """How the two runs end, by severity."""


@dataclass(frozen=True)
class Signatures:
    """All that is known of one site before its log is read."""

    healthy: Floats
    """Charge by state by sign."""
    noise: Floats
    """Deviation of each sign from run to run, as the trials of the sound site show it."""
    tolerances: Floats
    """Tolerance by state by sign: what one standard deviation of each input does."""
    manners: dict[str, Signature]
    """By the key of the manner."""

    def healthy_at(self, charge: Floats, state: NDArray[np.int_]) -> Floats:
        """Signs of the sound site, run by sign."""
        rising = np.array(CHARGES[::-1])
        table = self.healthy[::-1]
        place = np.interp(charge, rising, np.arange(len(rising)))
        low = np.minimum(place.astype(int), len(rising) - 2)
        share = (place - low)[:, None]
        found: Floats = (1.0 - share) * table[low, state] + share * table[low + 1, state]
        return found

    def sinking(self, fallen: Floats, state: NDArray[np.int_]) -> Floats:
        """What a source that has fallen so far does, run by sign; in parts of its cover."""
        source = self.manners[SOURCE]
        rows = [
            [
                np.interp(part, source.severities, source.effects[:, at, sign])
                for sign in range(COUNT)
            ]
            for part, at in zip(fallen, state, strict=True)
        ]
        return np.array(rows).reshape(-1, COUNT)


def jobs_of(site: Site) -> list[tuple[Manner, float]]:
    """Every trouble that has to be tried in the plant: the batteries' need none."""
    return [
        (manner, severity)
        for cause in CAUSES
        if cause.kind != BATTERY
        for manner in manners_on(cause)
        for severity in manner.severities
    ]


def work_out(
    site: Site, settings: dict[str, int], progress: Callable[[float], None] | None = None
) -> Signatures:
    """Try everything out: some hundred short nights."""
    reader = Reader(site, settings)
    jobs = jobs_of(site)
    total = len(jobs) + len(CHARGES) + len(NOISE_SEEDS) + len(TOLERANCES) + 1
    done = 0

    def tried(
        place: Site = site,
        shift: Callable[[Sensors], None] | None = None,
        fault: tuple[str, float] = ("", 0.0),
        charge: float = _TRIAL_CHARGE,
        seed: int = 1,
    ) -> tuple[Floats, tuple[str, str]]:
        nonlocal done
        name, severity = fault
        found = trial(
            place, settings, fault=name, severity=severity, charge=charge, seed=seed, shift=shift
        )
        done += 1
        if progress is not None:
            progress(done / total)
        return _states(reader, found, charge), _outcomes(found)

    healthy = np.array([tried(charge=charge)[0] for charge in CHARGES])
    base = tried()[0]
    others = np.array([tried(seed=seed)[0] for seed in NOISE_SEEDS])
    spread = np.nanstd(np.concatenate([others, base[None]]), axis=0, ddof=1)
    tolerances = np.array([tried(*_moved(site, row))[0] - base for row in TOLERANCES])
    manners: dict[str, Signature] = {}
    for manner in dict.fromkeys(manner for manner, _ in jobs):
        rows = [
            tried(fault=(manner.fault, manner.severity_on(site, severity)))
            for severity in manner.severities
        ]
        manners[manner.key] = _signature(manner.severities, rows, base)
    return Signatures(_without_gaps(healthy), _noise(spread), np.nan_to_num(tolerances), manners)


def _moved(site: Site, row: Tolerance) -> tuple[Site, Callable[[Sensors], None] | None]:
    return (row.site(site) if row.site else site), row.sensors


def _states(reader: Reader, found: Evidence, charge: float) -> Floats:
    """The signs of the first run and of the one after the soak."""
    signs = reader.signs(found, charge)
    states = np.full((2, COUNT), np.nan)
    for state in (RESTED, SOAKED):
        places = np.flatnonzero(signs.rested == (state == RESTED))
        if len(places):
            states[state] = signs.values[places[0]]
    return states


def _outcomes(found: Evidence) -> tuple[str, str]:
    """How the two runs ended; a check that refused counts for the run that never was."""
    refused = next(iter(refusals_of(found)), "")
    first = next((run for run in found.runs if run.rested), None)
    second = next((run for run in found.runs if not run.rested), None)
    ends = [(outcome_of(run) or FINE) if run else refused or FINE for run in (first, second)]
    if second is None and first is not None and ends[0] != FINE:
        ends[1] = ends[0]
    return ends[0], ends[1]


def _signature(
    severities: Sequence[float], rows: list[tuple[Floats, tuple[str, str]]], base: Floats
) -> Signature:
    effects = np.zeros((len(rows) + 1, 2, COUNT))
    for place, (states, _) in enumerate(rows, start=1):
        effect = states - base
        # A run after the soak that never was is taken to be like the first.
        effect[SOAKED] = np.where(np.isnan(effect[SOAKED]), effect[RESTED], effect[SOAKED])
        effects[place] = np.where(np.isnan(effect), effects[place - 1], effect)
    return Signature(
        np.array([0.0, *severities]),
        effects,
        ((FINE, FINE), *(outcomes for _, outcomes in rows)),
    )


def _without_gaps(healthy: Floats) -> Floats:
    """A sign that a state never gave is taken from the other one, or is nothing."""
    filled = np.where(np.isnan(healthy), healthy[:, ::-1], healthy)
    return np.nan_to_num(filled)


def _noise(spread: Floats) -> Floats:
    return np.asarray(np.max(np.nan_to_num(spread), axis=0))
