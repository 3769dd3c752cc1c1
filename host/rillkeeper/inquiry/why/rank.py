"""The causes in the order of their probability, and which of them cannot be told apart."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import Attempts
from rillkeeper.inquiry.why.causes import CAUSES, Cause
from rillkeeper.inquiry.why.failure_modes import FailureMode
from rillkeeper.inquiry.why.hypotheses import Hypotheses
from rillkeeper.inquiry.why.likelihood import ROUNDS, Added, Data, Screen, robust_log_evidence
from rillkeeper.inquiry.why.onset import Onset, quiet_log_chance

Floats = NDArray[np.float64]

SURE_FROM = 0.8
"""A cause with so much of the probability that something is wrong is named alone; else two, and
the answer says which others are not ruled out."""
NAMED_MOST = 2
"""Whoever is told more to look at knows no better where to begin."""
_LOOKED_AT, _GLANCED_AT = 10, 3
"""So many hypotheses of each mode are looked at closely by each quick score..."""
_GLANCE_ROUNDS = 2
_BESIDE_NOTHING = 12.0
"""...or only so few, where by these the mode is so many e-folds less likely than the best."""
_SAME = 1e-3
"""E-folds by which two hypotheses are apart that a quick score tells apart. Where severities look
alike in what was read their scores differ by rounding alone, and by another on another machine."""
_MUCH = log(20.0)


@dataclass(frozen=True)
class Finding:
    """One cause, with its likeliest onset."""

    cause: Cause
    probability: float
    mode: FailureMode
    onset: Onset
    severity: float
    """At its worst so far, in parts of the mode; the mean over what is likely."""
    since: int
    """Day number of the night in which it begins."""
    added: Floats
    """What it adds by its likeliest onset: attempt by sign."""
    step: Floats
    """What the next milder severity adds less."""
    log_chances: Floats
    """Logarithm of the chance of each attempt's end."""
    explains: NDArray[np.bool_]
    """Attempts whose end is much likelier with it than without."""


@dataclass(frozen=True)
class Ranking:
    """All causes weighed against nothing more being wrong."""

    nothing: float
    """Probability that nothing (more) is wrong."""
    findings: tuple[Finding, ...]
    """Likeliest first."""
    alike: tuple[Cause, ...]
    """The two likeliest causes of the first trouble; cheapest look first. Empty where the first is
    named alone."""


@dataclass(frozen=True)
class Weighed:
    """Hypotheses of one mode with the logarithm of the joint probability of each."""

    hypotheses: Hypotheses
    log_joint: Floats

    @property
    def log_sum(self) -> float:
        """Of all of them together."""
        return float(np.logaddexp.reduce(self.log_joint))


def quiet_joint(data: Data, base: Floats, nights: int) -> float:
    """Logarithm of the joint probability that nothing is wrong."""
    evidence = robust_log_evidence(data, Added.nothing(len(data.y)))[0]
    return quiet_log_chance(nights) + float(base.sum()) + float(evidence)


def weigh_all(
    data: Data,
    by_mode: Sequence[Hypotheses],
    progress: Callable[[float], None] = lambda share: None,
) -> list[Weighed]:
    """The hypotheses of each mode; closely where at a glance it may be the one."""
    screened = _screened(data, by_mode)
    weighed = [one.at_a_glance(data) for one in screened]
    best = max((one.log_sum for one in weighed), default=0.0)
    for place, one in enumerate(screened, start=1):
        if weighed[place - 1].log_sum > best - _BESIDE_NOTHING:
            weighed[place - 1] = one.weighed(data, _LOOKED_AT)
        progress(place / len(by_mode))
    return weighed


def glance_at_all(data: Data, by_mode: Sequence[Hypotheses]) -> list[Weighed]:
    """The same by a few hypotheses of each mode alone, and roughly."""
    return [one.at_a_glance(data) for one in _screened(data, by_mode)]


def ranking_of(
    weighed: Sequence[Weighed], quiet: float, attempts: Attempts, base: Floats
) -> Ranking:
    """The causes, beside nothing (more) being wrong with the joint probability ``quiet``, as a
    logarithm."""
    total = float(np.logaddexp.reduce([quiet, *(one.log_sum for one in weighed)]))
    findings = []
    for cause in CAUSES:
        of_cause = [one for one in weighed if one.hypotheses.effect.cause is cause]
        if of_cause:
            findings.append(_finding(cause, of_cause, total, attempts, base))
    findings.sort(key=lambda finding: -finding.probability)
    return Ranking(float(np.exp(quiet - total)), tuple(findings), _alike(findings))


