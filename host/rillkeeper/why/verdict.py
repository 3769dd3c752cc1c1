"""The answer in one sentence."""

from dataclasses import dataclass

from rillkeeper.shown import counted, day_text
from rillkeeper.why.diagnosis import Diagnosis
from rillkeeper.why.rank import Finding

_SHOWN_FROM = 0.01


@dataclass(frozen=True)
class Verdict:
    """What to say first."""

    sentence: str
    look: str
    """What to do; empty where nothing is wrong."""


def verdict_of(diagnosis: Diagnosis) -> Verdict:
    """The first answer."""
    nights = len(diagnosis.evidence.nights)
    if not diagnosis.named:
        return Verdict(_nothing(diagnosis, nights), "")
    first = diagnosis.findings[0]
    when = since_text(diagnosis, first)
    if diagnosis.alike:
        names = [cause.name for cause in diagnosis.alike]
        together = sum(f.probability for f in diagnosis.findings if f.cause in diagnosis.alike)
        others = f"{', '.join(names[:-1])} or {names[-1]}"
        sentence = (
            f"Something is wrong {when}, and these sensors cannot tell which: {others} "
            f"(together {percent(together)})."
        )
        return Verdict(sentence, f"Look here first: {diagnosis.alike[0].look}")
    sentence = f"Most likely: {first.cause.name}, {when} ({percent(first.probability)})."
    return Verdict(sentence, first.cause.look)


def shown_findings(diagnosis: Diagnosis) -> list[Finding]:
    """The causes that are worth a line."""
    worth = [one for one in diagnosis.findings if one.probability >= _SHOWN_FROM]
    return worth[:6] if diagnosis.named else worth[:3]


def since_text(diagnosis: Diagnosis, finding: Finding) -> str:
    """From when on: "since the night of Thu 9 Jul (night 4)"."""
    number = 1 + finding.course.night
    if number == 1:
        return "from the first night on"
    return f"since the night of {day_text(finding.since)} (night {number})"


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
