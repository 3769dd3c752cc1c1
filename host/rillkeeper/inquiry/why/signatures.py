"""What each trouble does to the signs of one site, worked out by trials in the plant.

A signature is the difference to the mean of some trials in health. Where the first run and the
one after the soak differ by no more than the noise their mean stands for both. A run that the
board cut for its pressure had that pressure all along; other signs that a trial did not give go
on straight from the two milder ones.
"""

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import BY_PRESSURE, FINE, outcome_of, refusals_of
from rillkeeper.inquiry.why.causes import BATTERY, CAUSES
from rillkeeper.inquiry.why.failure_modes import FailureMode
from rillkeeper.inquiry.why.signs import SIGN_COUNT, SIGN_PLACE, SignReader
from rillkeeper.inquiry.why.trials import TOLERANCES, SensorShift, Tolerance, trial
from rillkeeper.runlog.nights import NightLog
from rillsim.site import Site

Floats = NDArray[np.float64]

RESTED, SOAKED = range(2)
CHARGES = (1.0, 0.75, 0.5)
"""The sound site is tried at these shares of its charge."""
NOISE_SEEDS = (2, 3, 4, 5)
SOURCE = "source_falling"
_TRIAL_CHARGE = 0.9
_APART = 4.0
"""Deviations of noise from which two trials are taken to differ."""
_STEADY = [SIGN_PLACE[f"{when}_pressure"] for when in ("start", "early", "late")]
_STOP = SIGN_PLACE["stop_pressure"]
_CHUNK = 2
"""Trials that a process takes at once."""


@dataclass(frozen=True)
class Signature:
    """One mode of one cause on one site."""

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
    modes: dict[str, Signature]
    """By the key of the mode."""

    def healthy_at(self, charge: Floats, state: NDArray[np.int_]) -> Floats:
        """Signs of the sound site, run by sign."""
        rising = np.array(CHARGES[::-1])
        return _between(
            self.healthy[::-1], np.interp(charge, rising, np.arange(len(rising))), state
        )

    def sinking(self, fallen: Floats, state: NDArray[np.int_]) -> Floats:
        """What a source that has fallen so far does, run by sign; in parts of its cover."""
        source = self.modes[SOURCE]
        place = np.interp(fallen, source.severities, np.arange(len(source.severities)))
        return _between(source.effects, place, state)


def _between(table: Floats, place: Floats, state: NDArray[np.int_]) -> Floats:
    """Rows of a table (row by state by sign), straight from one to the next; run by sign."""
    low = np.minimum(place.astype(int), len(table) - 2)
    share = (place - low)[:, None]
    return np.asarray((1.0 - share) * table[low, state] + share * table[low + 1, state])


def jobs_of(site: Site) -> list[tuple[FailureMode, float]]:
    """Every trouble that has to be tried in the plant: the batteries' need none."""
    return [
        (mode, severity)
        for cause in CAUSES
        if cause.kind != BATTERY
        for mode in cause.modes
        for severity in mode.severities
    ]


@dataclass(frozen=True)
class _Trial:
    """One trial, as it is handed to another process; a tolerance by its place in the list."""

    fault: str = ""
    severity: float = 0.0
    charge: float = _TRIAL_CHARGE
    seed: int = 1
    tolerance: int = -1


_Tried = tuple[Floats, tuple[str, str]]


def work_out(
    site: Site,
    settings: dict[str, int],
    progress: Callable[[float], None] | None = None,
    workers: int = 1,
) -> Signatures:
    """Try everything out: some hundred short nights, by so many processes side by side."""
    jobs = jobs_of(site)
    trials = [
        *(_Trial(charge=charge) for charge in CHARGES),
        _Trial(),
        *(_Trial(seed=seed) for seed in NOISE_SEEDS),
        *(_Trial(tolerance=place) for place in range(len(TOLERANCES))),
        *(_Trial(mode.fault, mode.severity_on(site, severity)) for mode, severity in jobs),
    ]
    rows = iter(_all_tried(site, settings, trials, progress, workers))

    def states(count: int) -> Floats:
        return np.array([next(rows)[0] for _ in range(count)])

    healthy = states(len(CHARGES))
    sound = states(1 + len(NOISE_SEEDS))
    noise, base = _noise(sound), _mean(sound)
    tolerances = states(len(TOLERANCES)) - sound[0]
    modes: dict[str, Signature] = {}
    for mode in dict.fromkeys(mode for mode, _ in jobs):
        tried = [next(rows) for _ in mode.severities]
        modes[mode.key] = _signature(mode.severities, tried, base, noise)
    return Signatures(_without_gaps(healthy), noise, np.nan_to_num(tolerances), modes)


