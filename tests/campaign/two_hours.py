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

import numpy as np
from numpy.typing import NDArray

from tests.campaign import both, bound, untold
from tests.campaign.both import Order, Sums
from tests.campaign.bound import Floats, covariance_of
from tests.campaign.week_signs import NOTHING, PairSigns

COUNTS = NONE, ALONE, PAIR = range(3)
"""How many faults there may be."""
FREEDOM = 10.0
"""Degrees of it. From 2 to 30 it made no odds: both named in 139 to 143 of 377 weeks left out; by
a Gaussian in 87."""


def count_of(order: Order) -> int:
    """Of faults."""
    return sum(cause != NOTHING for cause in order)


class Observer:
    """All hypotheses at one place."""

    def __init__(
        self, sums: Sums, shown: Sequence[Floats], to_shown: float, to_diagonal: float
    ) -> None:
        """``shown`` are weeks by their count of faults, less the sums of their truths."""
        gardens = np.array([covariance_of(rows, to_diagonal) for rows in shown])
        self.sums = sums
        self.counts = np.array([*map(count_of, sums.orders)])
        own = sums.spreads(to_diagonal)
        self.spreads = to_shown * gardens[self.counts] + (1.0 - to_shown) * own
        self._known = np.zeros(self.spreads.shape[-1], dtype=bool)
        self._inverted: tuple[Floats, Floats]

    def weighed(self, told: PairSigns) -> "Weighed":
        """One week."""
        features = both.seen(told)
        known = ~np.isnan(features)
        inverse, log_size = self._inverse(known)
        rest = (features - self.sums.means)[:, None, known]
        square = (rest @ inverse @ rest.swapaxes(1, 2))[:, 0, 0]
        far = (FREEDOM + known.sum()) * np.log1p(square / FREEDOM)
        logs = self.sums.log_chance(told.ends) - 0.5 * (far + log_size)
        return Weighed(told.causes, self.sums.orders, self.counts, logs)

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
