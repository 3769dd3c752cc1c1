"""What two sensors could tell of two faults at once, by simulation, and `why` on the same weeks.

An observer is told of each week what no owner knows: when each of the two began, that there are
two, and how the bench draws them (``why_weeks.py``). It gets the signs of `why` before the two,
between and after, and how the board ended its runs. What a pair of causes would do there it puts
together from the draws with one fault that are kept of ``bound``: a week with the first, and on
top what a week with the second changed. Of all such sums at a place it makes a Gaussian for each
pair, in the order in which they began. How far two faults in one garden are from such a sum it has
seen on other weeks with two, which it was shown: by their spread the Gaussians are widened
(regularised as in ``bound.py``, by what is best on the weeks shown, each left out in its turn).

It says which two causes are the likeliest, and, as `why` may name two at each of two troubles,
which four most likely hold them. With so few draws a better observer may exist. Beside it stands
`why` on weeks that the observer was not shown and nobody tuned on; and, on weeks with one fault
that are drawn in turn with these, `why` beside the observer of ``bound.py``.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, permutations, product

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import FINE
from rillkeeper.inquiry.why.signs import SIGN_COUNT
from tests.campaign import bound, why
from tests.campaign.bound import FOLDS, SITES, covariance_of
from tests.campaign.kept import Kept
from tests.campaign.part import Part, Row, Rows
from tests.campaign.week_signs import (
    NOTHING,
    PairSigns,
    WeekSigns,
    bend,
    mean_of,
    signs_of_pair,
    unbend,
)
from tests.campaign.why_weeks import FAULTS, ONE, TWO

Floats = NDArray[np.float64]

FIRST_SEED = 70_000_000
"""Of the weeks that are shown; those asked about begin with the seed given."""
SHOWN_EACH = 6
"""So many are shown for each that is asked about."""
PAIRS = tuple(combinations(FAULTS, 2))
_STRIDE = 37
"""Through all 136 pairs, in turn."""
LEAST = 60
"""Weeks shown, before anything is said."""
TO_SHOWN, TO_DIAGONAL = (0.2, 0.5), (0.1, 0.3)
STAYS = 0.9
"""Chance that the board ends with both faults as it did with the first alone, whatever the second
does (common practice, no source)."""
GROUPS = 2 * why.FEW
"""Causes in two groups."""
_MANY, _PRIME = 1000, 7919
"""So many sums are enough to see how they spread, taken from everywhere among them."""
Order = tuple[str, str]


def cases(first: int) -> Iterator[str]:
    """Pairs to be shown, then one to ask about, and one fault alone; without an end."""
    causes = tuple(FAULTS)
    turn = shown = 0
    while True:
        for _ in range(SHOWN_EACH):
            yield f"{TWO}/{shown % SITES}/{FIRST_SEED + shown}/{_pair(shown)}"
            shown += 1
        place = turn % SITES
        yield f"{TWO}/{place}/{first + 2 * turn}/{_pair(turn)}"
        yield f"{ONE}/{place}/{first + 2 * turn + 1}/{causes[turn % len(causes)]}"
        turn += 1


def _pair(number: int) -> str:
    return "/".join(PAIRS[number * _STRIDE % len(PAIRS)])


def attempt(case: str) -> Row:
    """Draw one week, keep what can be told of it, and what `why` said where it is asked about."""
    said = {"why": why.attempt(case)} if is_asked(case) else {}
    if _one(case):
        return said
    told = signs_of_pair(case)
    if told is None:
        return {"never ran": True, **said}
    return {**row_of(told), **said}


def row_of(told: PairSigns) -> Row:
    """To be kept."""
    return {
        "levels": [_kept(row) for row in told.levels],
        "trends": _kept(told.trends),
        "ends": told.ends,
        "causes": told.causes,
    }


def is_asked(case: str) -> bool:
    """Whether `why` is asked about it too; no observer is shown it."""
    return int(case.split("/")[2]) < FIRST_SEED


def _one(case: str) -> bool:
    return case.startswith(f"{ONE}/")


def _kept(row: Iterable[float]) -> list[float | None]:
    return [None if np.isnan(one) else round(float(one), 4) for one in row]


def again(case: str, row: Row) -> PairSigns:
    """From what was kept."""
    levels, trends = (np.array(row[key], dtype=float) for key in ("levels", "trends"))
    first, second = row["causes"]
    return PairSigns(case, levels, trends, tuple(row["ends"]), (first, second))


def features_of(levels: tuple[Floats, Floats, Floats], trends: Floats) -> Floats:
    """Bent: between, after, the change at each beginning, and that at both together."""
    before, between, after = levels
    changes = (between - before, after - between, after - before)
    return np.concatenate([*map(bend, (between, after, *changes)), trends], axis=-1)


_TOGETHER = slice(4 * SIGN_COUNT, 5 * SIGN_COUNT)


def seen(told: PairSigns) -> Floats:
    """The same of a week; what both changed together only where nothing lies between."""
    before, between, after = map(unbend, told.levels)
    found = features_of((before, between, after), told.trends)
    found[_TOGETHER] = np.where(np.isnan(between), found[_TOGETHER], np.nan)
    return found


class Ends:
    """How the board ends with each of two, by how it ends with one alone."""

    def __init__(self, by_state: Mapping[str, list[WeekSigns]]) -> None:
        self._ends = {state: Counter(one.end for one in of) for state, of in by_state.items()}
        self._all_ends = sum(self._ends.values(), Counter())

    def chance(self, first: str, second: str, between: str | None, after: str) -> float:
        """How it ended between the two, and with both."""
        by_first = {end: self._share(first, end) for end in {FINE, after}}
        by_second = {end: self._share(second, end) for end in {FINE, after}}
        before = 1.0
        if between is not None:
            before = self._share(first, between)
            by_first = {
                end: STAYS * (end == between) + (1.0 - STAYS) * share
                for end, share in by_first.items()
            }
        fine = by_first[FINE] * by_second[FINE]
        if after == FINE:
            return before * fine
        alone = by_first[after] * by_second[FINE] + by_second[after] * by_first[FINE]
        stopped = (1.0 - by_first[FINE], 1.0 - by_second[FINE])
        either = 0.5 * (by_first[after] * stopped[1] + by_second[after] * stopped[0])
        return before * max(alone + either, 1e-6)

    def _share(self, cause: str, end: str) -> float:
        of_all = self._all_ends[end] / self._all_ends.total() if end in self._all_ends else 0.01
        ends = self._ends[cause]
        return float((ends[end] + of_all) / (ends.total() + 1.0))


class Sums:
    """What the draws with one fault at a place make of each two, in order; where sound weeks are
    among them, nothing is a cause as well, and may be there twice."""

    def __init__(self, drawn: Iterable[WeekSigns]) -> None:
        drawn = list(drawn)
        self.causes = sorted({one.cause for one in drawn})
        by_cause = {c: [one for one in drawn if one.cause == c] for c in self.causes}
        twice = [(NOTHING, NOTHING)] if NOTHING in by_cause else []
        self.orders: tuple[Order, ...] = (*twice, *permutations(self.causes, 2))
        self.rests, means = {}, []
        for order in self.orders:
            rows = _sums(*(by_cause[cause] for cause in order))
            means.append(mean_of(rows))
            some = rows[_PRIME * np.arange(min(_MANY, len(rows))) % len(rows)]
            self.rests[order] = some - means[-1]
        common = np.nan_to_num(mean_of(np.array(means)))
        self.means = np.where(np.isnan(means), common, means)
        self._ends = Ends(by_cause)
        self._spreads: dict[float, Floats] = {}

    def off(self, told: PairSigns) -> Floats:
        """How far a week lies from the sums of its own truth."""
        return np.asarray(seen(told) - self.means[self.orders.index(told.causes)])

    def spreads(self, to_diagonal: float) -> Floats:
        """Covariances of all, in order."""
        if to_diagonal not in self._spreads:
            pooled = covariance_of(np.concatenate(list(self.rests.values())), to_diagonal)
            each = (covariance_of(rows, to_diagonal, pooled) for rows in self.rests.values())
            self._spreads[to_diagonal] = np.array(list(each))
        return self._spreads[to_diagonal]

    def log_chance(self, ends: tuple[str | None, str]) -> Floats:
        """How the board ended it, by pair."""
        return np.log([self._ends.chance(*order, *ends) for order in self.orders])


def _sums(first: list[WeekSigns], second: list[WeekSigns]) -> Floats:
    """Each of the one with each of the other on top."""
    before, alone, trends = (part[:, None] for part in _parts(first))
    was, then, more = (part[None, :] for part in _parts(second))
    whole = np.zeros((len(first), len(second), 1))
    levels = (before + whole, alone + whole, alone + then - was)
    along = np.concatenate([trends + whole, np.nan_to_num(trends) + more], axis=-1)
    return features_of(levels, along).reshape(whole.size, -1)


def _parts(drawn: list[WeekSigns]) -> tuple[Floats, Floats, Floats]:
    """Signs before and with the fault, and their trends; a week a row."""
    rows = np.array([one.signs for one in drawn])
    felt, change, trends = np.split(rows, [SIGN_COUNT, 2 * SIGN_COUNT], axis=1)
    alone = unbend(felt)
    return alone - unbend(change), alone, trends


class Observer:
    """Gaussians of all pairs at one place."""

    def __init__(self, sums: Sums, shown: Iterable[Floats], to_shown: float, to_diagonal: float):
        """``shown`` are weeks with two faults, less the sums of their truths."""
        garden = covariance_of(np.array(list(shown)), to_diagonal)
        self.sums = sums
        self.spreads = to_shown * garden + (1.0 - to_shown) * sums.spreads(to_diagonal)

    def probabilities(self, told: PairSigns) -> dict[Order, float]:
        """Of each two causes, in the order in which they began."""
        features = seen(told)
        known = ~np.isnan(features)
        rest = (features - self.sums.means)[:, known]
        spreads = self.spreads[:, known][:, :, known]
        solved = np.linalg.solve(spreads, rest[:, :, None])[:, :, 0]
        square = np.sum(rest * solved, axis=1) + np.linalg.slogdet(spreads)[1]
        logs = self.sums.log_chance(told.ends) - 0.5 * square
        shares = np.exp(logs - np.logaddexp.reduce(logs))
        return dict(zip(self.sums.orders, map(float, shares), strict=True))


@dataclass(frozen=True)
class Said:
    """What an observer says of a week."""

    truth: frozenset[str]
    pair: frozenset[str]
    """The two likeliest causes."""
    four: frozenset[str]
    """Those that most likely hold both."""
    groups: frozenset[str]
    """Named as `why` does, at each beginning one alone where it is so sure, else two."""

    @property
    def both(self) -> bool:
        """Whether they are the truth."""
        return self.pair == self.truth

    @property
    def held(self) -> bool:
        """Whether the four hold it."""
        return self.truth <= self.four

    @classmethod
    def of(cls, told: PairSigns, probabilities: dict[Order, float]) -> "Said":
        """Whichever of two came first."""
        pairs: dict[frozenset[str], float] = defaultdict(float)
        for order, share in probabilities.items():
            pairs[frozenset(order)] += share
        causes = sorted({cause for order in probabilities for cause in order})
        shares = np.zeros((len(causes), len(causes)))
        for pair, share in pairs.items():
            low, high = sorted(map(causes.index, pair))
            shares[low, high] = share
        fours = np.array(list(combinations(range(len(causes)), GROUPS)))
        held = sum(
            shares[fours[:, low], fours[:, high]] for low, high in combinations(range(GROUPS), 2)
        )
        four = frozenset(causes[place] for place in fours[int(np.argmax(held))])
        groups = [group_at(probabilities, place) for place in (0, 1)]
        return cls(
            truth=frozenset(told.causes),
            pair=max(pairs, key=lambda pair: pairs[pair]),
            four=four,
            groups=frozenset().union(*groups),
        )


def group_at(probabilities: dict[Order, float], place: int) -> list[str]:
    """Of what began first, or second."""
    shares: dict[str, float] = defaultdict(float)
    for order, share in probabilities.items():
        shares[order[place]] += share
    return bound.named_as_why(shares)


def left_out(
    sums: dict[str, Sums], shown: list[PairSigns], to_shown: float, to_diagonal: float
) -> list[Said]:
    """Each week by an observer that was not shown it."""
    off = [sums[one.place].off(one) for one in shown]
    found = []
    for fold in range(FOLDS):
        theirs = [row for place, row in enumerate(off) if place % FOLDS != fold]
        observers = {
            place: Observer(one, theirs, to_shown, to_diagonal) for place, one in sums.items()
        }
        for told in shown[fold::FOLDS]:
            found.append(Said.of(told, observers[told.place].probabilities(told)))
    return found


def summary(rows: Rows) -> list[str]:
    """The bound, and `why` beside it, with two faults and with one."""
    told = bound.told_of(Kept(bound.PART).rows)
    sums = {place: Sums(mine) for place, mine in told.items()}
    pairs = [again(case, row) for case, row in rows.items() if "levels" in row]
    shown = [one for one in pairs if not is_asked(one.case) and one.place in sums]
    if len(sums) < SITES or len(shown) < LEAST:
        return [f"fewer than {LEAST} weeks shown, or no `bound` is kept: no bound yet."]
    hows = {how: left_out(sums, shown, *how) for how in product(TO_SHOWN, TO_DIAGONAL)}
    how = max(hows, key=lambda one: sum(said.both + said.held for said in hows[one]))
    off = [sums[one.place].off(one) for one in shown]
    observers = {place: Observer(one, off, *how) for place, one in sums.items()}
    asked = {
        one.case: Said.of(one, observers[one.place].probabilities(one))
        for one in pairs
        if is_asked(one.case) and why.verdict(one.case, rows[one.case]["why"]) != why.NEVER_RAN
    }
    return [
        f"an observer that knows when each of two faults began, on {len(shown)} weeks at {SITES} "
        f"places, each left out of what it was shown: {_observed(hows[how])}.",
        *_two_beside(asked, rows),
        *bound.beside(told, with_one(rows)),
    ]


def with_one(rows: Rows) -> Rows:
    """What `why` said of the weeks with one fault."""
    return {case: row["why"] for case, row in rows.items() if _one(case)}


def _two_beside(asked: dict[str, Said], rows: Rows) -> list[str]:
    if not asked:
        return []
    named = {case: why.named(rows[case]["why"]) for case in asked}
    verdicts = Counter(why.verdict(case, rows[case]["why"]) for case in asked)
    alone = sum(named[case] == one.truth for case, one in asked.items())
    beside = sum(why.names_beside(case, rows[case]["why"]) for case in asked)
    found = [
        f"of {len(asked)} weeks that nobody was shown: the observer {_observed(asked.values())}; "
        f"`why` names both alone in {_share(alone, len(asked))}, both in "
        f"{_share(verdicts['both named'], len(asked))}, one in {verdicts['one named']}, and a "
        f"trouble that is not there in {beside}."
    ]
    for cause in FAULTS:
        mine = [case for case, one in asked.items() if cause in one.truth]
        by_observer = sum(cause in asked[case].four for case in mine)
        by_why = sum(cause in named[case] for case in mine)
        found.append(f"{cause}: the observer {by_observer}, `why` {by_why} of {len(mine)}.")
    return found


def _observed(said: Iterable[Said]) -> str:
    said = list(said)
    both, held = sum(one.both for one in said), sum(one.held for one in said)
    grouped = sum(one.truth <= one.groups for one in said)
    return (
        f"the two likeliest causes are the truth in {_share(both, len(said))}, the {GROUPS} "
        f"likeliest hold both in {_share(held, len(said))}, groups named as `why` names them in "
        f"{_share(grouped, len(said))}"
    )


def _share(found: int, of: int) -> str:
    return f"{found / max(of, 1):.0%}"


PART = Part(
    "both",
    cases,
    attempt,
    "What an observer of the same signs could tell of two faults, by simulation; beside it `why`, "
    "with two and with one.",
    verdict=lambda case, row: why.verdict(case, row["why"]) if "why" in row else "shown",
    allowed={},
    summary=summary,
    made_of=(*why.PART.made_of, "tests/campaign/week_signs.py"),
    endless=True,
)
