"""Every hypothesis of one log: a cause, a failure mode of it, an onset, a worst severity."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log, nan

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import FINE, Attempts, chance
from rillkeeper.inquiry.why.batteries import battery_effects
from rillkeeper.inquiry.why.causes import BATTERY, CAUSES, WATER, Cause
from rillkeeper.inquiry.why.courses import Courses
from rillkeeper.inquiry.why.failure_modes import FailureMode
from rillkeeper.inquiry.why.held import held_effects
from rillkeeper.inquiry.why.likelihood import Added, Data
from rillkeeper.inquiry.why.onset import (
    PER_NIGHT,
    STEP,
    Onset,
    for_one_battery,
    of_wear,
    quiet_log_chance,
)
from rillkeeper.inquiry.why.signatures import RESTED, SOAKED, SOURCE, Signatures
from rillkeeper.inquiry.why.signs import SIGN_COUNT, SIGN_HALF, SIGN_PLACE, loaded_v
from rillkeeper.inquiry.why.sound_site import NormalPressure
from rillkeeper.runlog.nights import NightLog
from rillsim.site import Site

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

WEAR = frozenset(
    ("nozzle worn or gone", "pump worn", "hose burst or slipped", "tired battery", "relay worn")
)
"""What goes away only with a new part."""
PARTS = 2
"""Severities between two that were tried; what lies between goes straight."""
_MILDEST = 1
"""The least part that is a hypothesis of its own; under it nothing can be seen."""
_TWO = 2
"""With nothing and one severity alone, a trouble is there or it is not."""
BARE_CHANCE = 0.5
"""That a source really is empty which is so by the litres that were counted (common practice, no
source)."""
CHARGED_ON_BOARD = 0.05
"""Chance that someone charges a battery on the board where no panel does (common practice, no
source)."""
_READING_UP = "battery_offset"
_REST, _SETTLED = SIGN_PLACE["rest_pressure"], SIGN_PLACE["settled"]
_WITHIN_PART = 0.25
"""Deviation of a severity around its part, in that of two parts: Gaussians as wide as half of
their distance add up to a flat line within 2 %; of narrower ones a severity between two of them
would be held for less likely."""


@dataclass(frozen=True)
class ModeEffect:
    """What one failure mode does to this very log, by severity."""

    cause: Cause
    mode: FailureMode
    severities: Floats
    """Rising from nothing, in parts."""
    signs: Floats
    """Severity by attempt by sign."""
    log_chances: Floats
    """Severity by attempt: logarithm of the chance of how it ended."""
    untouched: Floats
    """Severity by attempt: the pressure before a start of which no run before had the trouble yet.
    After that what stands in the hose is as the last run left it."""
    bending: Floats | None = None
    """Severity by attempt by sign by tolerance: how much more each does than on the sound site."""

    @property
    def whole(self) -> bool:
        """Whether nothing lies between one severity and the next."""
        return self.mode.in_a_run or len(self.severities) <= _TWO


@dataclass(frozen=True)
class Hypotheses:
    """All hypotheses of one failure mode, one a row."""

    effect: ModeEffect
    onsets: tuple[Onset, ...]
    onset: Ints
    """Place among the onsets, by hypothesis."""
    worst: Floats
    """Severity where the onset is at its worst, by hypothesis."""
    log_prior: Floats
    courses: Courses

    @property
    def reached(self) -> Floats:
        """How severe each has become in these nights."""
        peaks = np.array([onset.profile.max() for onset in self.onsets])
        return np.asarray(self.worst * peaks[self.onset])

    def by_part(self, data: Data) -> Added:
        """What each part of the severity adds to each sign that was read."""
        table = self.effect.signs[:, data.block // 2, data.sign]
        there = (np.arange(len(table)) > 0).astype(float)[:, None]
        steps = np.zeros_like(table) if self.effect.whole else _steps(table)
        return Added(table, steps, np.broadcast_to(there, table.shape))

    def added(self, data: Data, rows: Ints) -> Added:
        """What each of these hypotheses adds to each sign that was read."""
        by_part = self.by_part(data)
        places = self.courses.places[rows][:, data.block]
        column = np.arange(len(data.sign))[None, :]
        mean, step = (_at(table, places, column) for table in (by_part.mean, by_part.step))
        hour = _at(by_part.mean, self.later(rows)[:, data.block], column) - mean
        rest = np.flatnonzero(data.sign == _REST)
        attempt = data.block[rest] // 2
        own = _at(self.effect.untouched, places[:, rest], attempt[None, :])
        begins = self.courses.begins[rows][:, attempt]
        mean[:, rest] = np.where(begins, own, mean[:, rest])
        bent = self._bent(data, places)
        return Added(mean, step, (places > 0.0).astype(float), hour, bent)

    def _bent(self, data: Data, places: Floats) -> Floats | None:
        """How much more each column of the tolerances does, hypothesis by sign by column."""
        if self.effect.bending is None or data.turn is None:
            return None
        table = self.effect.bending[:, data.block // 2, data.sign] @ data.turn
        return _at(table, places, np.arange(len(data.sign))[None, :])

    def later(self, rows: Ints) -> Floats:
        """The places of these, had the trouble begun a deviation of the hour later."""
        onsets = [self.onsets[place] for place in self.onset[rows]]
        profiles = [one.profile if one.later is None else one.later for one in onsets]
        return _place(self.worst[rows, None] * np.array(profiles), self.effect.severities)

    def signs_of(self, row: int, milder: float = 0.0) -> Floats:
        """What one of them adds, attempt by sign; or that by so many severities milder."""
        attempts = np.arange(self.effect.signs.shape[1])[:, None]
        places = np.maximum(self.courses.places[row].reshape(-1, 2)[:, SIGN_HALF] - milder, 0.0)
        found = _at(self.effect.signs, places, attempts, np.arange(SIGN_COUNT)[None, :])
        own = _at(self.effect.untouched, places[:, _REST], attempts[:, 0])
        found[:, _REST] = np.where(self.courses.begins[row], own, found[:, _REST])
        return found

    def ends_of(self, rows: Ints) -> Floats:
        """Logarithm of the chance of each attempt's end, some hypotheses by attempt."""
        table = self.effect.log_chances
        return np.asarray(table[self.courses.worst[rows], np.arange(table.shape[1])[None, :]])

    def with_ends(self, log_chances: Floats, without: Floats) -> "Hypotheses":
        """The same with other chances of the ends, severity by attempt; ``without`` the trouble,
        by attempt."""
        ends = np.concatenate([without[None, :], log_chances[1:]])
        return replace(self, effect=replace(self.effect, log_chances=ends))

    def outcome_log_chance(self) -> Floats:
        """Logarithm of the chance of all ends together, by hypothesis."""
        return self.courses.worst_changes.sums(self.effect.log_chances[:, :, None])[:, 0]


