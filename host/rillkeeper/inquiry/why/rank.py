"""The causes in the order of their probability, and which of them cannot be told apart."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import Attempts
from rillkeeper.inquiry.why.causes import CAUSES, Cause
from rillkeeper.inquiry.why.comparison import Comparison
from rillkeeper.inquiry.why.failure_modes import FailureMode
from rillkeeper.inquiry.why.hypotheses import Hypotheses
from rillkeeper.inquiry.why.likelihood import Added, Screen, robust_log_evidence
from rillkeeper.inquiry.why.onset import Onset, quiet_log_chance

Floats = NDArray[np.float64]

SURE_FROM = 0.8
"""A cause with so much of the probability that something is wrong is named alone; else two, and
the answer says which others are not ruled out."""
NAMED_MOST = 2
"""Whoever is told more to look at knows no better where to begin."""
_LOOKED_AT = 10
"""So many hypotheses of each mode are looked at closely by each quick score."""
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
class _Weighed:
    """Hypotheses of one mode with the logarithm of the joint probability of each."""

    hypotheses: Hypotheses
    log_joint: Floats

    @property
    def log_sum(self) -> float:
        """Of all of them together."""
        return float(np.logaddexp.reduce(self.log_joint))


def rank(
    comparison: Comparison,
    attempts: Attempts,
    by_mode: Sequence[Hypotheses],
    base: Floats,
    nights: int,
    progress: Callable[[float], None] = lambda share: None,
) -> Ranking:
    """Weigh all hypotheses; ``base`` is the logarithm of the chance of each end without them."""
    nothing = Added.nothing(len(comparison.data.y))
    evidence = robust_log_evidence(comparison.data, nothing)[0]
    quiet = quiet_log_chance(nights) + float(base.sum()) + float(evidence)
    screen = Screen.of(comparison.data) if len(comparison.data.y) else None
    weighed = []
    for place, hypotheses in enumerate(by_mode, start=1):
        weighed.append(_weigh(hypotheses, comparison, screen))
        progress(place / len(by_mode))
    total = float(np.logaddexp.reduce([quiet, *(one.log_sum for one in weighed)]))
    findings = []
    for cause in CAUSES:
        of_cause = [one for one in weighed if one.hypotheses.effect.cause is cause]
        if of_cause:
            findings.append(_finding(cause, of_cause, total, attempts, base))
    findings.sort(key=lambda finding: -finding.probability)
    return Ranking(float(np.exp(quiet - total)), tuple(findings), _alike(findings))


def _weigh(hypotheses: Hypotheses, comparison: Comparison, screen: Screen | None) -> _Weighed:
    """The best of all hypotheses by some quick scores, each by the integral; the others are
    nothing beside them."""
    data, sign = comparison.data, comparison.sign
    known = hypotheses.log_prior + hypotheses.outcome_log_chance()
    if screen is None:
        return _Weighed(hypotheses, known)
    scores = screen.scores(data, hypotheses.by_part(data, sign), hypotheses.parts)
    best = np.unique([np.argsort(known + score)[-_LOOKED_AT:] for score in scores])
    log_joint = np.full(len(known), -np.inf)
    # Several onsets may come to the same in these very runs.
    _, first, same = np.unique(
        hypotheses.places[best], axis=0, return_index=True, return_inverse=True
    )
    evidence = robust_log_evidence(data, hypotheses.added(data, sign, best[first]))
    log_joint[best] = known[best] + evidence[same]
    return _Weighed(hypotheses, log_joint)


def _finding(
    cause: Cause, weighed: Sequence[_Weighed], total: float, attempts: Attempts, base: Floats
) -> Finding:
    log_sums = [one.log_sum for one in weighed]
    best = weighed[int(np.argmax(log_sums))]
    hypotheses, effect = best.hypotheses, best.hypotheses.effect
    row = int(np.argmax(best.log_joint))
    share = np.exp(best.log_joint - best.log_sum)
    onset = hypotheses.onsets[int(hypotheses.onset[row])]
    places = np.arange(len(attempts.runs))
    head, tail = hypotheses.parts[row, 0::2], hypotheses.parts[row, 1::2]
    added = hypotheses.signs_of(row)
    log_chances = effect.log_chances[np.maximum(head, tail), places]
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
