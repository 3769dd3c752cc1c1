"""What two sensors could tell of two faults by an observer who is not told that there are two.

The observer of ``both.py`` is told that there are two faults, and how severe they are drawn. This
one is told two hours at which something may have begun: nothing, one fault at either, or two. Each
cause may be mild, moderate or heavy. What two do together, and what one does in a week with a
second hour at which nothing began, it puts together from the draws that are kept of ``bound`` and
``untold``, sound weeks as if nothing were a cause among the others; how far weeks are from such
sums it was shown, of each kind apart: the two faults that ``both`` shows, and the weeks with one
and with none, which are looked at here a second time, with their hours. All hypotheses of one kind
are alike beforehand.

It may name anything in no more sound weeks than `why` may, and a second trouble in no more weeks
with one fault than `why` does: thresholds of two likelihood ratios (Neyman and Pearson, Phil.
Trans. R. Soc. A 231, 1933, 289-337), set on weeks that are left out of its fit. It names as `why`
does, at each of the hours one cause alone where it is so sure of it, else two; how sharply its
likelihoods count for that is what gives the truth of the weeks left out the best logarithmic score
(Good, Rational Decisions, J. R. Stat. Soc. B 14, 1952, 107-114). With so few draws a better
observer may exist: where it is behind `why`, it is no bound of it.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice

import numpy as np

from tests.campaign import both, bound, untold, why
from tests.campaign.both import Sums
from tests.campaign.bound import FOLDS, SITES, Floats
from tests.campaign.kept import Kept
from tests.campaign.part import Part, Row, Rows
from tests.campaign.two_hours import (
    ALONE,
    COUNTS,
    NONE,
    PAIR,
    Least,
    Observer,
    Said,
    Weighed,
    count_of,
    least_of,
)
from tests.campaign.week_signs import PairSigns, WeekSigns, signs_of_pair
from tests.campaign.why_weeks import FAULTS, ONE, SOUND

ONES_EACH = SITES * len(FAULTS)
SOUND_EACH = SITES * untold.SOUND_EACH
LEAST = 60
"""Weeks with each count of faults, before anything is said."""
TO_SHOWN, TO_DIAGONAL = (0.3, 0.5, 0.7), 0.1
SHARPNESS = (1.0, 0.7, 0.5, 0.35, 0.25)


def cases(first: int) -> Iterator[str]:
    """The moderate weeks of ``bound`` and the sound ones of ``untold``, in turn."""
    ones = bound.cases(first)
    sound = (case for case in untold.cases(first) if case.startswith(f"{SOUND}/"))
    while True:
        yield from islice(ones, ONES_EACH)
        yield from islice(sound, SOUND_EACH)


def attempt(case: str) -> Row:
    """One week, as if something might have begun at two hours."""
    told = signs_of_pair(case)
    return {"never ran": True} if told is None else both.row_of(told)


@dataclass(frozen=True)
class Shown:
    """All that an observer is shown."""

    drawn: dict[str, list[WeekSigns]]
    """Weeks with one fault and with none, by place, of which sums are made."""
    weeks: list[PairSigns]
    """Those with two hours, of any count of faults."""

    @classmethod
    def kept(cls, rows: Rows) -> "Shown":
        """What the parts have kept."""
        drawn = bound.told_of(Kept(bound.PART).rows)
        for one in bound.signs_in(Kept(untold.PART).rows):
            if one.place in drawn:
                drawn[one.place].append(one)
        pairs = {c: row for c, row in Kept(both.PART).rows.items() if not both.is_asked(c)}
        of_drawn = {one.case for mine in drawn.values() for one in mine}
        looked_at = {case: row for case, row in rows.items() if case in of_drawn}
        weeks = [
            both.again(case, row)
            for case, row in {**pairs, **looked_at}.items()
            if "levels" in row and case.split("/")[1] in drawn
        ]
        return cls(drawn, weeks)

    @property
    def enough(self) -> bool:
        """Whether anything can be said."""
        counts = [count_of(one.causes) for one in self.weeks]
        return len(self.drawn) == SITES and min(map(counts.count, COUNTS)) >= LEAST

    def split(self, fold: int) -> tuple["Shown", list[PairSigns]]:
        """Without one week of ``FOLDS``, wherever it is, and those weeks."""
        cases = [one.case for mine in self.drawn.values() for one in mine]
        cases += sorted({one.case for one in self.weeks} - set(cases))
        left_out = set(cases[fold::FOLDS])
        drawn = {
            place: [one for one in mine if one.case not in left_out]
            for place, mine in self.drawn.items()
        }
        weeks = [one for one in self.weeks if one.case not in left_out]
        return Shown(drawn, weeks), [one for one in self.weeks if one.case in left_out]

    def observers(self) -> dict[float, dict[str, Observer]]:
        """By how much they are drawn to what was shown, and place."""
        sums = {place: Sums(mine) for place, mine in self.drawn.items()}
        off: list[list[Floats]] = [[] for _ in COUNTS]
        for one in self.weeks:
            off[count_of(one.causes)].append(sums[one.place].off(one))
        rows = [np.array(of) for of in off]
        return {
            to_shown: {
                place: Observer(mine, rows, to_shown, TO_DIAGONAL) for place, mine in sums.items()
            }
            for to_shown in TO_SHOWN
        }


def left_out(shown: Shown) -> dict[float, list[Weighed]]:
    """Each week by observers that were not shown it."""
    found: dict[float, list[Weighed]] = {to_shown: [] for to_shown in TO_SHOWN}
    for fold in range(FOLDS):
        rest, asked = shown.split(fold)
        asked.sort(key=lambda one: np.isnan(both.seen(one)).tobytes())
        for to_shown, observers in rest.observers().items():
            found[to_shown] += [observers[one.place].weighed(one) for one in asked]
    return found


def sharpness_of(weighed: Iterable[Weighed]) -> float:
    """With it the truth is expected best by one who is told how many faults there are."""
    faulty = [one for one in weighed if count_of(one.truth) != NONE]
    return max(SHARPNESS, key=lambda sharp: sum(one.log_share(sharp) for one in faulty))


@dataclass(frozen=True)
class Way:
    """One way to be drawn to what was shown, and what it says of the weeks left out."""

    to_shown: float
    sharpness: float
    least: Least
    said: list[Said]

    @property
    def both(self) -> int:
        """Weeks of which both faults are named."""
        return sum(one.found(self.least) == PAIR for one in self.said)


def _ways(shown: Shown, second_share: float) -> Iterator[Way]:
    for to_shown, weighed in left_out(shown).items():
        sharpness = sharpness_of(weighed)
        said = [one.said(sharpness) for one in weighed]
        least = least_of(said, second_share)
        yield Way(to_shown, sharpness, least, said)


def summary(rows: Rows) -> list[str]:
    """The observer, and `why` beside it."""
    shown = Shown.kept(rows)
    asked = {
        case: row["why"]
        for case, row in Kept(both.PART).rows.items()
        if both.is_asked(case)
        and "never ran" not in row
        and why.verdict(case, row["why"]) != why.NEVER_RAN
    }
    ones = {case: row for case, row in asked.items() if case.startswith(f"{ONE}/")}
    if not shown.enough or not ones:
        return [f"fewer than {LEAST} weeks with two faults, one or none are kept: no bound yet."]
    second_share = sum(map(_second, ones.values())) / len(ones)
    way = max(_ways(shown, second_share), key=lambda one: one.both)
    observers = shown.observers()[way.to_shown]
    said = {}
    for case in asked:
        told = signs_of_pair(case)
        if told is not None and told.place in observers:
            said[case] = observers[told.place].weighed(told).said(way.sharpness)
    return [
        "an observer that knows two hours at which something may have begun, on weeks at "
        f"{SITES} places, each left out of its fit: {_observed(way.said, way.least)}.",
        f"on weeks that nobody was shown: {_observed(said.values(), way.least)}; `why`: "
        f"{_of_why({case: asked[case] for case in said})}.",
        *_by_cause(said, way.least, asked),
    ]


def _observed(said: Iterable[Said], least: Least) -> str:
    said = list(said)
    weeks = [(one.truth, one.names(least), one.finds_two(least)) for one in said]
    told = [(one.truth, one.two, True) for one in said if len(one.truth) == PAIR]
    return f"{_told(weeks)}; told that there are two: {_told(told)}"


def _of_why(rows: Rows) -> str:
    weeks = []
    for case, row in rows.items():
        names = frozenset(why.named(row))
        weeks.append((frozenset(case.split("/")[3:]), names, bool(names) and _second(row)))
    return _told(weeks)


def _second(row: Row) -> bool:
    return len(row["troubles"]) > 1


def _told(weeks: Iterable[tuple[frozenset[str], frozenset[str], bool]]) -> str:
    """Of each week the truth, what is named, and whether a second trouble is."""
    by_count: dict[int, list[tuple[int, int, bool]]] = {count: [] for count in COUNTS}
    for truth, names, second in weeks:
        by_count[len(truth)].append((len(truth & names), len(names), second))
    words = []
    if two := by_count[PAIR]:
        both_of, one_of, neither = (
            sum(found == count for found, _, _ in two) for count in (PAIR, ALONE, NONE)
        )
        words.append(
            f"of {len(two)} weeks with two faults both named in {both_of}, one in {one_of}, "
            f"neither in {neither}, {sum(n for _, n, _ in two) / len(two):.1f} causes a week"
        )
    if one := by_count[ALONE]:
        words.append(
            f"of {len(one)} with one it is named in {sum(found for found, _, _ in one)}, a second "
            f"in {sum(second for _, _, second in one)}"
        )
    if none := by_count[NONE]:
        words.append(f"of {len(none)} sound ones {sum(n > 0 for _, n, _ in none)} blamed")
    return "; ".join(words)


def _by_cause(said: Mapping[str, Said], least: Least, rows: Rows) -> Iterator[str]:
    """Of weeks with two faults."""
    for cause in FAULTS:
        mine = [
            case for case, one in said.items() if len(one.truth) == PAIR and cause in one.truth
        ]
        by_observer = sum(cause in said[case].names(least) for case in mine)
        by_why = sum(cause in why.named(rows[case]) for case in mine)
        yield f"{cause}: the observer {by_observer}, `why` {by_why} of {len(mine)}."


PART = Part(
    "both_untold",
    cases,
    attempt,
    "What an observer could tell of two faults that is not told whether there are two, one or "
    "none, nor how severe; beside it `why`.",
    verdict=bound.PART.verdict,
    allowed={},
    summary=summary,
    made_of=bound.PART.made_of,
    endless=True,
)
