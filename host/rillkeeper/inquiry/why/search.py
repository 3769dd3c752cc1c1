"""Which troubles there are: the set that explains a log best, found one by one.

Each of the likeliest two is taken for true and another looked for beside it; then the first once
more beside that other, and so on until the best pair stays the best: where two faults together
look like a third, or where the first was taken for worse than it is, it is found again otherwise.
All sets are weighed as a whole on all that was read, and one is believed when it is clearly
likelier than one trouble less.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from math import exp, log, log1p
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import Attempts
from rillkeeper.inquiry.why.hypotheses import Hypotheses
from rillkeeper.inquiry.why.likelihood import Data
from rillkeeper.inquiry.why.onset import quiet_log_chance
from rillkeeper.inquiry.why.rank import Ranking, Weighed, glance_at_all, ranking_of
from rillkeeper.inquiry.why.together import Held, ends_together

Floats = NDArray[np.float64]

FURTHER_FROM = 0.2
"""A further trouble is named where it is four times as likely as nothing more being wrong: what
two do together is not quite the sum of what each does, and the rest would pass for another (common
practice, no source)."""
_STARTS = 2
"""So many of the likeliest single troubles are each taken for true."""
_NEXT = 4
"""So many causes beside those that are taken for true are weighed with them as a whole."""
_ROWS = 5
"""Hypotheses of each."""
_ONSETS = 2
_AROUND = (3, 1)
"""A trouble is taken for true at so many onsets, in so many severities either way of the likeliest
by each: how bad it is was found before the others were known."""
_WAYS = 8
"""Ways in which a set is taken on to a further trouble."""
_TINY = 1e-300


class _Set(NamedTuple):
    """Troubles weighed as a whole."""

    held: Held
    log_joint: Floats
    """Logarithm of the joint probability of each way."""

    @property
    def log_sum(self) -> float:
        """Of all ways together."""
        return _log_sum(self.log_joint)

    def best_ways(self) -> Held:
        """The likeliest first."""
        return self.held.some(np.argsort(-self.log_joint)[:_WAYS])


@dataclass(frozen=True)
class _Beside:
    """All other causes beside troubles that are taken for true."""

    weighed: Sequence[Weighed]
    sets: Mapping[str, _Set]
    """By name of the cause that was added."""

    def best_of(self, cause: str) -> Weighed:
        """The mode of a cause that explains most."""
        return _best_of(self.weighed, cause)


@dataclass
class Search:
    """One log, and what was found out of it so far."""

    data: Data
    attempts: Attempts
    by_mode: Sequence[Hypotheses]
    base: Floats
    """Logarithm of the chance of each end without a trouble."""
    nights: int
    weighed: Sequence[Weighed]
    """Each trouble alone."""
    _beside: dict[str, _Beside] = field(default_factory=dict)
    """By the one that is taken for true."""

    def troubles(self, alone: Ranking, most: int) -> list[Ranking]:
        """The loudest first. ``alone`` is the ranking of one trouble."""
        if most == 1:
            return [alone]
        less = _log_sum([one.log_sum for one in self.weighed])
        loudest = [one.cause.name for one in alone.findings[:_STARTS]]
        pairs = self._pairs(loudest)
        nothing_more = _less_likely(less, pairs.values())
        if nothing_more >= FURTHER_FROM:
            return [alone]
        best = max(pairs, key=lambda pair: pairs[pair])
        first, second = sorted(best, key=lambda cause: -_best_of(self.weighed, cause).log_sum)
        found = [
            self._ranking(self._beside[second], alone.nothing),
            self._ranking(self._beside[first], nothing_more),
        ]
        ways = ((first, second), (second, first))
        sets = [self._beside[one].sets.get(other) for one, other in ways]
        both = max((one for one in sets if one), key=lambda one: one.log_sum)
        return found + self._still_more(both, _log_sum(pairs.values()), most - len(found))

    def _pairs(self, loudest: Sequence[str]) -> dict[frozenset[str], float]:
        """The logarithm of the joint probability of every two that were weighed; of the best two
        each was looked at beside the other, however unlikely they were before."""
        for cause in loudest:
            start = _held(_best_of(self.weighed, cause), self.data)
            self._beside[cause] = self._look_beside(start)
        while True:
            pairs: dict[frozenset[str], float] = {}
            for first, beside in self._beside.items():
                for second, both in beside.sets.items():
                    pair = frozenset((first, second))
                    pairs[pair] = max(pairs.get(pair, -np.inf), both.log_sum)
            best = max(pairs, key=lambda pair: pairs[pair])
            missing = [cause for cause in best if cause not in self._beside]
            if not missing:
                return pairs
            (cause,) = missing
            (other,) = best - {cause}
            start = _held(self._beside[other].best_of(cause), self.data)
            self._beside[cause] = self._look_beside(start)

    def _still_more(self, held: _Set, less: float, most: int) -> list[Ranking]:
        """The rankings of what is wrong beside a set, one after the other."""
        found: list[Ranking] = []
        while len(found) < most:
            beside = self._look_beside(held.best_ways())
            sums = [one.log_sum for one in beside.sets.values()]
            nothing_more = _less_likely(less, sums)
            if nothing_more >= FURTHER_FROM:
                break
            found.append(self._ranking(beside, nothing_more))
            held = max(beside.sets.values(), key=lambda one: one.log_sum)
            less = _log_sum(sums)
        return found

    def _look_beside(self, held: Held) -> _Beside:
        """All other causes beside these; the likeliest of them weighed as a whole."""
        others = [one for one in self.by_mode if one.effect.cause.name not in held.causes]
        ends = held.log_chances[0]
        beside = [_with_ends(one, ends, self.attempts) for one in others]
        weighed = glance_at_all(held.left(self.data), beside)
        likeliest: dict[str, int] = {}
        for place in np.argsort([-one.log_sum for one in weighed]):
            likeliest.setdefault(others[place].effect.cause.name, int(place))
        quiet = quiet_log_chance(self.nights)
        found, sets = list(weighed), {}
        for cause, place in list(likeliest.items())[:_NEXT]:
            rows = np.argsort(-weighed[place].log_joint)[:_ROWS]
            rows = rows[np.isfinite(weighed[place].log_joint[rows])]
            another = Held.of(others[place], rows, self.data)
            both = held.with_another(another, self.attempts.outcomes, quiet)
            sets[cause] = _Set(both, both.log_joint(self.data))
            log_joint = np.full(len(weighed[place].log_joint), -np.inf)
            log_joint[rows] = np.logaddexp.reduce(sets[cause].log_joint.reshape(-1, len(rows)))
            found[place] = Weighed(others[place], log_joint)
        done = {likeliest[cause] for cause in sets}
        rest = [place for place in range(len(found)) if place not in done]
        # What was not weighed as a whole is at most as likely as the last that was.
        shift = float(held.log_prior[0]) - quiet
        last = min(one.log_sum for one in sets.values())
        shift = min(shift, last - max(found[place].log_sum for place in rest))
        for place in rest:
            found[place] = Weighed(others[place], weighed[place].log_joint + shift)
        return _Beside(found, sets)

    def _ranking(self, beside: _Beside, nothing: float) -> Ranking:
        total = _log_sum([one.log_sum for one in beside.weighed])
        quiet = total + log(max(nothing, _TINY)) - log1p(-nothing)
        return ranking_of(beside.weighed, quiet, self.attempts, self.base)


def _held(weighed: Weighed, data: Data) -> Held:
    """One trouble at its likeliest onsets, in severities around the likeliest."""
    hypotheses, log_joint = weighed.hypotheses, weighed.log_joint
    rows: list[int] = []
    onsets: list[int] = []
    for row in map(int, np.argsort(-log_joint)):
        onset = int(hypotheses.onset[row])
        if onset in onsets or not np.isfinite(log_joint[row]):
            continue
        mine = np.flatnonzero(hypotheses.onset == onset)
        near = mine[np.abs(mine - row) <= _AROUND[len(onsets)]]
        rows += [row, *(int(one) for one in near if one != row)]
        onsets.append(onset)
        if len(onsets) == _ONSETS:
            break
    return Held.of(hypotheses, np.array(rows), data)


def _with_ends(hypotheses: Hypotheses, others: Floats, attempts: Attempts) -> Hypotheses:
    """The same trouble beside others, of which the chance of each end is given."""
    chances = hypotheses.effect.log_chances
    ends = ends_together(attempts.outcomes, chances, others[None, :])
    return hypotheses.with_ends(ends, others)


def _best_of(weighed: Sequence[Weighed], cause: str) -> Weighed:
    mine = [one for one in weighed if one.hypotheses.effect.cause.name == cause]
    return max(mine, key=lambda one: one.log_sum)


def _log_sum(logs: Collection[float] | Floats) -> float:
    return float(np.logaddexp.reduce(list(logs)))


def _less_likely(less: float, more: Collection[float]) -> float:
    """Probability of one trouble less, against sets with one more: logarithms."""
    return exp(less - float(np.logaddexp(less, _log_sum(more))))