def _place(severity: Floats, severities: Floats) -> Floats:
    """Among the severities, between two of them."""
    return np.asarray(np.interp(severity, severities, np.arange(len(severities))))


def _at(table: Floats, places: Floats, *columns: Ints) -> Floats:
    """Straight between two rows of a table; what has no column is taken as it is."""
    low = np.minimum(places.astype(int), len(table) - 2)
    whole = np.broadcast_shapes(places.shape, *(one.shape for one in columns))
    share = np.broadcast_to(places - low, whole)
    share = share.reshape(*whole, *[1] * (table.ndim - 1 - len(columns)))
    found = (1.0 - share) * table[(low, *columns)] + share * table[(low + 1, *columns)]
    return np.asarray(found)


def effects_of(
    evidence: NightLog,
    attempts: Attempts,
    site: Site,
    settings: dict[str, int],
    signatures: Signatures,
) -> list[ModeEffect]:
    """What every mode does to this log."""
    rested = np.array([run is None or run.rested for run in attempts.runs], dtype=bool)
    state = np.where(rested, RESTED, SOAKED)
    read = [(nan, nan) if run is None else loaded_v(run) for run in attempts.runs]
    volts = np.array(read, dtype=float).reshape(-1, 2)
    found = []
    for cause in CAUSES:
        for mode in cause.modes_on(site.board):
            if cause.kind == BATTERY:
                severities = np.array([0.0, *mode.severities])
                signs = np.zeros((len(severities), len(attempts.runs), SIGN_COUNT))
                with_run = [place for place, run in enumerate(attempts.runs) if run is not None]
                signs[:, with_run] = battery_effects(
                    site, settings, evidence.runs, mode.fault, mode.severities
                )
                shown = [(FINE, FINE)] * len(severities)
                untouched = signs[:, :, _REST]
                bending = None
            else:
                signature = signatures.modes[mode.key]
                severities = signature.severities
                signs = signature.effects_at(state, volts)
                bending = signature.bending(state)
                shown = list(signature.outcomes)
                untouched = np.repeat(signature.effects[:, RESTED, _REST, None], len(state), 1)
                if mode.in_a_run:
                    severities, signs = held_effects(signature, state, volts, NormalPressure(site))
                    shown = [shown[0], *[shown[-1]] * (len(severities) - 1)]
                    untouched = np.zeros(signs.shape[:2])
                if cause.kind == WATER:
                    signs[:, :, _REST] = signs[:, :, _SETTLED]
            ends = _log_chances(shown, state, attempts)
            found.append(_in_parts(cause, mode, severities, signs, ends, untouched, bending))
    return found