def _all_tried(
    site: Site,
    settings: dict[str, int],
    trials: Sequence[_Trial],
    progress: Callable[[float], None] | None,
    workers: int,
) -> list[_Tried]:
    """What each trial showed, in their order."""
    found: list[_Tried] = []
    with ExitStack() as stack:
        one = partial(_tried, site, settings)
        rows: Iterable[_Tried] = map(one, trials)
        if workers > 1:
            # A fork would take the threads of a progress bar with it.
            pool = ProcessPoolExecutor(workers, get_context("spawn"))
            rows = stack.enter_context(pool).map(one, trials, chunksize=_CHUNK)
        for row in rows:
            found.append(row)
            if progress is not None:
                progress(len(found) / len(trials))
    return found


def _tried(site: Site, settings: dict[str, int], asked: _Trial) -> _Tried:
    place, shift = site, None
    if asked.tolerance >= 0:
        place, shift = _moved(site, TOLERANCES[asked.tolerance])
    found = trial(
        place,
        settings,
        fault=asked.fault,
        severity=asked.severity,
        charge=asked.charge,
        seed=asked.seed,
        shift=shift,
    )
    return _states(SignReader(site, settings), found, asked.charge), _outcomes(found)


def _moved(site: Site, row: Tolerance) -> tuple[Site, SensorShift | None]:
    return (row.site(site) if row.site else site), row.sensors


def _states(reader: SignReader, found: NightLog, charge: float) -> Floats:
    """The signs of the first run and of the one after the soak."""
    signs = reader.signs(found, charge)
    states = np.full((2, SIGN_COUNT), np.nan)
    for state in (RESTED, SOAKED):
        places = np.flatnonzero(signs.rested == (state == RESTED))
        if len(places):
            states[state] = signs.values[places[0]]
    return states


def _outcomes(found: NightLog) -> tuple[str, str]:
    """How the two runs ended; a check that refused counts for the run that never was."""
    refused = next(iter(refusals_of(found)), "")
    first = next((run for run in found.runs if run.rested), None)
    second = next((run for run in found.runs if not run.rested), None)
    ends = [(outcome_of(run) or FINE) if run else refused or FINE for run in (first, second)]
    if second is None and first is not None and ends[0] != FINE:
        ends[1] = ends[0]
    return ends[0], ends[1]


def _signature(
    severities: Sequence[float],
    rows: list[tuple[Floats, tuple[str, str]]],
    base: Floats,
    noise: Floats,
) -> Signature:
    rising = np.array([0.0, *severities])
    effects = np.zeros((len(rows) + 1, 2, SIGN_COUNT))
    for place, (states, ends) in enumerate(rows, start=1):
        effect = _steady(_joined(states - base, noise), ends)
        effects[place] = np.where(np.isnan(effect), _further(rising, effects, place), effect)
    return Signature(rising, effects, ((FINE, FINE), *(outcomes for _, outcomes in rows)))


def _joined(effect: Floats, noise: Floats) -> Floats:
    """One value for both states where they differ by no more than noise, or only one is there."""
    apart = np.abs(effect[RESTED] - effect[SOAKED]) > _APART * noise
    mean = _mean(effect)
    return np.asarray(np.where(apart, effect, mean[None]))


def _steady(effect: Floats, ends: tuple[str, str]) -> Floats:
    """With the pressure at the stop where a run was cut for it before its minutes were written."""
    cut = np.array([end in BY_PRESSURE for end in ends])[:, None]
    missing = cut & np.isnan(effect[:, _STEADY])
    effect[:, _STEADY] = np.where(missing, effect[:, [_STOP]], effect[:, _STEADY])
    return effect


def _further(severities: Floats, effects: Floats, place: int) -> Floats:
    """Where the line through the two milder ones leads."""
    if place < 2:
        return np.asarray(effects[place - 1])
    before, last = effects[place - 2], effects[place - 1]
    share = (severities[place] - severities[place - 1]) / (
        severities[place - 1] - severities[place - 2]
    )
    return np.asarray(last + min(share, 1.0) * (last - before))


def _mean(rows: Floats) -> Floats:
    """Over what was read."""
    count = (~np.isnan(rows)).sum(axis=0)
    found = np.nansum(rows, axis=0) / np.maximum(count, 1)
    return np.asarray(np.where(count, found, np.nan))


def _without_gaps(healthy: Floats) -> Floats:
    """A sign that a state never gave is taken from the other one, or is nothing."""
    filled = np.where(np.isnan(healthy), healthy[:, ::-1], healthy)
    return np.nan_to_num(filled)


def _noise(rows: Floats) -> Floats:
    """Deviation of each sign over the trials, in the worse of the two states."""
    read = ~np.isnan(rows)
    count = np.maximum(read.sum(axis=0), 2)
    mean = np.nansum(rows, axis=0) / count
    square = np.nansum(np.where(read, rows - mean, 0.0) ** 2, axis=0) / (count - 1)
    return np.asarray(np.sqrt(square.max(axis=0)))
