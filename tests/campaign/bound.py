"""What two sensors could tell at best, by simulation: the bound that `why` is held against.

Weeks with one fault are drawn as the bench of `why` draws them (``why_weeks.py``), from seeds of
their own. Of each an observer gets the signs that `why` gets, before the fault and after, and how
the board ended its runs. Of all weeks of one place and one cause it makes a Gaussian over the
signs, truths, severities and onsets marginalised by the draws, and a share of each end; with them
it gives each cause its probability, all causes alike beforehand. It is told what no owner knows:
when the fault began, that there is just one, and how the bench draws. So `why` cannot be asked for
more. It knows the signs only by so many draws, and a better one may exist: the share by weeks left
out of the fit is a bound from below of what could be reached, and rises with the draws.

The Gaussians are regularised (Friedman, Regularized Discriminant Analysis, J. Am. Stat. Assoc.
84(405), 1989, 165-175): the covariance of a cause is drawn to that of all causes of the place, and
that to its diagonal. By how much is chosen on the draws.

It is asked twice: on its own weeks, each left out of the fit in its turn, and, with all of them in
the fit, on the weeks that `why` has been asked about: both figures stand beside each other.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.rank import SURE_FROM
from tests.campaign import why
from tests.campaign.kept import Kept
from tests.campaign.part import Part, Row, Rows
from tests.campaign.week_signs import WeekSigns, mean_of, signs_of_week
from tests.campaign.why_weeks import FAULTS, MADE_OF, ONE

Floats = NDArray[np.float64]

NAMED = (why.RIGHT, f"group of {why.FEW}")
"""Verdicts on a cause that is named alone, or as one of two."""

SITES = 3
"""The first so many places, one of each chemistry: the draws of one say nothing of another."""
FIRST_SEED = 50_000_000
"""So far from the weeks that `why` is asked about: no truth is in both."""
SIGNS_OF = tuple(
    f"host/rillkeeper/inquiry/why/{name}.py" for name in ("signs", "sound_site", "attempts")
)
FOLDS = 5
LEAST = 6
"""Draws of each cause at a place, before anything is said of it."""
TO_COMMON, TO_DIAGONAL = (0.0, 0.2, 0.5, 0.8, 1.0), (0.0, 0.1, 0.3, 0.6)
_LEAST_SD = 0.05
"""Of a bent sign; else one that never moves would outshout all others."""


def cases(first: int) -> Iterator[str]:
    """One of each cause at each place, and again, without an end."""
    seed = FIRST_SEED + 100 * first
    while True:
        for place, cause in product(range(SITES), FAULTS):
            yield f"{ONE}/{place}/{seed}/{cause}"
            seed += 1


def attempt(case: str) -> Row:
    """Draw one week, and keep what can be told of it."""
    told = signs_of_week(case)
    if told is None:
        return {"never ran": True}
    signs = [None if np.isnan(one) else round(float(one), 4) for one in told.signs]
    return {"signs": signs, "end": told.end}


class Observer:
    """Gaussians and shares of one place."""

    def __init__(
        self,
        told: list[WeekSigns],
        to_common: float,
        to_diagonal: float,
        state_of: Callable[[WeekSigns], str] = lambda one: one.cause,
    ) -> None:
        """``state_of`` says of which Gaussian a draw is."""
        by_state: dict[str, list[WeekSigns]] = defaultdict(list)
        for one in told:
            by_state[state_of(one)].append(one)
        self.states = sorted(by_state)
        signs = {state: np.array([one.signs for one in of]) for state, of in by_state.items()}
        common = mean_of(np.concatenate(list(signs.values())))
        self.means = {}
        rest = {}
        for state, rows in signs.items():
            mean = mean_of(rows)
            self.means[state] = np.where(np.isnan(mean), np.nan_to_num(common), mean)
            rest[state] = rows - self.means[state]
        pooled = covariance_of(np.concatenate(list(rest.values())), to_diagonal)
        self.spreads = {
            state: to_common * pooled
            + (1.0 - to_common) * covariance_of(rows, to_diagonal, pooled)
            for state, rows in rest.items()
        }
        ends = Counter(one.end for one in told)
        self.ends = {state: Counter(one.end for one in of) for state, of in by_state.items()}
        self.all_ends = {end: n / len(told) for end, n in ends.items()}

    def log_likelihood(self, told: WeekSigns, state: str) -> float:
        """Of one week under a cause."""
        known = ~np.isnan(told.signs)
        rest = (told.signs - self.means[state])[known]
        spread = self.spreads[state][np.ix_(known, known)]
        square = rest @ np.linalg.solve(spread, rest) + np.linalg.slogdet(spread)[1]
        ends = self.ends[state]
        share = (ends[told.end] + self.all_ends.get(told.end, 0.01)) / (ends.total() + 1.0)
        return float(np.log(share) - 0.5 * square)

    def probabilities(self, told: WeekSigns) -> dict[str, float]:
        """Of each cause, likeliest first."""
        logs = np.array([self.log_likelihood(told, state) for state in self.states])
        shares = np.exp(logs - np.logaddexp.reduce(logs))
        order = np.argsort(-shares)
        return {self.states[place]: float(shares[place]) for place in order}


def covariance_of(rest: Floats, to_diagonal: float, prior: Floats | None = None) -> Floats:
    """Of signs, pair by pair over what is known of both; where nothing is, of the prior."""
    known = (~np.isnan(rest)).astype(float)
    filled = np.nan_to_num(rest)
    count = known.T @ known
    found = filled.T @ filled / np.maximum(count - 1.0, 1.0)
    if prior is not None:
        found = np.where(count > 2.0, found, prior)
    size, turned = np.linalg.eigh((1.0 - to_diagonal) * found)
    found = (turned * np.maximum(size, 0.0)) @ turned.T
    return np.asarray(found + np.diag(to_diagonal * np.diag(found) + _LEAST_SD**2))


@dataclass
class Score:
    """How often the truth was the likeliest, or one of the first two."""

    first: int = 0
    two: int = 0
    of: int = 0

    def add(self, probabilities: dict[str, float], cause: str) -> None:
        """One week."""
        likeliest = list(probabilities)
        self.first += likeliest[0] == cause
        self.two += cause in likeliest[:2]
        self.of += 1

    def text(self) -> str:
        """In shares."""
        of = max(self.of, 1)
        return f"first {self.first / of:.0%}, one of the first two {self.two / of:.0%}"


def left_out(
    told: list[WeekSigns], to_common: float, to_diagonal: float
) -> dict[str, dict[str, float]]:
    """The probabilities of each week by an observer that was not shown it."""
    found = {}
    for fold in range(FOLDS):
        shown = [one for place, one in enumerate(told) if place % FOLDS != fold]
        observer = Observer(shown, to_common, to_diagonal)
        for one in told[fold::FOLDS]:
            found[one.case] = observer.probabilities(one)
    return found


def score_of(told: Iterable[WeekSigns], found: dict[str, dict[str, float]]) -> Score:
    """Of these weeks."""
    score = Score()
    for one in told:
        score.add(found[one.case], one.cause)
    return score


def summary(rows: Rows) -> list[str]:
    """The bound, and what `why` has reached on the weeks that are kept of it."""
    enough = told_of(rows)
    if not enough:
        return [f"fewer than {LEAST} draws of each cause: no bound yet."]
    told = [one for group in enough.values() for one in group]
    score, how, found = _best(enough)
    sentences = [
        f"an observer that knows the onset, on {score.of} weeks of one fault at {len(enough)} "
        f"places, each left out of its fit: {score.text()}."
    ]
    for cause in FAULTS:
        of_cause = [one for one in told if one.cause == cause]
        taken = Counter(next(iter(found[one.case])) for one in of_cause)
        others = ", ".join(f"{n} {name}" for name, n in taken.most_common(4) if name != cause)
        sentences.append(f"{cause}: {score_of(of_cause, found).text()}; taken for {others}.")
    return sentences + beside(enough, Kept(why.PART).rows, how)


def told_of(rows: Rows) -> dict[str, list[WeekSigns]]:
    """The draws of each place, where there are enough of them."""
    places: dict[str, list[WeekSigns]] = defaultdict(list)
    for one in signs_in(rows):
        places[one.place].append(one)
    return {place: told for place, told in places.items() if _enough(told)}


def signs_in(rows: Rows) -> Iterator[WeekSigns]:
    """Of the weeks that told anything."""
    for case, row in rows.items():
        if "signs" in row:
            yield WeekSigns(case, np.array(row["signs"], dtype=float), row["end"])


def _best(
    places: dict[str, list[WeekSigns]],
) -> tuple[Score, tuple[float, float], dict[str, dict[str, float]]]:
    """The way that is right most often on weeks left out, and what it says of them."""
    told = [one for group in places.values() for one in group]
    best: tuple[Score, tuple[float, float], dict[str, dict[str, float]]] | None = None
    for how in product(TO_COMMON, TO_DIAGONAL):
        found: dict[str, dict[str, float]] = {}
        for group in places.values():
            found |= left_out(group, *how)
        score = score_of(told, found)
        if best is None or score.two + score.first > best[0].two + best[0].first:
            best = score, how, found
    assert best is not None
    return best


def _enough(told: list[WeekSigns]) -> bool:
    counts = Counter(one.cause for one in told)
    return all(counts[cause] >= LEAST for cause in FAULTS)


def beside(
    places: dict[str, list[WeekSigns]], rows: Rows, how: tuple[float, float] | None = None
) -> list[str]:
    """The same observer on the weeks of one fault that `why` was asked about."""
    how = how or _best(places)[1]
    observers = {place: Observer(told, *how) for place, told in places.items()}
    score, few, alone = Score(), 0, 0
    for told, verdict in asked_of(places, rows):
        score.add(observers[told.place].probabilities(told), told.cause)
        alone += verdict == why.RIGHT
        few += verdict in NAMED
    if not score.of:
        return ["no week of `why` at these places is kept: no figure beside it."]
    return [
        f"on {score.of} weeks of one fault that `why` was asked about: the observer "
        f"{score.text()}; `why` right and alone {alone / score.of:.0%}, right or one of two "
        f"{few / score.of:.0%}."
    ]


def asked_of(places: Container[str], rows: Rows) -> Iterator[tuple[WeekSigns, str]]:
    """The weeks with one fault at these places that `why` was asked about, and the verdict."""
    for case, row in rows.items():
        kind, place = case.split("/")[:2]
        verdict = why.verdict(case, row)
        if kind != ONE or place not in places or verdict == why.NEVER_RAN:
            continue
        told = signs_of_week(case)
        if told is not None:
            yield told, verdict


def named_as_why(shares: Mapping[str, float]) -> list[str]:
    """One cause alone where it is so sure of it, else two."""
    likeliest = sorted(shares, key=lambda cause: -shares[cause])
    return likeliest[: 1 if shares[likeliest[0]] >= SURE_FROM else why.FEW]


PART = Part(
    "bound",
    cases,
    attempt,
    "What an observer of the same signs could tell of one fault, by simulation; beside it `why`.",
    verdict=lambda case, row: "never ran with it" if "never ran" in row else "drawn",
    allowed={},
    summary=summary,
    made_of=(*MADE_OF, "host/rillkeeper/runlog", *SIGNS_OF, "tests/campaign/week_signs.py"),
    endless=True,
)
