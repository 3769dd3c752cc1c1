"""From the evidence of a log to what is wrong: one trouble, and any others beside it.

Every cause is weighed against nothing being wrong, and where something is, others beside it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from math import inf

import numpy as np
from numpy.typing import NDArray

from keeper.hand import RELEARN
from rillkeeper.inquiry.why.attempts import Attempts, attempts_of
from rillkeeper.inquiry.why.causes import Cause
from rillkeeper.inquiry.why.comparison import Comparison, comparison_of, fallen_of
from rillkeeper.inquiry.why.hypotheses import Hypotheses, effects_of, hypotheses_of
from rillkeeper.inquiry.why.onset import onsets_of
from rillkeeper.inquiry.why.rank import Finding, Ranking, quiet_joint, ranking_of, weigh_all
from rillkeeper.inquiry.why.search import Search
from rillkeeper.inquiry.why.signatures import Signatures
from rillkeeper.runlog.nights import NightLog
from rillkeeper.runlog.source import Sunk, sunk_along
from rillsim.site import Site

Floats = NDArray[np.float64]

NAMED_FROM = 0.5
"""Nothing is named before a trouble is likelier than none."""
TROUBLES_MAX = 4
BARE_FROM = 0.85
"""Share of the water above the strainer: with more of it gone by the count, it may be all gone
(common practice, no source)."""
NIGHTS_MAX = 14
"""Older nights are left alone: the site has been looked after since, and the work grows with
their square."""


@dataclass(frozen=True)
class Trouble:
    """One thing that is wrong: its likeliest cause, and those that look the same."""

    finding: Finding
    alike: tuple[Cause, ...]
    """Cheapest look first; empty where the cause is named alone."""

    @property
    def causes(self) -> tuple[Cause, ...]:
        """In the order in which to look."""
        return self.alike or (self.finding.cause,)

    @property
    def names(self) -> tuple[str, ...]:
        """Of those causes."""
        return tuple(cause.name for cause in self.causes)


@dataclass(frozen=True)
class Diagnosis:
    """The answer, and all that it was drawn from."""

    ranking: Ranking
    further: tuple[Ranking, ...]
    """Of the troubles beside the first."""
    evidence: NightLog
    attempts: Attempts
    comparison: Comparison
    source_m3: float = inf
    """Left above the strainer after the last run, by the litres counted."""

    @property
    def nothing(self) -> float:
        """Probability that nothing is wrong."""
        return self.ranking.nothing

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Causes of the first trouble, likeliest first."""
        return self.ranking.findings

    @property
    def alike(self) -> tuple[Cause, ...]:
        """Those that cannot be told from the first one; empty where it is named alone."""
        return self.ranking.alike

    @property
    def named(self) -> bool:
        """Whether a cause is named at all."""
        return bool(self.findings) and self.nothing < NAMED_FROM

    @property
    def troubles(self) -> tuple[Trouble, ...]:
        """All that is wrong, the loudest first; none where nothing is."""
        if not self.named:
            return ()
        return tuple(Trouble(one.findings[0], one.alike) for one in (self.ranking, *self.further))

    def fitted(self) -> tuple[Floats, Floats]:
        """What a sound site, and one with all these troubles, should have shown."""
        none = np.zeros_like(self.comparison.off)
        added = sum((trouble.finding.added for trouble in self.troubles), none)
        steps = np.array([trouble.finding.step for trouble in self.troubles])
        return self.comparison.fitted(added, steps.reshape(-1, *none.shape))

    @property
    def first(self) -> tuple[str, ...]:
        """The names of the first answer; none where nothing is wrong."""
        return self.troubles[0].names if self.named else ()


