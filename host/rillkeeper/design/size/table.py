"""The sizing on a terminal: the verdict first, then the tables it rests on."""

from collections.abc import Iterable

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from rillkeeper.design.size.answer import ACT, GOOD, LOOK, Answer
from rillkeeper.design.size.tables import Sheet, sheets_of
from rillkeeper.design.size.verdict import Verdict
from rillkeeper.design.size.workings import Workings

WIDTH = 100
"""Columns of a report that goes to a file or into a pipe."""
OWN_FILE = (
    "This is the demonstration site. For your own: rillkeeper site new my-plot.toml, fill it in, "
    "then rillkeeper size my-plot.toml."
)
CAUTIONS = (
    "A 12 V battery can start a fire: fuse it at its post, and keep water off every joint. "
    "Charge lead-acid batteries where air moves, away from sparks. Let a second pair of eyes "
    "check the wiring before the first night."
)
_MARKS = {GOOD: ("ok", "green"), LOOK: ("!", "yellow"), ACT: ("!!", "bold red")}


def show(
    work: Workings, console: Console, *, demo: bool, more: Iterable[Sheet] = (), sure: str = ""
) -> None:
    """Print the whole sizing; into a file or a pipe as wide as on a common terminal."""
    if not console.is_terminal:
        console.width = WIDTH
    console.print(render(work, demo=demo, more=more, sure=sure))


def render(
    work: Workings, *, demo: bool, more: Iterable[Sheet] = (), sure: str = ""
) -> RenderableType:
    """The sizing as something that a rich console prints; ``sure`` follows the verdict."""
    verdict = work.verdict
    sentence = f"{verdict.sentence} {sure}".rstrip()
    parts: list[RenderableType] = [
        Text(work.site.name, style="bold"),
        Text(sentence, style=_MARKS[verdict.state][1]),
        Text(),
        answers(verdict),
    ]
    sheets = [*more, *sheets_of(work)] if work.facts.runs else [*more]
    for sheet in sheets:
        parts += block(sheet)
    parts.append(Text(f"\n{CAUTIONS}", style="italic"))
    if demo:
        parts.append(Text(f"\n{OWN_FILE}", style="bold"))
    return Group(*parts)


def answers(verdict: Verdict) -> Table:
    """A row a question: mark, question, answer, and what to change."""
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(min_width=24, max_width=30)
    table.add_column()
    for answer in verdict.answers:
        mark, style = _MARKS[answer.state]
        table.add_row(Text(mark, style=style), answer.question, _told(answer, style))
    return table


def block(sheet: Sheet) -> list[RenderableType]:
    """One table under its title, with its note."""
    parts: list[RenderableType] = [Text(f"\n{sheet.title}", style="bold"), table_of(sheet)]
    if sheet.note:
        parts.append(Text(sheet.note, style="dim"))
    return parts


def table_of(sheet: Sheet) -> Table:
    """A sheet as a table: names to the left, and figures to the right."""
    table = Table(
        box=None,
        pad_edge=False,
        padding=(0, 2, 0, 0),
        header_style="bold",
        show_header=any(sheet.heads),
    )
    for place, head in enumerate(sheet.heads):
        figures = place > 0 and all(is_figure(row[place]) for row in sheet.rows)
        table.add_column(head, justify="right" if figures else "left", no_wrap=place == 0)
    for row in sheet.rows:
        table.add_row(*row)
    return table


def _told(answer: Answer, style: str) -> Text:
    line = Text(answer.sentence, style=style if answer.state == ACT else "")
    return line.append(f" {answer.change}", style="italic") if answer.change else line


def is_figure(cell: str) -> bool:
    """Whether a cell is a number (or says that there is none), and so belongs to the right."""
    return cell in ("-", ".", "none") or cell.lstrip("+-").replace(".", "", 1).isdigit()
