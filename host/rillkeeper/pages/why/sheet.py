"""The whole page, part by part."""

from html import escape
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
from rillkeeper.inquiry.why.diagnosis import Trouble
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.sign_words import evidence_words
from rillkeeper.pages import frame
from rillkeeper.pages.report import listings
from rillkeeper.pages.why.bars import bars
from rillkeeper.pages.why.signs import signs


def write(inquiry: Inquiry, path: Path) -> None:
    """Write the page to a file."""
    path.write_text(html_of(inquiry), encoding="utf-8", newline="\n")


def html_of(inquiry: Inquiry) -> str:
    """The page as text; the same inquiry gives the same text."""
    diagnosis = inquiry.diagnosis
    parts = [_opening(inquiry), _evidence(inquiry), _likely(inquiry)]
    parts += [_further(inquiry, trouble) for trouble in diagnosis.troubles[1:]]
    parts += [_complete(inquiry), listings.cautions()]
    return frame.document(f"{inquiry.site.name}: what is going wrong", [p for p in parts if p])


def _opening(inquiry: Inquiry) -> str:
    diagnosis = inquiry.diagnosis
    headline = headline_of(diagnosis)
    runs, nights = len(diagnosis.evidence.runs), len(diagnosis.evidence.nights)
    kicker = (
        f"What is going wrong: {counted(runs, 'run')} in {counted(nights, 'night')}, held against "
        "the site's model"
    )
    return (
        f"<header>\n<h1>{escape(inquiry.site.name)}</h1>\n{frame.paragraph(kicker, 'kicker')}\n"
        f"{frame.paragraph(headline.sentence, 'lead')}\n{_answers(inquiry)}\n</header>"
    )


def _answers(inquiry: Inquiry) -> str:
    """What, since when and how bad, and where to look first."""
    diagnosis = inquiry.diagnosis
    if not diagnosis.troubles:
        return ""
    first = diagnosis.troubles[0]
    finding = first.finding
    name = " or ".join(first.names) if len(first.names) < 4 else f"one of {len(first.names)}"
    sure = percent(sum(f.probability for f in diagnosis.findings if f.cause in first.causes))
    where = first.causes[0]
    boxes = (
        ("act", "What is wrong?", f"{name[:1].upper()}{name[1:]}", f"Probability {sure}."),
        (
            "look",
            "Since when, how bad?",
            _capital(finding.mode.words(finding.severity, inquiry.site)),
            f"{_capital(when_text(diagnosis, finding))}.",
        ),
        ("look", "Where to look first?", f"{_capital(where.name)}", where.look),
    )
    inner = "".join(
        f'<div class="answer {kind}">{frame.paragraph(question, "kicker")}'
        f"<strong>{escape(short)}</strong>{frame.paragraph(detail)}</div>"
        for kind, question, short, detail in boxes
    )
    return f'<div class="answers">{inner}</div>'


def _evidence(inquiry: Inquiry) -> str:
    svg = signs(inquiry.diagnosis)
    if not svg:
        return ""
    caption = (
        "Dots: what was read in each run, less what the site's model gives at the same voltage. "
        "Green: where a sound site stays from run to run, nineteen times in twenty; grey: where "
        "it may lie with all that its site file leaves open. Arrows: further out than the picture."
    )
    if inquiry.diagnosis.troubles:
        caption += " Red line: what the causes named here would do."
    return frame.section("The evidence", frame.figure(svg, caption), kind="keep")


def _likely(inquiry: Inquiry) -> str:
    diagnosis = inquiry.diagnosis
    rows = [
        ("", [escape(cell) for cell in _row(inquiry, finding)])
        for finding in shown_findings(diagnosis)
    ]
    heads = ("Cause", "Probability", "Since", "How bad", "What speaks for it", "Where to look")
    table = frame.table("causes", heads, rows, {1})
    alike = ""
    if diagnosis.alike:
        order = " ".join(
            f"{number}. {_capital(cause.name)}: {cause.tell}"
            for number, cause in enumerate(diagnosis.alike, start=1)
        )
        alike = frame.paragraph(f"What tells them apart, the cheapest look first: {order}")
    return frame.section("How likely each cause is", frame.figure(bars(diagnosis)), table, alike)


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


def _further(inquiry: Inquiry, trouble: Trouble) -> str:
    """Another trouble beside the first."""
    finding = trouble.finding
    words = _capital(finding.mode.words(finding.severity, inquiry.site))
    told = evidence_words(inquiry.diagnosis, finding, inquiry.shown)
    looks = " ".join(
        f"{number}. {_capital(cause.name)}: {cause.look}"
        for number, cause in enumerate(trouble.causes, start=1)
    )
    return frame.section(
        f"Also: {' or '.join(trouble.names)}",
        frame.paragraph(f"{trouble_text(inquiry.diagnosis, trouble)}."),
        frame.paragraph(f"{words}. What speaks for it: {told}."),
        frame.paragraph(looks),
        kind="keep",
    )


def _complete(inquiry: Inquiry) -> str:
    notes = inquiry.notes or ["Every record that the board promises is there and could be read."]
    return frame.section("How complete the data are", *map(frame.paragraph, notes))


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
