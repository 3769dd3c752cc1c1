"""The page of a diagnosis: what is going wrong, what speaks for it, and where to look."""

from pathlib import Path

from rillkeeper.display_units import counted, day_text
from rillkeeper.inquiry.why.answer import (
    Inquiry,
    headline_of,
    percent,
    shown_findings,
    trouble_text,
    when_text,
)
from rillkeeper.inquiry.why.diagnosis import Diagnosis, Trouble
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.sign_words import evidence_words
from rillkeeper.inquiry.why.small_tests.words import made_text, next_text, table_rows
from rillkeeper.pages import template
from rillkeeper.pages.pictures import Picture, on_both
from rillkeeper.pages.template import capital
from rillkeeper.pages.why_pictures import bars, drawn_signs, signs


def write(inquiry: Inquiry, path: Path) -> None:
    """Write the page to a file."""
    template.save(html_of(inquiry), path)


def html_of(inquiry: Inquiry) -> str:
    """The page as text; the same inquiry gives the same text."""
    diagnosis, small = inquiry.diagnosis, inquiry.small
    runs, nights = len(diagnosis.evidence.runs), len(diagnosis.evidence.nights)
    return template.render(
        "why",
        title=f"{inquiry.site.name}: what is going wrong",
        heading=inquiry.site.name,
        kicker=f"What is going wrong: {counted(runs, 'run')} in {counted(nights, 'night')}, held "
        "against the site's model",
        lead=headline_of(diagnosis).sentence,
        answers=_answers(inquiry),
        signs=_signs(diagnosis),
        likely=on_both(lambda width_in: bars(diagnosis, width_in)),
        causes=[_row(inquiry, finding) for finding in shown_findings(diagnosis)],
        alike=diagnosis.alike,
        tests=table_rows(small) if small else [],
        tests_made=made_text(small, inquiry.shown) if small else [],
        next_test=next_text(small.best) if small and small.best else "",
        others=[_other(inquiry, trouble) for trouble in diagnosis.troubles[1:]],
        notes=inquiry.notes,
    )


def _signs(diagnosis: Diagnosis) -> Picture | None:
    """Nothing where nothing was read."""
    if not drawn_signs(diagnosis):
        return None
    return on_both(lambda width_in: signs(diagnosis, width_in))


def _answers(inquiry: Inquiry) -> tuple[tuple[str, str, str, str], ...]:
    """What, since when and how bad, and where to look first."""
    diagnosis = inquiry.diagnosis
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
            capital(finding.mode.words(finding.severity, inquiry.site)),
            f"{capital(when_text(diagnosis, finding))}.",
        ),
        ("look", "Where to look first?", capital(where.name), where.look),
    )


def _row(inquiry: Inquiry, finding: Finding) -> list[str]:
    diagnosis = inquiry.diagnosis
    since = f"{day_text(finding.since)}, night {finding.onset.night + 1}"
    if finding.onset.shape != "at once":
        since += f", {finding.onset.shape}"
    return [
        finding.cause.name,
        percent(finding.probability),
        since if finding.onset.half else "the first night",
        finding.mode.words(finding.severity, inquiry.site),
        evidence_words(diagnosis, finding, inquiry.shown),
        finding.cause.look,
    ]


def _other(inquiry: Inquiry, trouble: Trouble) -> dict[str, object]:
    """Another trouble beside the first."""
    finding = trouble.finding
    return {
        "names": trouble.names,
        "told": trouble_text(inquiry.diagnosis, trouble),
        "severity": finding.mode.words(finding.severity, inquiry.site),
        "evidence": evidence_words(inquiry.diagnosis, finding, inquiry.shown),
        "causes": trouble.causes,
    }
