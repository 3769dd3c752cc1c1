"""The answer on the terminal: one sentence, then a row for each cause that is worth one."""

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from rillkeeper.display_units import day_text
from rillkeeper.inquiry.why.answer import (
    Inquiry,
    headline_of,
    percent,
    shown_findings,
    trouble_text,
)
from rillkeeper.inquiry.why.diagnosis import Trouble
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.sign_words import evidence_words
from rillkeeper.inquiry.why.small_tests.words import made_text, next_text
from rillkeeper.screen import open_table, settle


def show(inquiry: Inquiry, console: Console) -> None:
    """Print the answer; into a file or a pipe as wide as on a common terminal."""
    settle(console)
    console.print(render(inquiry))


def render(inquiry: Inquiry) -> Group:
    """All of it for a rich console."""
    diagnosis = inquiry.diagnosis
    headline = headline_of(diagnosis)
    style = "bold yellow" if diagnosis.named else "bold green"
    parts: list[Text | Table] = [Text(headline.sentence, style=style)]
    if headline.look:
        parts.append(Text(headline.look))
    parts += [Text(), _causes(inquiry)]
    if diagnosis.named:
        parts += [Text("\nWhere to look", style="bold"), _looks(diagnosis.troubles[0])]
    for trouble in diagnosis.troubles[1:]:
        words = trouble.finding.mode.words(trouble.finding.severity, inquiry.site)
        told = evidence_words(diagnosis, trouble.finding, inquiry.shown)
        parts += [
            Text(f"\n{trouble_text(diagnosis, trouble)}.", style="bold yellow"),
            Text(f"{words[:1].upper()}{words[1:]}. What speaks for it: {told}."),
            _looks(trouble),
        ]
    if inquiry.small:
        parts += [Text(f"\n{line}") for line in made_text(inquiry.small, inquiry.shown)]
        if inquiry.small.best:
            told = next_text(inquiry.small.best)
            parts.append(Text(f"\n{told}", style="bold"))
    parts += [Text(f"\n{note}", style="dim") for note in inquiry.notes]
    return Group(*parts)


def _causes(inquiry: Inquiry) -> Table:
    diagnosis = inquiry.diagnosis
    table = open_table()
    table.add_column("Cause", no_wrap=True)
    table.add_column("Probability", justify="right", no_wrap=True)
    table.add_column("Since", no_wrap=True)
    table.add_column("How bad")
    table.add_column("What speaks for it")
    table.add_row("nothing wrong", percent(diagnosis.nothing), "", "", "")
    for finding in shown_findings(diagnosis):
        table.add_row(
            finding.cause.name,
            percent(finding.probability),
            _since(inquiry, finding),
            finding.mode.words(finding.severity, inquiry.site),
            evidence_words(diagnosis, finding, inquiry.shown),
        )
    return table


def _since(inquiry: Inquiry, finding: Finding) -> str:
    if finding.onset.night == 0:
        return "first night"
    words = f"{day_text(finding.since)}\nnight {finding.onset.night + 1}"
    return f"{words}\n{finding.onset.shape}" if finding.onset.shape != "at once" else words


def _looks(trouble: Trouble) -> Table:
    """Where to look, the cheapest look first, and what tells those apart that look alike."""
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column()
    for number, cause in enumerate(trouble.causes, start=1):
        text = Text(cause.look)
        if trouble.alike:
            text.append(f" What tells it: {cause.tell}", style="italic")
        table.add_row(f"{number}. {cause.name} ({cause.effort_min} min)", text)
    return table
