"""What two sensors could tell of one fault, by an observer that is told less: the bound of `why`.

The observer of ``bound.py`` is told that there is a fault, and how severe they are drawn. No owner
knows that, and no sensor tells it. This one has beside those draws others of each cause, milder
and heavier, each a Gaussian of its own, and all of them alike beforehand; and sound weeks with
their mishaps, of which it may name no more than `why` may (one in a hundred: a likelihood ratio
test, Neyman and Pearson, Phil. Trans. R. Soc. A 231, 1933, 289-337). It is still told when the
fault would have begun, and that there is no second. It names as `why` does: one cause alone where
it is so sure of it, else two, or nothing.

It is asked about moderate faults alone: those of ``bound.py``, each left out of the fit in its
turn, and those with one fault that `why` has been asked about in ``both.py``.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from tests.campaign import both, bound
from tests.campaign.bound import FOLDS, LEAST, SITES, TO_COMMON, TO_DIAGONAL
from tests.campaign.kept import Kept
from tests.campaign.part import Part, Rows
from tests.campaign.week_signs import NOTHING, WeekSigns
from tests.campaign.why_weeks import FAULTS, HEAVIER, MILDER, ONE, SOUND

FIRST_SEED = 90_000_000
SOUND_EACH = 5
"""Sound weeks at each place, for one of each cause and severity."""
FALSE_ALARMS = 0.01
"""Of sound weeks, at the most (the goal of `why`)."""
TOLD = float("-inf")
"""The threshold of one who is told that there is a fault."""


def cases(first: int) -> Iterator[str]:
    """One of each cause, milder and heavier, and sound ones, at each place, without an end."""
    seed = FIRST_SEED + 100 * first
    while True:
        for place in range(SITES):
            faults = product((MILDER, HEAVIER), FAULTS)
            for kind, cause in [*faults, *[(SOUND, NOTHING)] * SOUND_EACH]:
                yield f"{kind}/{place}/{seed}/{cause}"
                seed += 1


def state_of(told: WeekSigns) -> str:
    """A cause at one severity, or nothing."""
    kind, _, _, cause = told.case.split("/")
    return f"{kind}/{cause}"


@dataclass(frozen=True)
class Said:
    """What the observer makes of a week."""

    case: str
    log_ratio: float
    """How much likelier some fault is than none."""
    shares: dict[str, float]
    """Of each cause, if there is one."""

    @property
    def sound(self) -> bool:
        """The truth."""
        return self.case.startswith(f"{SOUND}/")

    def names(self, least: float) -> tuple[str, ...]:
        """Nothing where a fault is not so much likelier; else as `why` does."""
        if self.log_ratio <= least:
            return ()
        return tuple(bound.named_as_why(self.shares))

    def right(self, least: float) -> bool:
        """Whether the cause is named."""
        return self.case.split("/")[3] in self.names(least)


class Observer(bound.Observer):
    """Every cause at three severities, and nothing."""

    def __init__(self, told: list[WeekSigns], to_common: float, to_diagonal: float) -> None:
        super().__init__(told, to_common, to_diagonal, state_of)

    def of(self, told: WeekSigns) -> Said:
        """One week."""
        logs = {state: self.log_likelihood(told, state) for state in self.states}
        nothing = logs.pop(f"{SOUND}/{NOTHING}")
        by_cause = defaultdict(list)
        for state, log in logs.items():
            by_cause[state.split("/")[1]].append(log)
        means = {
            cause: np.logaddexp.reduce(of) - np.log(len(of)) for cause, of in by_cause.items()
        }
        whole = np.logaddexp.reduce(list(means.values()))
        shares = {cause: float(np.exp(mean - whole)) for cause, mean in means.items()}
        return Said(told.case, float(whole - np.log(len(means)) - nothing), shares)


def left_out(told: list[WeekSigns], to_common: float, to_diagonal: float) -> list[Said]:
    """Each moderate and each sound week, by an observer that was not shown it."""
    found = []
    for fold in range(FOLDS):
        shown = [one for place, one in enumerate(told) if place % FOLDS != fold]
        observer = Observer(shown, to_common, to_diagonal)
        asked = (one for one in told[fold::FOLDS] if one.case.split("/")[0] in (ONE, SOUND))
        found += [observer.of(one) for one in asked]
    return found


def threshold_of(said: Iterable[Said]) -> float:
    """Above it lie no more of the sound weeks than may be named."""
    ratios = sorted((one.log_ratio for one in said if one.sound), reverse=True)
    return ratios[int(FALSE_ALARMS * len(ratios))]


def summary(rows: Rows) -> list[str]:
    """The bound, and `why` beside it."""
    places = bound.told_of(Kept(bound.PART).rows)
    for one in bound.signs_in(rows):
        if one.place in places:
            places[one.place].append(one)
    counts = [sum(state_of(one) == f"{SOUND}/{NOTHING}" for one in of) for of in places.values()]
    if len(places) < SITES or min(counts) < SOUND_EACH * LEAST:
        return [f"fewer than {LEAST} draws of each, or no `bound` is kept: no bound yet."]
    ways = {
        how: [one for told in places.values() for one in left_out(told, *how)]
        for how in product(TO_COMMON, TO_DIAGONAL)
    }
    how = max(ways, key=lambda one: _right(ways[one], threshold_of(ways[one])))
    least = threshold_of(ways[how])
    faulty = [one for one in ways[how] if not one.sound]
    told_how = max(ways, key=lambda one: _right(ways[one], TOLD))
    found = [
        "an observer that knows the onset, and neither the severity nor whether there is a fault: "
        f"of {len(faulty)} weeks of one fault at {SITES} places, each left out of its fit, right "
        f"or one of two {_share(faulty, least)}, at most one in a hundred of "
        f"{len(ways[how]) - len(faulty)} sound weeks named; told that there is one "
        f"{_share(ways[told_how], TOLD)}."
    ]
    for cause in FAULTS:
        mine = [one for one in faulty if one.case.endswith(f"/{cause}")]
        silent = sum(not one.names(least) for one in mine)
        found.append(f"{cause}: {_right(mine, least)} of {len(mine)}, nothing named in {silent}.")
    verdicts = list(bound.asked_of(places, both.with_one(Kept(both.PART).rows)))
    if not verdicts:
        return [*found, "no week of one fault that `why` was asked about is kept."]
    asked = [told for told, _ in verdicts]
    by_why = sum(verdict in bound.NAMED for _, verdict in verdicts)
    said, told_said = (_said(places, way, asked) for way in (how, told_how))
    return [
        *found,
        f"on {len(asked)} weeks of one fault that `why` was asked about, right or one of two: the "
        f"observer {_share(said, least)}, told that there is one {_share(told_said, TOLD)}, `why` "
        f"{by_why / len(asked):.0%}.",
    ]


def _right(said: Iterable[Said], least: float) -> int:
    return sum(one.right(least) for one in said if not one.sound)


def _share(said: Iterable[Said], least: float) -> str:
    faulty = [one for one in said if not one.sound]
    return f"{_right(faulty, least) / len(faulty):.0%}"


def _said(
    places: dict[str, list[WeekSigns]], how: tuple[float, float], asked: list[WeekSigns]
) -> list[Said]:
    observers = {place: Observer(told, *how) for place, told in places.items()}
    return [observers[one.place].of(one) for one in asked]


PART = Part(
    "untold",
    cases,
    bound.attempt,
    "What an observer could tell of one fault that is not told whether there is one, nor how "
    "severe; beside it `why`.",
    verdict=bound.PART.verdict,
    allowed={},
    summary=summary,
    made_of=bound.PART.made_of,
    endless=True,
)
