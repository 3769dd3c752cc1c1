"""The answer in one sentence."""

from dataclasses import dataclass

from rillkeeper.display_units import counted, day_text
from rillkeeper.inquiry.why.diagnosis import Diagnosis, Trouble
from rillkeeper.inquiry.why.onset import PULSE, RAMP
from rillkeeper.inquiry.why.rank import Finding

_SHOWN_FROM = 0.01
_CLEAR_FROM = 0.8
_WORTH_SAYING = 0.1


@dataclass(frozen=True)
class Verdict:
    """What to say first."""

    sentence: str
    look: str
    """What to do; empty where nothing is wrong."""


def verdict_of(diagnosis: Diagnosis) -> Verdict:
    """The first answer."""
    if not diagnosis.named:
        return Verdict(_nothing(diagnosis, len(diagnosis.evidence.nights)), "")
    first = diagnosis.troubles[0]
    together = sum(f.probability for f in diagnosis.findings if f.cause in first.causes)
    sentence = f"{trouble_text(diagnosis, first)} ({percent(together)})."
    others = [] if first.alike else _not_ruled_out(diagnosis)
    if others:
        names = ", ".join(f"{one.cause.name} ({percent(one.probability)})" for one in others)
        sentence += f" Not ruled out: {names}."
    more = len(diagnosis.troubles) - 1
    if more:
        sentence += (
            f" Beside it {counted(more, 'more trouble')} {'is' if more == 1 else 'are'} seen."
        )
    look = first.causes[0].look
    return Verdict(sentence, f"Look here first: {look}" if first.alike else look)


def trouble_text(diagnosis: Diagnosis, trouble: Trouble) -> str:
    """What is wrong since when; says so where the sensors cannot tell."""
    when = when_text(diagnosis, trouble.finding)
    if not trouble.alike:
        return f"Most likely: {trouble.finding.cause.name}, {when}"
    names = trouble.names
    others = f"{', '.join(names[:-1])} or {names[-1]}"
    return f"Something is wrong {when}, and these sensors cannot tell which: {others}"


def _not_ruled_out(diagnosis: Diagnosis) -> list[Finding]:
    """The other causes that are likely enough to be said with the first."""
    if diagnosis.findings[0].probability >= _CLEAR_FROM:
        return []
    return [one for one in diagnosis.findings[1:] if one.probability >= _WORTH_SAYING]


def shown_findings(diagnosis: Diagnosis) -> list[Finding]:
    """The causes of the first trouble that are worth a line."""
    worth = [one for one in diagnosis.findings if one.probability >= _SHOWN_FROM]
    return worth[:6] if diagnosis.named else worth[:3]


def when_text(diagnosis: Diagnosis, finding: Finding) -> str:
    """From when on, and until when where it went away."""
    onset = finding.onset
    begun = f"the night of {day_text(finding.since)} (night {onset.night + 1})"
    if onset.shape == PULSE:
        last = int(diagnosis.attempts.night_places[int(onset.profile.nonzero()[0][-1]) // 2])
        if last == onset.night:
            return f"in {begun} only"
        return f"from {begun} to night {last + 1}"
    if onset.night == 0 and onset.half == 0:
        return "from the first night on"
    grows = "growing since" if onset.shape == RAMP else "since"
    return f"{grows} {begun}"


def percent(probability: float) -> str:
    """A probability that never pretends to be certain.

    >>> percent(0.9999), percent(0.123), percent(0.0004)
    ('over 99 %', '12 %', 'under 1 %')
    """
    if probability > 0.99:
        return "over 99 %"
    return f"{100 * probability:.0f} %" if probability >= 0.01 else "under 1 %"


def _nothing(diagnosis: Diagnosis, nights: int) -> str:
    runs = len(diagnosis.evidence.runs)
    if not runs:
        return (
            "The pump never ran in this log, so there is nothing to judge by."
            if not any(diagnosis.attempts.outcomes)
            else "The pump never ran in this log; what the board says is in the report."
        )
    sure = percent(diagnosis.nothing)
    if nights == 1:
        return (
            f"Nothing seems wrong ({sure}): one night, with nothing to compare it with yet, is as "
            "the site's model says."
        )
    return (
        f"Nothing is wrong ({sure}): {counted(runs, 'run')} in {counted(nights, 'night')} are as "
        "this site should be."
    )
