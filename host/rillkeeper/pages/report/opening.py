"""The top of the page: whose week it is, and the verdict."""

from html import escape

from rillkeeper.display_units import counted
from rillkeeper.morning.report.report import Report
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.pages.frame import paragraph
from rillkeeper.verdict import Answer


def opening(report: Report) -> str:
    """Title, verdict in a sentence, and the three answers it is made of."""
    verdict = verdict_of(report)
    source = "replayed against a model of pump, battery and garden"
    if report.trace is None:
        source = "from the board's run log"
    nights = counted(len(report.nights), "night")
    answers = "".join(map(_answer, verdict.answers))
    return (
        f"<header>\n<h1>{escape(report.name)}</h1>\n"
        f"{paragraph(f'{nights}, {report.dates}, {source}', 'kicker')}\n"
        f"{paragraph(verdict.sentence, 'lead')}\n"
        f'<div class="answers">{answers}</div>\n</header>'
    )


def _answer(answer: Answer) -> str:
    return (
        f'<div class="answer {answer.state}">{paragraph(answer.question, "kicker")}'
        f"<strong>{escape(answer.short)}</strong>{paragraph(answer.detail)}</div>"
    )
