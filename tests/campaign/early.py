"""How early two sensors could tell a growing trouble, by simulation: the bound `why` is held to.

Weeks that grow are drawn as the bench of `why` draws them (``why_weeks.py``), from seeds of their
own, and beside them the same weeks without the trouble. An observer gets what has changed in the
signs of `why` since before the trouble: in the last night, and in one at half its age. It is told
what no owner knows: the hour at which something may have begun, that it then grows evenly, and
how fast. Of every cause it has the draws of about the same age; it makes a Gaussian of them, with
means that move straight with the age (regularised as in ``bound.py``), and the share that has not
come to a stop by then. It names two causes, as `why` does at most, where nothing being wrong is
less likely than on any morning of the weeks without a trouble (a likelihood ratio test without a
false alarm among the draws: Neyman and Pearson, Phil. Trans. R. Soc. A 231, 1933, 289-337), and
has named a trouble early where it names it in both of the last two nights before the stop. With so
few draws a better observer may exist.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import attempts_of
from rillkeeper.inquiry.why.signs import SIGN_COUNT, SIGNS, SignReader
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillsim.replay import DAY_S, start_day_of
from rillsim.site import FaultSpec
from tests.campaign import why
from tests.campaign.bound import FOLDS, LEAST, covariance_of
from tests.campaign.part import Part, Row, Rows
from tests.campaign.week_signs import mean_of
from tests.campaign.why_weeks import DRIFTS, GROWING, Week, sound_before, week_of

Floats = NDArray[np.float64]

PLACES = (1, 2, 3)
"""One of each chemistry, on which what grows comes to a stop in the end."""
FIRST_SEED = 60_000_000
NOTHING = "nothing"
NOTHING_BEFOREHAND = 0.9
"""It does not matter: what counts is where the draws without a trouble lie."""
ABOUT_NIGHTS = 1.0
"""Draws so near in age are taken for the same state."""
TO_COMMON, TO_DIAGONAL = (0.5, 1.0), (0.1, 0.3)
_BENT_FROM = 3.0 * np.array([sign.floor for sign in SIGNS])


@dataclass(frozen=True)
class State:
    """What is known on one morning."""

    age: float
    """Nights since the onset."""
    signs: Floats


@dataclass(frozen=True)
class Grown:
    """One week, morning by morning from the onset to the last before the stop."""

    case: str
    states: tuple[State, ...]
    stop_age: float
    """Without an end where there was no stop."""

    @property
    def cause(self) -> str:
        """The truth."""
        return self.case.split("/")[3]

    @property
    def grows(self) -> bool:
        """Whether there is a trouble at all."""
        return self.cause != NOTHING

    @property
    def place(self) -> str:
        """The site."""
        return self.case.split("/")[1]


def cases(first: int) -> Iterator[str]:
    """One of each cause, and one of none, at each place, and again, without an end."""
    seed = FIRST_SEED + 100 * first
    while True:
        for place, cause in product(PLACES, (*DRIFTS, NOTHING)):
            yield f"{GROWING}/{place}/{seed}/{cause}"
            seed += 1


def attempt(case: str) -> Row:
    """Draw one week, and keep what can be told of it, and what `why` said: the trouble early, or
    of a week without one anything at all on its last morning."""
    grown = grown_of(case)
    week, _ = _week(case)
    if not grown.grows:
        said = bool(why.asked(week, week.file)["first"])
    else:
        said = why.growing(week, why.EARLY_NIGHTS)["lead"] >= why.EARLY_NIGHTS
    return {
        "why": said,
        "stop": None if np.isinf(grown.stop_age) else grown.stop_age,
        "states": [[one.age, [_kept(sign) for sign in one.signs]] for one in grown.states],
    }


def _kept(sign: float) -> float | None:
    return None if np.isnan(sign) else round(float(sign), 3)


def _week(case: str) -> tuple[Week, FaultSpec]:
    """And what grows in it, or would begin to just then."""
    kind, place, seed, cause = case.split("/")
    if cause != NOTHING:
        week = week_of(case)
        return week, week.faults[0]
    week = week_of(f"{kind}/{place}/{seed}/{next(iter(DRIFTS))}")
    return sound_before(week), week.faults[0]


def grown_of(case: str) -> Grown:
    """What a week tells, morning by morning; ages count from the evening hour of the first set."""
    week, fault = _week(case)
    evidence = nights_of(read_log(week.log()), week.file.board).acted
    signs = SignReader(week.file, week.settings).signs(evidence).values
    start_day = start_day_of(week.truth)
    night = np.array([run.night - start_day for run in evidence.runs], dtype=float)
    begin_nights = fault.night - 1 + fault.offset_s / DAY_S
    age = night - begin_nights
    stop_day = why.first_stop(attempts_of(evidence), fault.night - 1)
    stop_age = np.inf if stop_day is None else stop_day - start_day - begin_nights
    before = mean_of(signs[age < 0.0]) if (age < 0.0).any() else np.full(SIGN_COUNT, np.nan)
    states = []
    for now in np.unique(age[(age >= 0.0) & (age < stop_age)]):
        half = age[age <= now][np.argmin(np.abs(age[age <= now] - 0.5 * now))]
        seen = [mean_of(signs[age == one]) - before for one in (now, half)]
        bent = np.arcsinh(np.array(seen) / _BENT_FROM).ravel()
        states.append(State(round(float(now), 3), bent))
    return Grown(case, tuple(states), float(stop_age))


class Observer:
    """All draws of one place."""

    def __init__(self, drawn: Iterable[Grown], to_common: float, to_diagonal: float) -> None:
        self.drawn = list(drawn)
        self.to_common, self.to_diagonal = to_common, to_diagonal

    def probabilities(self, state: State) -> dict[str, float]:
        """Of each cause and of nothing, on one morning; likeliest first."""
        rest, means, shares = {}, {}, {}
        for cause in (*DRIFTS, NOTHING):
            mine = [one for one in self.drawn if one.cause == cause]
            near = _near([one for each in mine for one in each.states], state.age)
            if len(near) < LEAST:
                continue
            means[cause], rest[cause] = _moving(near, state.age)
            going_on = sum(one.stop_age > state.age for one in mine)
            beforehand = NOTHING_BEFOREHAND
            if cause != NOTHING:
                beforehand = (1.0 - NOTHING_BEFOREHAND) / len(DRIFTS)
            shares[cause] = log(beforehand * (going_on + 0.5) / (len(mine) + 1.0))
        pooled = covariance_of(np.concatenate(list(rest.values())), self.to_diagonal)
        logs = {
            cause: shares[cause] + self._log_density(state.signs - means[cause], rows, pooled)
            for cause, rows in rest.items()
        }
        whole = np.logaddexp.reduce(list(logs.values()))
        likeliest = sorted(logs, key=lambda cause: -logs[cause])
        return {cause: float(np.exp(logs[cause] - whole)) for cause in likeliest}

    def said(self, grown: Grown) -> "Said":
        """All mornings of a week."""
        return Said(grown, tuple(self.probabilities(state) for state in grown.states))

    def _log_density(self, off: Floats, rows: Floats, pooled: Floats) -> float:
        own = covariance_of(rows, self.to_diagonal, pooled)
        spread = self.to_common * pooled + (1.0 - self.to_common) * own
        known = ~np.isnan(off)
        spread = spread[np.ix_(known, known)]
        square = off[known] @ np.linalg.solve(spread, off[known])
        return float(-0.5 * (square + np.linalg.slogdet(spread)[1]))


@dataclass(frozen=True)
class Said:
    """What an observer makes of one week: its probabilities, morning by morning."""

    grown: Grown
    mornings: tuple[dict[str, float], ...]

    @property
    def least_nothing(self) -> float:
        """Of all mornings the least probability that nothing is wrong."""
        return min((one.get(NOTHING, 0.0) for one in self.mornings), default=1.0)

    def early(self, doubt: float) -> bool:
        """Whether the truth is named, to stay, so many nights before the stop.

        A cause is named where nothing being wrong is less likely than ``doubt``.
        """
        asked = self.mornings[-why.EARLY_NIGHTS :]
        return len(asked) == why.EARLY_NIGHTS and all(
            one.get(NOTHING, 0.0) < doubt and self.grown.cause in _first_two(one) for one in asked
        )


def _first_two(probabilities: dict[str, float]) -> list[str]:
    return [cause for cause in probabilities if cause != NOTHING][: why.FEW]


def _near(states: list[State], age: float) -> list[State]:
    """Those of about the same age; the nearest where they are too few."""
    nearest = sorted(states, key=lambda one: abs(one.age - age))
    within = sum(abs(one.age - age) <= ABOUT_NIGHTS for one in states)
    return nearest[: max(within, LEAST)]


def _moving(near: list[State], age: float) -> tuple[Floats, Floats]:
    """The mean at an age, straight through the draws around it, and what is left of them."""
    rows = np.array([one.signs for one in near])
    since = np.array([one.age for one in near]) - age
    mean, rest = np.full(rows.shape[1], np.nan), np.full_like(rows, np.nan)
    for sign, column in enumerate(rows.T):
        known = ~np.isnan(column)
        if known.sum() < LEAST:
            continue
        slope, mean[sign] = np.polyfit(since[known], column[known], 1)
        rest[:, sign] = column - mean[sign] - slope * since
    return mean, rest


def left_out(drawn: list[Grown], to_common: float, to_diagonal: float) -> list[Said]:
    """Each week by an observer that was not shown it."""
    found = []
    for fold in range(FOLDS):
        shown = [one for place, one in enumerate(drawn) if place % FOLDS != fold]
        observer = Observer(shown, to_common, to_diagonal)
        found += [observer.said(one) for one in drawn[fold::FOLDS]]
    return found


def doubt_of(said: Iterable[Said]) -> float:
    """From which on none of the weeks without a trouble is falsely named."""
    return min(one.least_nothing for one in said if not one.grown.grows)


def early_of(said: Iterable[Said]) -> dict[str, bool]:
    """Of each week that grew to a stop, by its name, whether it is named early."""
    said = list(said)
    doubt = doubt_of(said)
    return {
        one.grown.case: one.early(doubt)
        for one in said
        if one.grown.grows and not np.isinf(one.grown.stop_age)
    }


def summary(rows: Rows) -> list[str]:
    """The bound, cause by cause, and what `why` has reached on the weeks that are kept of it."""
    drawn = [_again(case, row) for case, row in rows.items()]
    places = {
        place: mine
        for place in sorted({one.place for one in drawn})
        if _enough(mine := [one for one in drawn if one.place == place])
    }
    if not places:
        return [f"fewer than {LEAST} draws of each cause: no bound yet."]
    best: dict[str, bool] = {}
    for how in product(TO_COMMON, TO_DIAGONAL):
        found: dict[str, bool] = {}
        for mine in places.values():
            found |= early_of(left_out(mine, *how))
        if sum(found.values()) >= sum(best.values()):
            best = found
    sound = [rows[one.case]["why"] for mine in places.values() for one in mine if not one.grows]
    return [
        f"growing weeks that came to a stop at {len(places)} places: an observer that knows onset "
        f"and growth, and was not shown the week, names {_of(best.values())} early; `why` "
        f"{_of(rows[case]['why'] for case in best)}. Of {len(sound)} weeks without a trouble the "
        f"observer names none on any morning, `why` {sum(sound)} on the last.",
        *(_of_cause(cause, best, rows) for cause in DRIFTS),
    ]


def _of_cause(cause: str, observed: dict[str, bool], rows: Rows) -> str:
    mine = [case for case in observed if case.split("/")[3] == cause]
    said = (rows[case]["why"] for case in mine)
    return f"{cause}: observer {_of(observed[case] for case in mine)}, `why` {_of(said)}."


def _again(case: str, row: Row) -> Grown:
    states = tuple(
        State(age, np.array([np.nan if one is None else one for one in signs]))
        for age, signs in row["states"]
    )
    return Grown(case, states, np.inf if row["stop"] is None else row["stop"])


def _enough(drawn: list[Grown]) -> bool:
    counts = Counter(one.cause for one in drawn)
    return all(counts[cause] >= LEAST for cause in (*DRIFTS, NOTHING))


def _of(found: Iterable[bool]) -> str:
    found = list(found)
    return f"{sum(found)} of {len(found)} ({sum(found) / max(len(found), 1):.0%})"


PART = Part(
    "early",
    cases,
    attempt,
    "How early an observer of the same signs could tell what grows, by simulation; beside it "
    "`why`.",
    verdict=lambda case, row: "no stop" if row["stop"] is None else "drawn",
    allowed={},
    summary=summary,
    made_of=(*why.PART.made_of, "tests/campaign/week_signs.py", "tests/campaign/early.py"),
    endless=True,
)