def diagnose(
    evidence: NightLog,
    site: Site,
    settings: dict[str, int],
    signatures: Signatures,
    troubles_max: int = TROUBLES_MAX,
    progress: Callable[[float], None] = lambda share: None,
) -> Diagnosis:
    """Weigh all causes against nothing being wrong, on the last nights of a log."""
    sunk = sunk_along(site, evidence.runs)
    evidence = _last(_since_change(evidence))
    attempts = attempts_of(evidence)
    comparison = comparison_of(evidence, attempts, site, settings, signatures, sunk)
    if not len(attempts.runs):
        return Diagnosis(Ranking(1.0, (), ()), (), evidence, attempts, comparison)
    nights = len(evidence.nights)
    bare_half = _bare_half(attempts, site, sunk)
    raised_half = _raised_half(attempts, site)
    onsets = onsets_of(attempts)
    base = attempts.healthy_log_chances()
    by_mode = [
        _beside(hypotheses_of(effect, attempts, nights, onsets, bare_half, raised_half), base)
        for effect in effects_of(evidence, attempts, site, settings, signatures)
    ]
    weighed = weigh_all(comparison.data, by_mode, partial(_share, progress))
    quiet = quiet_joint(comparison.data, base, nights)
    found = [ranking_of(weighed, quiet, attempts, base)]
    if found[0].nothing < NAMED_FROM:
        search = Search(comparison.data, attempts, by_mode, base, nights, weighed)
        found = search.troubles(found[0], troubles_max)
    progress(1.0)
    last = max(sunk) if sunk else None
    source_m3 = inf if last is None else sunk[last].left_m3
    return Diagnosis(found[0], tuple(found[1:]), evidence, attempts, comparison, source_m3)


def _bare_half(attempts: Attempts, site: Site, sunk: Mapping[int, Sunk]) -> int | None:
    """The half of a run at which a source that can be emptied is so by the count, if it is."""
    if site.water.stored_m3 <= 0.0:
        return None
    for place, run in enumerate(attempts.runs):
        if run is None:
            continue
        for half, fallen in enumerate(fallen_of(site, sunk[run.place])):
            if fallen >= BARE_FROM:
                return 2 * place + half
    return None


def _raised_half(attempts: Attempts, site: Site) -> int | None:
    """The half of a run at which a battery on the board first has more in it, if it ever has."""
    if site.solar.power_w > 0.0:
        return None
    stands = (place for place, run in enumerate(attempts.runs) if run is not None and run.stands)
    first = next(stands, None)
    return None if first is None else 2 * first


def _share(progress: Callable[[float], None], share: float) -> None:
    """What is looked for beside the first trouble is the other half of the work."""
    progress(0.5 * share)


def changed_on(evidence: NightLog) -> int | None:
    """The first night on which all is as it is now, where a person has said that nozzle or hose
    was changed and nights have followed."""
    first = None
    for night, after in zip(evidence.nights, (*evidence.nights[1:], None), strict=True):
        kinds = [
            "relearn" if entry.kind == "hand" and entry["command"] == RELEARN else entry.kind
            for entry in night.entries
        ]
        if "relearn" in kinds:
            ran_before = "start" in kinds[: len(kinds) - kinds[::-1].index("relearn")]
            now = after if ran_before else night
            first = now.day if now else first
    return first


def _since_change(evidence: NightLog) -> NightLog:
    """Without the nights of another nozzle or hose."""
    first = changed_on(evidence)
    if first is None:
        return evidence
    return NightLog(
        tuple(night for night in evidence.nights if night.day >= first),
        tuple(run for run in evidence.runs if run.night >= first),
    )


def _last(evidence: NightLog) -> NightLog:
    """The last nights alone."""
    if len(evidence.nights) <= NIGHTS_MAX:
        return evidence
    nights = evidence.nights[-NIGHTS_MAX:]
    days = {night.day for night in nights}
    return NightLog(nights, tuple(run for run in evidence.runs if run.night in days))


def _beside(hypotheses: Hypotheses, base: Floats) -> Hypotheses:
    """The same trouble beside what is known already: an end may come from either."""
    return hypotheses.with_ends(np.maximum(hypotheses.effect.log_chances, base[None, :]), base)
