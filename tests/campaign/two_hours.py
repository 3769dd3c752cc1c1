"""A week with two hours at which something may have begun: which causes may be behind it.

For the observer of ``both_untold.py``: none, one or two, each at any of three severities. What
each hypothesis would do it puts together from weeks with one fault and with none, as ``both.py``
does: nothing is a cause among the others. Not a Gaussian stands around it but Student's t, for a
sound week with a mishap lies further off than any Gaussian of the draws allows (Lange, Little and
Taylor, Robust Statistical Modeling Using the t Distribution, J. Am. Stat. Assoc. 84(408), 1989,
881-896).
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import permutations, product

import numpy as np
from numpy.typing import NDArray

from tests.campaign import both, bound, untold
from tests.campaign.both import Order
from tests.campaign.bound import covariance_of
from tests.campaign.week_signs import NOTHING, PairSigns, WeekSigns, mean_of
from tests.campaign.why_weeks import KINDS

Floats = NDArray[np.float64]
State = tuple[str, str]
"""A cause and a severity."""

COUNTS = NONE, ALONE, PAIR = range(3)
"""How many faults there may be."""
FREEDOM = 10.0
"""Degrees of it; of 4 to 30 none was better on weeks left out."""
_EACH_MANIETH = 97
"""So many of the sums are enough to see how all of them spread."""


def count_of(order: Order) -> int:
    """Of faults."""
    return sum(cause != NOTHING for cause in order)


class Sums:
    """What the draws at a place make of each two in order, of one with nothing, and of nothing."""

    def __init__(self, drawn: Iterable[WeekSigns], apart: bool, to_diagonal: float) -> None:
        """``apart``: each severity has a mean of its own."""
        by_state = _by_state(drawn, apart)
        causes = sorted({cause for cause, _ in by_state})
        self.orders: tuple[Order, ...] = ((NOTHING, NOTHING), *permutations(causes, 2))
        self.counts = np.array([*map(count_of, self.orders)])
        of_cause = {cause: [one for one in by_state if one[0] == cause] for cause in causes}
        pairs = [[*product(of_cause[one], of_cause[two])] for one, two in self.orders]
        most = max(map(len, pairs))
        self._pairs = [(of * most)[:most] for of in pairs]
        means, rests = {}, []
        for of in pairs:
            rows = {(one, two): both.sums_of(by_state[one], by_state[two]) for one, two in of}
            means |= {pair: mean_of(each) for pair, each in rows.items()}
            rests.append(np.concatenate([each - means[pair] for pair, each in rows.items()]))
        common = np.nan_to_num(mean_of(np.array([*means.values()])))
        found = np.array([[means[pair] for pair in of] for of in self._pairs])
        self.means = np.where(np.isnan(found), common, found)
        some = np.concatenate([rows[::_EACH_MANIETH] for rows in rests])
        pooled = covariance_of(some, to_diagonal)
        self.spreads = np.array([covariance_of(rows, to_diagonal, pooled) for rows in rests])
        self._ends = both.Ends({"/".join(state): of for state, of in by_state.items()})
        self._log_chances: dict[tuple[str | None, str], Floats] = {}

    def off(self, told: PairSigns) -> Floats:
        """How far a week lies from the sums of its own truth, moderate."""
        return np.asarray(both.seen(told) - self.means[self.orders.index(told.causes), 0])

    def log_chance(self, ends: tuple[str | None, str]) -> Floats:
        """How the board ended it, by pair and severities."""
        if ends not in self._log_chances:
            chances = [
                [self._ends.chance("/".join(one), "/".join(two), *ends) for one, two in of]
                for of in self._pairs
            ]
            self._log_chances[ends] = np.log(chances)
        return self._log_chances[ends]


def _by_state(drawn: Iterable[WeekSigns], apart: bool) -> dict[State, list[WeekSigns]]:
    """By cause and severity, moderate first; all severities as one where they are not apart."""
    by_state: dict[State, list[WeekSigns]] = defaultdict(list)
    for one in sorted(drawn, key=lambda one: KINDS.index(one.case.split("/")[0])):
        by_state[one.cause, one.case.split("/")[0] if apart else ""].append(one)
    return by_state


class Observer:
    """All hypotheses at one place."""

    def __init__(
        self, sums: Sums, shown: Sequence[Floats], to_shown: float, to_diagonal: float
    ) -> None:
        """``shown`` are weeks by their count of faults, less the sums of their truths."""
        gardens = np.array([covariance_of(rows, to_diagonal) for rows in shown])
        self.sums = sums
        self.spreads = to_shown * gardens[sums.counts] + (1.0 - to_shown) * sums.spreads
        self._known = np.zeros(self.spreads.shape[-1], dtype=bool)
        self._inverted: tuple[Floats, Floats]

    def weighed(self, told: PairSigns) -> "Weighed":
        """One week."""
        features = both.seen(told)
        known = ~np.isnan(features)
        inverse, log_size = self._inverse(known)
        rest = (features - self.sums.means)[:, :, known]
        square = np.sum((rest @ inverse) * rest, axis=2)
        far = (FREEDOM + known.sum()) * np.log1p(square / FREEDOM)
        each = self.sums.log_chance(told.ends) - 0.5 * (far + log_size[:, None])
        logs = np.logaddexp.reduce(each, axis=1)
        return Weighed(told.causes, self.sums.orders, self.sums.counts, logs)

    def _inverse(self, known: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """Of the covariances of what is known, and how large they are; kept, for many weeks that
        are asked about one after the other know the same."""
        if not self._known.any() or (known != self._known).any():
            spreads = self.spreads[:, known][:, :, known]
            self._inverted = np.linalg.inv(spreads), np.linalg.slogdet(spreads)[1]
            self._known = known
        return self._inverted


@dataclass(frozen=True, eq=False)
class Weighed:
    """One week, and how likely it is under each hypothesis."""

    truth: Order
    orders: tuple[Order, ...]
    counts: NDArray[np.int_]
    """Of faults in each."""
    logs: Floats
    """Logarithms, all from one origin."""

    def log_share(self, sharpness: float) -> float:
        """Of the truth, by one who is told how many faults there are."""
        log_shares = self._log_shares(count_of(self.truth), sharpness)
        return log_shares[self.truth]

    def said(self, sharpness: float) -> "Said":
        """In names; the likelihoods count with this power where one cause is held against
        another, for with so few draws they are too sure."""
        by_count = [self.logs[self.counts == count] for count in COUNTS]
        none, one, two = (np.logaddexp.reduce(of) - np.log(len(of)) for of in by_count)
        pairs = _exp(self._log_shares(PAIR, sharpness))
        alone: dict[str, float] = defaultdict(float)
        for order, share in _exp(self._log_shares(ALONE, sharpness)).items():
            (cause,) = set(order) - {NOTHING}
            alone[cause] += share
        return Said(
            truth=frozenset(self.truth) - {NOTHING},
            log_fault=float(np.logaddexp(one, two) - np.log(2.0) - none),
            log_second=float(two - one),
            alone=frozenset(bound.named_as_why(alone)),
            two=frozenset().union(*(both.group_at(pairs, place) for place in (0, 1))),
        )

    def _log_shares(self, count: int, sharpness: float) -> dict[Order, float]:
        mine = np.flatnonzero(self.counts == count)
        logs = sharpness * self.logs[mine]
        logs -= np.logaddexp.reduce(logs)
        return {self.orders[place]: float(one) for place, one in zip(mine, logs, strict=True)}


def _exp(logs: dict[Order, float]) -> dict[Order, float]:
    return {order: float(np.exp(log)) for order, log in logs.items()}


@dataclass(frozen=True)
class Least:
    """From which logarithms of a likelihood ratio on something is named, and a second trouble."""

    fault: float
    second: float


@dataclass(frozen=True)
class Said:
    """What is to be named of a week."""

    truth: frozenset[str]
    log_fault: float
    """How much likelier some fault is than none."""
    log_second: float
    """How much likelier two are than one."""
    alone: frozenset[str]
    """Named if there is one."""
    two: frozenset[str]
    """Named if there are two."""

    def finds_two(self, least: Least) -> bool:
        """Whether a second trouble is named."""
        return self.log_fault > least.fault and self.log_second > least.second

    def names(self, least: Least) -> frozenset[str]:
        """Nothing where a fault is not so much likelier; else as `why` does."""
        if self.log_fault <= least.fault:
            return frozenset()
        return self.two if self.finds_two(least) else self.alone

    def found(self, least: Least) -> int:
        """How many of the true ones are named."""
        return len(self.truth & self.names(least))


def least_of(said: Iterable[Said], second_share: float) -> Least:
    """Above it no more sound weeks are named than may be, and no larger share of the weeks with
    one fault gets a second trouble."""
    by_count: dict[int, list[Said]] = defaultdict(list)
    for one in said:
        by_count[len(one.truth)].append(one)
    fault = _above([one.log_fault for one in by_count[NONE]], untold.FALSE_ALARMS)
    ratios = [one.log_second if one.log_fault > fault else -np.inf for one in by_count[ALONE]]
    return Least(fault, _above(ratios, second_share))


def _above(ratios: Iterable[float], share: float) -> float:
    """Above it lie no more than this share."""
    falling = sorted(ratios, reverse=True)
    return falling[min(int(share * len(falling)), len(falling) - 1)]
