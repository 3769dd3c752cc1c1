"""What a week with one fault, or two, tells: the signs that `why` gets, before each and with it.

For the observers of ``bound.py``, ``both.py`` and those beside them, who are told when each fault
began, or may have begun.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import FINE, attempts_of
from rillkeeper.inquiry.why.signs import SIGN_HALF, SIGNS, SignReader
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillkeeper.runlog.runs import Run
from rillsim.replay import DAY_S, start_day_of
from tests.campaign.why_weeks import SOUND, Week, onset_of, week_of

Floats = NDArray[np.float64]

WITH, BEFORE, BETWEEN = 1, 0, -1
_BENT_FROM = 3.0 * np.array([sign.floor for sign in SIGNS])
"""From so far off a sign is counted ever less: a shut line is shut."""
NOTHING = "nothing"
"""In the place of a cause."""
_SOUND_ONSET = 77
"""Apart from what else is drawn of a week: hours at which nothing began."""
_EDGE_S = 240.0
"""A half of a run in whose minutes the fault began tells of neither state."""
_TRENDS = [
    place for place, one in enumerate(SIGNS) if one.key in ("rest_voltage", "resistance", "fall")
]


@dataclass(frozen=True)
class WeekSigns:
    """What an observer gets of one week."""

    case: str
    signs: Floats
    """With the fault, what it changed, and how it went on; not a number where it is not known."""
    end: str
    """How the board ended what it did with the fault: its first rule, or "fine"."""

    @property
    def cause(self) -> str:
        """The truth."""
        return self.case.split("/")[3]

    @property
    def place(self) -> str:
        """The site."""
        return self.case.split("/")[1]


def signs_of_week(case: str) -> WeekSigns | None:
    """The evidence of a week; None where the pump never ran with the fault."""
    week = week_of(case)
    evidence = nights_of(read_log(week.log()), week.file.board).acted
    begin_s = _begin_s(week, *_onset(week))
    states = _states(evidence.runs, begin_s)[:, SIGN_HALF]
    end = _end(evidence, begin_s)
    if not (states == WITH).any() and end == FINE:
        return None
    signs = SignReader(week.file, week.settings).signs(evidence).values
    felt = np.where(states == WITH, bend(signs), np.nan)
    before = np.where(states == BEFORE, signs, np.nan)
    change = mean_of(np.where(states == WITH, signs, np.nan)) - mean_of(before)
    return WeekSigns(case, np.concatenate([mean_of(felt), bend(change), _trends(felt)]), end)


@dataclass(frozen=True)
class PairSigns:
    """What an observer gets of one week with two faults."""

    case: str
    levels: Floats
    """Bent signs before both faults, between the two and with both; not a number where no run
    lies there."""
    trends: Floats
    """How they went on between the two, and with both."""
    ends: tuple[str | None, str]
    """How the board ended what it did between the two (None: it did nothing), and with both."""
    causes: tuple[str, str]
    """The truth, in the order in which they began."""

    @property
    def place(self) -> str:
        """The site."""
        return self.case.split("/")[1]


def signs_of_pair(case: str) -> PairSigns | None:
    """The evidence of a week with two faults; None where nothing was done with both.

    Of a week with fewer it is the same, with drawn hours at which nothing began.
    """
    week = week_of(case)
    evidence = nights_of(read_log(week.log()), week.file.board).acted
    (first_s, first), (second_s, second) = _begun(week)
    by_first = _states(evidence.runs, first_s)[:, SIGN_HALF]
    by_second = _states(evidence.runs, second_s)[:, SIGN_HALF]
    bent = bend(SignReader(week.file, week.settings).signs(evidence).values)
    between = np.where((by_first == WITH) & (by_second == BEFORE), bent, np.nan)
    after = np.where((by_first == WITH) & (by_second == WITH), bent, np.nan)
    before = np.where(by_first == BEFORE, bent, np.nan)
    end = _end(evidence, second_s)
    if np.isnan(after).all() and end == FINE:
        return None
    end_between: str | None = _end(evidence, first_s, second_s)
    if np.isnan(between).all() and end_between == FINE:
        end_between = None
    return PairSigns(
        case,
        np.array([mean_of(before), mean_of(between), mean_of(after)]),
        np.concatenate([_trends(between), _trends(after)]),
        (end_between, end),
        (first, second),
    )


def bend(signs: Floats) -> Floats:
    """What is far off counts ever less."""
    return np.asarray(np.arcsinh(signs / _BENT_FROM))


def unbend(bent: Floats) -> Floats:
    """Back again."""
    return np.asarray(np.sinh(bent) * _BENT_FROM)


def mean_of(rows: Floats) -> Floats:
    """By column, over what was read."""
    count = (~np.isnan(rows)).sum(axis=0)
    return np.asarray(np.where(count, np.nansum(rows, axis=0) / np.maximum(count, 1), np.nan))


def _begin_s(week: Week, night: int, offset_s: float) -> float:
    day = start_day_of(week.truth) + night - 1
    return day * DAY_S + week.truth.sets[0].start_s + offset_s


def _onset(week: Week) -> tuple[int, float]:
    """Of its fault; of a sound week any, as if it had one."""
    if week.kind == SOUND:
        return onset_of(week, np.random.default_rng((week.seed, _SOUND_ONSET)))
    (fault,) = week.faults
    return fault.night, fault.offset_s


def _begun(week: Week) -> list[tuple[float, str]]:
    """When each of two began, and what."""
    faults = () if week.kind == SOUND else tuple(zip(week.faults, week.causes, strict=True))
    begun = [(_begin_s(week, fault.night, fault.offset_s), cause) for fault, cause in faults]
    rng = np.random.default_rng((week.seed, _SOUND_ONSET))
    while len(begun) < 2:
        begun.append((_begin_s(week, *onset_of(week, rng)), NOTHING))
    return sorted(begun)


def _states(runs: Iterable[Run], begin_s: float) -> NDArray[np.int_]:
    """Run by half: with the fault, before it, or it began just then."""

    def state(first_s: float, last_s: float) -> int:
        return WITH if first_s >= begin_s else BEFORE if last_s <= begin_s else BETWEEN

    found = []
    for run in runs:
        start_s = run.start.day * DAY_S + run.start.second
        end_s = start_s + run.run_s
        head = state(start_s, min(start_s + _EDGE_S, end_s))
        found.append((head, state(max(start_s, end_s - _EDGE_S), end_s)))
    return np.array(found, dtype=int).reshape(-1, 2)


def _end(evidence: NightLog, begin_s: float, until_s: float = inf) -> str:
    attempts = attempts_of(evidence)
    for run, outcome, day in zip(attempts.runs, attempts.outcomes, attempts.days, strict=True):
        last_s = (
            (day + 1) * DAY_S
            if run is None
            else run.start.day * DAY_S + run.start.second + run.run_s
        )
        if outcome not in (None, FINE) and begin_s < last_s <= until_s:
            return str(outcome)
    return FINE


def _trends(rows: Floats) -> Floats:
    found = []
    for column in rows.T[_TRENDS]:
        read = column[~np.isnan(column)]
        found.append(read[-1] - read[0] if len(read) > 1 else np.nan)
    return np.array(found)
