"""The causes in the order of their probability, and which of them cannot be told apart."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rillkeeper.evidence import Evidence
from rillkeeper.why.attempts import Attempts, attempts_of
from rillkeeper.why.causes import CAUSES, Cause, Manner
from rillkeeper.why.courses import Course, quiet_log_chance
from rillkeeper.why.hypotheses import Table, effects_of, half_of_sign, table_of
from rillkeeper.why.likelihood import Added, log_evidence, robust_log_evidence
from rillkeeper.why.outcomes import healthy_chance
from rillkeeper.why.reading import Reading, reading_of
from rillkeeper.why.signatures import Signatures
from rillsim.site import Site

Floats = NDArray[np.float64]

NAMED_FROM = 0.5
"""Nothing is named before a trouble is likelier than none."""
SURE_FROM = 0.95
"""A first cause with so much of the probability of all troubles is named alone."""
LIKE_NATS = 3.0
"""Two causes look alike where what the one does would make the other at most so much less
likely: odds of 20 to 1, which Kass and Raftery (J. Am. Stat. Assoc. 90, 1995, p. 777) call
strong."""
_LOOKED_AT = 16
"""So many hypotheses of each manner are looked at again with odd halves allowed for."""
_SERIOUS = 0.02
"""A cause with less of the probability is not looked at for likeness."""


@dataclass(frozen=True)
class Finding:
    """One cause, with its likeliest course."""

    cause: Cause
    probability: float
    manner: Manner
    course: Course
    severity: float
    """At its worst; the mean over what is likely."""
    since: int
    """Day number of the night in which it begins."""
    added: Floats
    """What it adds by its likeliest course: attempt by sign."""


@dataclass(frozen=True)
class Diagnosis:
    """The answer, and all that it was drawn from."""

    nothing: float
    """Probability that nothing is wrong."""
    findings: tuple[Finding, ...]
    """Likeliest first."""
    alike: tuple[Cause, ...]
    """Causes that look like the first one here, it among them; cheapest look first. Empty where
    the first is named alone."""
    evidence: Evidence
    attempts: Attempts
    reading: Reading

    @property
    def named(self) -> bool:
        """Whether a cause is named at all."""
        return bool(self.findings) and self.nothing < NAMED_FROM

    @property
    def first(self) -> tuple[str, ...]:
        """The names of the first answer; none where nothing is wrong."""
        if not self.named:
            return ()
        if self.alike:
            return tuple(cause.name for cause in self.alike)
        return (self.findings[0].cause.name,)


@dataclass(frozen=True)
class _Weighed:
    """A table of hypotheses with the logarithm of the joint probability of each."""

    table: Table
    log_joint: Floats


def diagnose(
    evidence: Evidence, site: Site, settings: dict[str, int], signatures: Signatures
) -> Diagnosis:
    """Weigh all causes against nothing being wrong."""
    attempts = attempts_of(evidence)
    reading = reading_of(evidence, attempts, site, settings, signatures)
    nights = len(evidence.nights)
    tables = [
        table_of(effect, attempts, nights)
        for effect in effects_of(evidence, attempts, site, settings, signatures)
    ]
    quiet = _quiet(attempts, reading, nights)
    if not len(attempts.runs):
        return Diagnosis(1.0, (), (), evidence, attempts, reading)
    weighed = [_weigh(table, reading) for table in tables]
    total = np.logaddexp.reduce([quiet, *(_log_sum(one.log_joint) for one in weighed)])
    findings = [
        _finding(
            cause,
            [one for one in weighed if one.table.effect.cause is cause],
            reading,
            total,
            attempts,
        )
        for cause in CAUSES
        if any(one.table.effect.cause is cause for one in weighed)
    ]
    findings.sort(key=lambda finding: -finding.probability)
    alike = _alike(findings, tables, reading)
    return Diagnosis(
        float(np.exp(quiet - total)), tuple(findings), alike, evidence, attempts, reading
    )


def _quiet(attempts: Attempts, reading: Reading, nights: int) -> float:
    """Nothing wrong: the logarithm of its joint probability."""
    nothing = Added.nothing(len(reading.data.y))
    ends = sum(np.log(healthy_chance(seen)) for seen in attempts.outcomes if seen is not None)
    return float(quiet_log_chance(nights) + ends + robust_log_evidence(reading.data, nothing)[0])


def _weigh(table: Table, reading: Reading) -> _Weighed:
    """All hypotheses by the plain integral, the best of them again with odd halves."""
    data, sign = reading.data, reading.sign
    known = table.log_prior + table.outcome_log_chance()
    log_joint = known + log_evidence(data, table.added(data, sign))
    best = np.argsort(log_joint)[-_LOOKED_AT:]
    again = known[best] + robust_log_evidence(data, table.added(data, sign, best))
    log_joint[best] = again
    return _Weighed(table, log_joint)


def _log_sum(values: Floats) -> float:
    return float(np.logaddexp.reduce(values))


def _finding(
    cause: Cause,
    weighed: Sequence[_Weighed],
    reading: Reading,
    total: float,
    attempts: Attempts,
) -> Finding:
    probability = float(
        np.exp(np.logaddexp.reduce([_log_sum(w.log_joint) for w in weighed]) - total)
    )
    best = max(weighed, key=lambda one: _log_sum(one.log_joint))
    table = best.table
    row = int(np.argmax(best.log_joint))
    share = np.exp(best.log_joint - _log_sum(best.log_joint))
    course = table.courses[int(table.course[row])]
    places = np.arange(len(attempts.runs))
    added = np.stack([table.effect.signs[table.parts[row, half::2], places] for half in (0, 1)])
    by_sign = np.where(half_of_sign()[None, :] == 0, added[0], added[1])
    return Finding(
        cause=cause,
        probability=probability,
        manner=table.effect.manner,
        course=course,
        severity=float(np.sum(share * table.worst)),
        since=int(attempts.days[course.half // 2]),
        added=by_sign,
    )


def _alike(
    findings: Sequence[Finding], tables: Sequence[Table], reading: Reading
) -> tuple[Cause, ...]:
    """The causes that could not be told from the first one if it were the true one."""
    first = findings[0]
    troubles = sum(finding.probability for finding in findings)
    if not troubles or first.probability >= SURE_FROM * troubles:
        return ()
    data = reading.data
    attempt = data.block // 2
    pure = replace(data, y=first.added[attempt, reading.sign])
    serious = {f.cause.name for f in findings if f.probability >= _SERIOUS * troubles}
    best: dict[str, float] = {}
    for table in tables:
        name = table.effect.cause.name
        if name not in serious:
            continue
        known = table.outcome_log_chance()
        value = float(np.max(known + log_evidence(pure, table.added(pure, reading.sign))))
        best[name] = max(best.get(name, -np.inf), value)
    own = best[first.cause.name]
    group = [
        finding.cause
        for finding in findings
        if finding.cause.name in serious and own - best[finding.cause.name] < LIKE_NATS
    ]
    group.sort(key=lambda cause: cause.effort_min)
    return tuple(group) if len(group) > 1 else ()
