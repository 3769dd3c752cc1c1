"""The page of a diagnosis: what is going wrong, what speaks for it, and where to look."""

from pathlib import Path

from rillkeeper.display_units import counted, day_text
from rillkeeper.inquiry.why.answer import Account
from rillkeeper.inquiry.why.diagnosis import Trouble
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.signwords import evidence_words
from rillkeeper.inquiry.why.verdict import (
    percent,
    shown_findings,
    trouble_text,
    verdict_of,
    when_text,
)
from rillkeeper.pages import template
from rillkeeper.pages.template import capital
from rillkeeper.pages.why_pictures import bars, signs


def write(account: Account, path: Path) -> None:
    """Write the page to a file."""
    template.save(html_of(account), path)


def html_of(account: Account) -> str:
    """The page as text; the same account gives the same text."""
    diagnosis = account.diagnosis
    runs, nights = len(diagnosis.evidence.runs), len(diagnosis.evidence.nights)
    return template.render(
        "why",
        title=f"{account.site.name}: what is going wrong",
        heading=account.site.name,
        kicker=f"What is going wrong: {counted(runs, 'run')} in {counted(nights, 'night')}, held "
        "against the site's model",
        lead=verdict_of(diagnosis).sentence,
        answers=_answers(account),
        signs=signs(diagnosis),
        likely=bars(diagnosis),
        causes=[_row(account, finding) for finding in shown_findings(diagnosis)],
        alike=diagnosis.alike,
        others=[_other(account, trouble) for trouble in diagnosis.troubles[1:]],
        notes=account.notes,
    )


def _answers(account: Account) -> tuple[tuple[str, str, str, str], ...]:
    """What, since when and how bad, and where to look first."""
    diagnosis = account.diagnosis
    if not diagnosis.troubles:
        return ()
    first = diagnosis.troubles[0]
    finding = first.finding
    name = " or ".join(first.names) if len(first.names) < 4 else f"one of {len(first.names)}"
    sure = percent(sum(f.probability for f in diagnosis.findings if f.cause in first.causes))
    where = first.causes[0]
    return (
        ("act", "What is wrong?", capital(name), f"Probability {sure}."),
        (
            "look",
            "Since when, how bad?",
            capital(finding.mode.words(finding.severity, account.site)),
            f"{capital(when_text(diagnosis, finding))}.",
        ),
        ("look", "Where to look first?", capital(where.name), where.look),
    )


def _row(account: Account, finding: Finding) -> list[str]:
    diagnosis = account.diagnosis
    since = f"{day_text(finding.since)}, night {finding.onset.night + 1}"
    if finding.onset.shape != "at once":
        since += f", {finding.onset.shape}"
    return [
        finding.cause.name,
        percent(finding.probability),
        since if finding.onset.half else "the first night",
        finding.mode.words(finding.severity, account.site),
        evidence_words(diagnosis, finding, account.shown),
        finding.cause.look,
    ]


def _other(account: Account, trouble: Trouble) -> dict[str, object]:
    """Another trouble beside the first."""
    finding = trouble.finding
    return {
        "names": trouble.names,
        "told": trouble_text(account.diagnosis, trouble),
        "severity": finding.mode.words(finding.severity, account.site),
        "evidence": evidence_words(account.diagnosis, finding, account.shown),
        "causes": trouble.causes,
    }
