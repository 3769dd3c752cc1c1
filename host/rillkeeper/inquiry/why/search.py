"""Which troubles there are: the set that explains a log best, found one by one.

Each of the likeliest two is taken for true and another looked for beside it; then the first once
more beside that other, and so on until the best pair stays the best: where two faults together
look like a third, or where the first was taken for worse than it is, it is found again otherwise.
The second must then be held as it is beside the first: as it was when it explained all alone, it
leaves nothing for the first.
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


Pairs = dict[frozenset[str], _Set]
"""By the names of both causes, each as likely as it was found."""


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
        pairs = self._pairs(loudest, less)
        sums = [one.log_sum for one in pairs.values()]
        nothing_more = _less_likely(less, sums)
        if nothing_more >= FURTHER_FROM:
            return [alone]
        best = _likeliest(pairs)
        first, second = sorted(best, key=lambda cause: -_best_of(self.weighed, cause).log_sum)
        found = [
            self._ranking(self._of_pairs(second, pairs), alone.nothing),
            self._ranking(self._of_pairs(first, pairs), nothing_more),
        ]
        return found + self._still_more(pairs[best], _log_sum(sums), most - len(found))

    def _pairs(self, loudest: Sequence[str], less: float) -> Pairs:
        """Every two that were weighed; of the best two one was looked at as it is beside the
        other, however unlikely it was before. One that was looked at already is so again where
        two will be named: ``less`` is the logarithm for one trouble."""
        pairs: Pairs = {}
        for cause in loudest:
            self._look(_best_of(self.weighed, cause), pairs)
        settled: set[frozenset[str]] = set()
        while (best := _likeliest(pairs)) not in settled:
            settled.add(best)
            first, second = pairs[best].held.causes
            sums = [one.log_sum for one in pairs.values()]
            if second in self._beside and _less_likely(less, sums) >= FURTHER_FROM:
                break
            self._look(self._beside[first].best_of(second), pairs)
        return pairs

    def _look(self, taken: Weighed, pairs: Pairs) -> None:
        """Beside one that is taken for true in this way; what is likelier goes to the pairs."""
        cause = taken.hypotheses.effect.cause.name
        self._beside[cause] = self._look_beside(_held(taken, self.data))
        for other, both in self._beside[cause].sets.items():
            pair = frozenset((cause, other))
            if pair not in pairs or both.log_sum > pairs[pair].log_sum:
                pairs[pair] = both

    def _of_pairs(self, taken: str, pairs: Pairs) -> list[Weighed]:
        """All others beside one that is taken for true; a pair as likely as it was found from
        either side."""
        weighed = list(self._beside[taken].weighed)
        names = [one.hypotheses.effect.cause.name for one in weighed]
        for pair, both in pairs.items():
            for cause in pair - {taken} if taken in pair else ():
                mine = [place for place, name in enumerate(names) if name == cause]
                best = max(mine, key=lambda place: weighed[place].log_sum)
                more = max(both.log_sum - weighed[best].log_sum, 0.0)
                weighed[best] = Weighed(weighed[best].hypotheses, weighed[best].log_joint + more)
        return weighed

    def _still_more(self, held: _Set, less: float, most: int) -> list[Ranking]:
        """The rankings of what is wrong beside a set, one after the other."""
        found: list[Ranking] = []
        while len(found) < most:
            beside = self._look_beside(held.best_ways())
            sums = [one.log_sum for one in beside.sets.values()]
            nothing_more = _less_likely(less, sums)
            if nothing_more >= FURTHER_FROM:
                break
            found.append(self._ranking(beside.weighed, nothing_more))
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

    def _ranking(self, weighed: Sequence[Weighed], nothing: float) -> Ranking:
        total = _log_sum([one.log_sum for one in weighed])
        quiet = total + log(max(nothing, _TINY)) - log1p(-nothing)
        return ranking_of(weighed, quiet, self.attempts, self.base)


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


def _likeliest(pairs: Pairs) -> frozenset[str]:
    return max(pairs, key=lambda pair: pairs[pair].log_sum)


def _best_of(weighed: Sequence[Weighed], cause: str) -> Weighed:
    mine = [one for one in weighed if one.hypotheses.effect.cause.name == cause]
    return max(mine, key=lambda one: one.log_sum)


def _log_sum(logs: Collection[float] | Floats) -> float:
    return float(np.logaddexp.reduce(list(logs)))


def _less_likely(less: float, more: Collection[float]) -> float:
    """Probability of one trouble less, against sets with one more: logarithms."""
    return exp(less - float(np.logaddexp(less, _log_sum(more))))
