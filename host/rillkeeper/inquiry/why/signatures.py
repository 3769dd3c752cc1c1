"""What each trouble does to the signs of one site, worked out by trials in the plant.

A signature is the difference to the trial in health with the same noise, so that most of that goes
out. Where the first run and the one after the soak differ by no more than the noise their mean
stands for both. A run that the board cut for its pressure had that pressure all along; other signs
that a trial did not give go on straight from the two milder ones. What a trouble does otherwise
elsewhere: ``bends.py``.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from math import nan
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import BY_PRESSURE, FINE, outcome_of, refusals_of
from rillkeeper.inquiry.why.bends import BENDING, LOW_CHARGE, Bend, Shown, bend_of, well_felt
from rillkeeper.inquiry.why.causes import BATTERY, CAUSES
from rillkeeper.inquiry.why.failure_modes import FailureMode
from rillkeeper.inquiry.why.signs import (
    DRY_SAG,
    SIGN_COUNT,
    SIGN_PLACE,
    TAIL,
    SignReader,
    loaded_v,
)
from rillkeeper.inquiry.why.trials import SensorShift, Tolerance, tolerances_of, trial
from rillkeeper.runlog.nights import NightLog
from rillsim.site import Site

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

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
_DRY_SAG = SIGN_PLACE[DRY_SAG]
_FIRST_ROUND = 0.7
"""About so much of the work is what is tried of every trouble."""
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
    bend: Bend | None = None
    """How it shows otherwise elsewhere, where that was tried."""

    def effects_at(self, state: Ints, volts: Floats) -> Floats:
        """Severity by run by sign, at what the board read in each half of each run [V]."""
        effects = self.effects[:, state]
        if self.bend is None:
            return effects
        return np.asarray(effects + self.bend.leaning(self.effects, state, volts))

    def bending(self, state: Ints) -> Floats | None:
        """How much more the tolerances do, severity by run by sign by tolerance."""
        return None if self.bend is None else self.bend.bending(self.effects, state)


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
        for mode in cause.modes_on(site.board)
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
    in_a_run: bool = False


@dataclass(frozen=True)
class _Tried:
    """What it showed, and how its two runs ended."""

    shown: Shown
    ends: tuple[str, str]


_Rows = Iterable[_Tried]
_Try = Callable[[Sequence[_Trial], float], _Rows]


def work_out(
    site: Site,
    settings: dict[str, int],
    progress: Callable[[float], None] | None = None,
    workers: int = 1,
) -> Signatures:
    """Try everything out: some two hundred short nights, by so many processes side by side."""
    jobs = jobs_of(site)
    modes = tuple(dict.fromkeys(mode for mode, _ in jobs))
    inputs = range(len(tolerances_of(site)))
    trials = [
        *(_Trial(charge=charge) for charge in CHARGES),
        _Trial(),
        *(_Trial(seed=seed) for seed in NOISE_SEEDS),
        *(_Trial(tolerance=place) for place in inputs),
        *(_trouble(site, mode, severity) for mode, severity in jobs),
    ]
    with _trying(site, settings, workers, progress) as tried:
        rows = iter(tried(trials, _FIRST_ROUND))
        healthy, sound, off = (
            [next(rows).shown for _ in range(count)]
            for count in (len(CHARGES), 1 + len(NOISE_SEEDS), len(inputs))
        )
        troubles = {mode: [next(rows) for _ in mode.severities] for mode in modes}
        noise = _noise(_signs(sound))
        base = np.where(np.isnan(sound[0].signs), _mean(_signs(sound)), sound[0].signs)
        base[:, _DRY_SAG] = 0.0
        known = {
            mode: _signature(mode.severities, found, base, noise)
            for mode, found in troubles.items()
        }
        tolerances = _signs(off) - sound[0].signs
        further = _tried_further(site, tried, known)
    for mode, (place, shown) in further.items():
        bend = bend_of(
            place,
            (troubles[mode][place - 1].shown, sound[0]),
            (shown[:-1], tolerances[BENDING]),
            (shown[-1], healthy[CHARGES.index(LOW_CHARGE)]),
        )
        known[mode] = replace(known[mode], bend=bend)
    return Signatures(
        _without_gaps(_signs(healthy)),
        noise,
        np.nan_to_num(tolerances),
        {mode.key: one for mode, one in known.items()},
    )


def _trouble(site: Site, mode: FailureMode, severity: float) -> _Trial:
    much = mode.severity_on(site, severity)
    return _Trial(mode.fault, much, in_a_run=mode.in_a_run)


def _tried_further(
    site: Site, tried: _Try, known: dict[FailureMode, Signature]
) -> dict[FailureMode, tuple[int, list[Shown]]]:
    """What is well felt, at one place among its severities: with each tolerance of ``BENDING``
    off, and last with less in the battery."""
    places = {mode: well_felt(one.effects, one.outcomes) for mode, one in known.items()}
    chosen = {mode: place for mode, place in places.items() if place is not None}
    trials = []
    for mode, place in chosen.items():
        plain = _trouble(site, mode, mode.severities[place - 1])
        trials += [replace(plain, tolerance=tolerance) for tolerance in BENDING]
        trials.append(replace(plain, charge=LOW_CHARGE))
    rows = iter(tried(trials, 1.0))
    return {
        mode: (place, [next(rows).shown for _ in range(len(BENDING) + 1)])
        for mode, place in chosen.items()
    }


@contextmanager
def _trying(
    site: Site,
    settings: dict[str, int],
    workers: int,
    progress: Callable[[float], None] | None,
) -> Iterator[_Try]:
    """What makes trials, in their order, and says when it has come to such a share of all work."""
    one = partial(_tried, site, settings)
    reached = 0.0

    def counted(rows: _Rows, count: int, until: float) -> _Rows:
        nonlocal reached
        begin = reached
        for done, row in enumerate(rows, start=1):
            reached = begin + (until - begin) * done / count
            if progress is not None:
                progress(reached)
            yield row

    if workers == 1:
        yield lambda trials, until: counted(map(one, trials), len(trials), until)
        return
    # A fork would take the threads of a progress bar with it.
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        yield lambda trials, until: counted(
            pool.map(one, trials, chunksize=_CHUNK), len(trials), until
        )


def _signs(shown: Sequence[Shown]) -> Floats:
    return np.array([one.signs for one in shown])


def _tried(site: Site, settings: dict[str, int], asked: _Trial) -> _Tried:
    place, shift = site, None
    if asked.tolerance >= 0:
        place, shift = _moved(site, tolerances_of(site)[asked.tolerance])
    found = trial(
        place,
        settings,
        fault=asked.fault,
        severity=asked.severity,
        charge=asked.charge,
        seed=asked.seed,
        shift=shift,
        in_a_run=asked.in_a_run,
    )
    shown, ends = _states(SignReader(site, settings), found, asked.charge), _outcomes(found)
    if asked.in_a_run:
        # The first run was sound when it began: the second stands for both.
        shown.signs[RESTED], ends = nan, (ends[SOAKED], ends[SOAKED])
    return _Tried(shown, ends)


def _moved(site: Site, row: Tolerance) -> tuple[Site, SensorShift | None]:
    return (row.site(site) if row.site else site), row.sensors


def _states(reader: SignReader, found: NightLog, charge: float) -> Shown:
    """The signs of the first run and of the one after the soak."""
    signs = reader.signs(found, charge)
    states, volts = np.full((2, SIGN_COUNT), np.nan), np.full(2, np.nan)
    for state in (RESTED, SOAKED):
        places = np.flatnonzero(signs.rested == (state == RESTED))
        if len(places):
            states[state] = signs.values[places[0]]
            volts[state] = loaded_v(found.runs[places[0]])[TAIL]
    return Shown(states, volts)


def _outcomes(found: NightLog) -> tuple[str, str]:
    """How the two runs ended; a check that refused counts for the run that never was."""
    refused = next(iter(refusals_of(found)), "")
    stood = any(night.meter_stood for night in found.nights)
    first = next((run for run in found.runs if run.rested), None)
    second = next((run for run in found.runs if not run.rested), None)
    ends = [
        (outcome_of(run, stood) or FINE) if run else refused or FINE for run in (first, second)
    ]
    if second is None and first is not None and ends[0] != FINE:
        ends[1] = ends[0]
    return ends[0], ends[1]


def _signature(
    severities: Sequence[float],
    rows: Sequence[_Tried],
    base: Floats,
    noise: Floats,
) -> Signature:
    rising = np.array([0.0, *severities])
    effects = np.zeros((len(rows) + 1, 2, SIGN_COUNT))
    for place, row in enumerate(rows, start=1):
        effect = _steady(_joined(row.shown.signs - base, noise), row.ends)
        effects[place] = np.where(np.isnan(effect), _further(rising, effects, place), effect)
        if not np.isnan(effect[:, _DRY_SAG]).any() and not effects[1:place, :, _DRY_SAG].any():
            # A milder one that stops the pump all the same does so as this one does.
            effects[1:place, :, _DRY_SAG] = effect[:, _DRY_SAG]
    return Signature(rising, effects, ((FINE, FINE), *(row.ends for row in rows)))


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