@dataclass(frozen=True)
class _Screened:
    """Hypotheses of one mode, by some quick scores."""

    hypotheses: Hypotheses
    known: Floats
    """Logarithm of prior and chance of the ends, by hypothesis."""
    orders: tuple[NDArray[np.int_], ...]
    """The likeliest by each of the scores, the best last; none where nothing was read."""

    @classmethod
    def of(cls, hypotheses: Hypotheses, data: Data, screen: Screen | None) -> "_Screened":
        """All of them."""
        known = hypotheses.log_prior + hypotheses.outcome_log_chance()
        if screen is None:
            return cls(hypotheses, known, ())
        changes = hypotheses.courses.changes
        scores = screen.scores(data, hypotheses.by_part(data), changes)
        return cls(hypotheses, known, tuple(_likeliest(known + score) for score in scores))

    def at_a_glance(self, data: Data) -> Weighed:
        """By a few of them."""
        return self.weighed(data, _GLANCED_AT, _GLANCE_ROUNDS)

    def weighed(self, data: Data, most: int, rounds: int = ROUNDS) -> Weighed:
        """The best by each score, by the integral; the others are nothing beside them."""
        if not self.orders:
            return Weighed(self.hypotheses, self.known)
        best = np.unique([order[-most:] for order in self.orders])
        log_joint = np.full(len(self.known), -np.inf)
        # Several onsets may come to the same in these very runs.
        places = self.hypotheses.courses.places[best]
        _, first, same = np.unique(places, axis=0, return_index=True, return_inverse=True)
        added = self.hypotheses.added(data, best[first])
        log_joint[best] = self.known[best] + robust_log_evidence(data, added, rounds)[same]
        return Weighed(self.hypotheses, log_joint)


def _likeliest(log_joint: Floats) -> NDArray[np.int_]:
    """So many as are looked at closely at most, the best last; of equal ones the later."""
    count = len(log_joint)
    key = np.rint(log_joint / _SAME).astype(np.int64) * count + np.arange(count)
    best = np.argpartition(key, -min(_LOOKED_AT, count))[-_LOOKED_AT:]
    return np.asarray(best[np.argsort(key[best])])


def _screened(data: Data, by_mode: Sequence[Hypotheses]) -> list[_Screened]:
    screen = Screen.of(data) if len(data.y) else None
    return [_Screened.of(hypotheses, data, screen) for hypotheses in by_mode]


def _finding(
    cause: Cause, weighed: Sequence[Weighed], total: float, attempts: Attempts, base: Floats
) -> Finding:
    log_sums = [one.log_sum for one in weighed]
    best = weighed[int(np.argmax(log_sums))]
    hypotheses, effect = best.hypotheses, best.hypotheses.effect
    row = int(np.argmax(best.log_joint))
    share = np.exp(best.log_joint - best.log_sum)
    onset = hypotheses.onsets[int(hypotheses.onset[row])]
    added = hypotheses.signs_of(row)
    log_chances = hypotheses.ends_of(np.array([row]))[0]
    return Finding(
        cause=cause,
        probability=float(np.exp(np.logaddexp.reduce(log_sums) - total)),
        mode=effect.mode,
        onset=onset,
        severity=float(np.sum(share * hypotheses.reached)),
        since=int(attempts.days[onset.half // 2]),
        added=added,
        step=added - hypotheses.signs_of(row, milder=1.0),
        log_chances=log_chances,
        explains=log_chances > base + _MUCH,
    )


def _alike(findings: Sequence[Finding]) -> tuple[Cause, ...]:
    """The causes that are named together, where the first is not almost certainly the trouble."""
    troubles = sum(finding.probability for finding in findings)
    group: list[Cause] = []
    together = 0.0
    for finding in findings[:NAMED_MOST]:
        if together >= SURE_FROM * troubles:
            break
        group.append(finding.cause)
        together += finding.probability
    group.sort(key=lambda cause: cause.effort_min)
    return tuple(group) if len(group) > 1 else ()


def weighed_again(ranking: Ranking, log_factors: Mapping[str, float], nothing: float) -> Ranking:
    """The same after something more was learned: likelihoods, as logarithms, by name of cause.

    ``nothing`` is that of nothing being wrong. A cause without one gets the least of them.
    """
    least = min([nothing, *log_factors.values()])
    tiny = 1e-300
    joint = [
        float(np.log(max(one.probability, tiny))) + log_factors.get(one.cause.name, least)
        for one in ranking.findings
    ]
    quiet = float(np.log(max(ranking.nothing, tiny))) + nothing
    total = float(np.logaddexp.reduce([quiet, *joint]))
    findings = [
        replace(one, probability=float(np.exp(log_joint - total)))
        for one, log_joint in zip(ranking.findings, joint, strict=True)
    ]
    findings.sort(key=lambda finding: -finding.probability)
    return Ranking(float(np.exp(quiet - total)), tuple(findings), _alike(findings))