def hypotheses_of(
    effect: ModeEffect,
    attempts: Attempts,
    nights: int,
    onsets: Sequence[Onset],
    bare_half: int | None = None,
    raised_half: int | None = None,
) -> Hypotheses:
    """The hypotheses of one mode, with all onsets of these attempts.

    ``bare_half`` is the half of a run, counted over all, at which the strainer is bare by the
    litres that were counted, where it is. ``raised_half`` is that at which a battery without a
    panel first has more in it than before although it was never off the board: either it was
    charged there, or its reading went up.
    """
    if effect.cause.name in WEAR:
        onsets = of_wear(onsets)
    if effect.cause.kind == BATTERY:
        onsets = for_one_battery(onsets, attempts.batteries)
    worst = effect.severities[_MILDEST:]
    profiles = np.array([onset.profile for onset in onsets])
    halves = 2 * len(attempts.runs)
    places = _place(profiles[:, None, :] * worst[None, :, None], effect.severities)
    share = effect.cause.share_of(effect.mode) / len(worst)
    others = quiet_log_chance(nights) - log(1.0 - PER_NIGHT)
    log_prior = np.array([onset.log_chance for onset in onsets]) + log(share) + others
    if bare_half is not None and effect.mode.key == SOURCE:
        foretold = log(BARE_CHANCE) - log(share * PER_NIGHT)
        at_once = [one.shape == STEP and one.half >= bare_half for one in onsets]
        log_prior += np.where(at_once, foretold, 0.0)
    if raised_half is not None and effect.mode.key == _READING_UP:
        just_then = [one.shape == STEP and one.half == raised_half for one in onsets]
        log_prior -= np.where(just_then, log(CHARGED_ON_BOARD), 0.0)
    return Hypotheses(
        effect=effect,
        onsets=tuple(onsets),
        onset=np.repeat(np.arange(len(onsets)), len(worst)),
        worst=np.tile(worst, len(onsets)),
        log_prior=np.repeat(log_prior, len(worst)),
        courses=Courses(places.reshape(-1, halves)),
    )


def _steps(table: Floats) -> Floats:
    """What one deviation of a severity within its part changes, severity by sign."""
    around = np.concatenate([table, table[-1:]])
    rise = around[2:] - around[:-2]
    return np.concatenate([np.zeros_like(table[:1]), _WITHIN_PART * rise])


def _log_chances(shown: list[tuple[str, str]], state: Ints, attempts: Attempts) -> Floats:
    """Chance of each attempt's end, severity by attempt; 1 where it tells nothing."""
    table = np.ones((len(shown), len(attempts.outcomes)))
    table[0] = np.exp(attempts.healthy_log_chances())
    each = zip(attempts.outcomes, attempts.again, attempts.hair, strict=True)
    for place, (seen, again, hair) in enumerate(each):
        if seen is None:
            continue
        for row, ends in enumerate(shown[1:], start=1):
            table[row, place] = chance(ends[state[place]], seen, again, hair)
    return table


def _in_parts(
    cause: Cause,
    mode: FailureMode,
    severities: Floats,
    signs: Floats,
    chances: Floats,
    untouched: Floats,
    bending: Floats | None,
) -> ModeEffect:
    """With severities between those that were tried."""
    tried = np.arange(len(severities))
    parts = PARTS if len(tried) > _TWO and not mode.in_a_run else 1
    fine = np.linspace(0.0, tried[-1], parts * tried[-1] + 1)
    low = np.minimum(fine.astype(int), tried[-1] - 1)
    share = fine - low

    def between(table: Floats) -> Floats:
        part = share.reshape(-1, *([1] * (table.ndim - 1)))
        return np.asarray((1.0 - part) * table[low] + part * table[low + 1])

    return ModeEffect(
        cause,
        mode,
        np.interp(fine, tried, severities),
        between(signs),
        np.log(between(chances)),
        between(untouched),
        None if bending is None else between(bending),
    )
