"""The answer on the terminal: one sentence, then a row for each cause that is worth one."""

from rich.console import Console, ConsoleOptions, RenderResult
from rich.table import Table
from rich.text import Text

from rillkeeper.display_units import day_text
from rillkeeper.inquiry.why.answer import Account
from rillkeeper.inquiry.why.diagnosis import Trouble
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.signwords import evidence_words
from rillkeeper.inquiry.why.verdict import percent, shown_findings, trouble_text, verdict_of

WIDTH = 100
"""Columns of an answer that goes to a file or into a pipe."""


class Rendered:
    """The answer for a rich console."""

    def __init__(self, account: Account) -> None:
        self.account = account

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        account = self.account
        diagnosis = account.diagnosis
        verdict = verdict_of(diagnosis)
        style = "bold yellow" if diagnosis.named else "bold green"
        yield Text(verdict.sentence, style=style)
        if verdict.look:
            yield Text(verdict.look)
        yield Text()
        yield _causes(account)
        if diagnosis.named:
            yield Text("\nWhere to look", style="bold")
            yield _looks(diagnosis.troubles[0])
        for trouble in diagnosis.troubles[1:]:
            yield Text(f"\n{trouble_text(diagnosis, trouble)}.", style="bold yellow")
            words = trouble.finding.mode.words(trouble.finding.severity, account.site)
            told = evidence_words(diagnosis, trouble.finding, account.shown)
            yield Text(f"{words[:1].upper()}{words[1:]}. What speaks for it: {told}.")
            yield _looks(trouble)
        for note in account.notes:
            yield Text(f"\n{note}", style="dim")


def show(account: Account, console: Console) -> None:
    """Print the answer; into a file or a pipe as wide as on a common terminal."""
    if not console.is_terminal:
        console.width = WIDTH
    console.print(Rendered(account))


def _causes(account: Account) -> Table:
    diagnosis = account.diagnosis
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
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
            _since(account, finding),
            finding.mode.words(finding.severity, account.site),
            evidence_words(diagnosis, finding, account.shown),
        )
    return table


def _since(account: Account, finding: Finding) -> str:
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
