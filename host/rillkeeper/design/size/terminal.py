"""The sizing on a terminal: the verdict first, then the tables it rests on."""

from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from rillkeeper.design.size.tables import tables_of
from rillkeeper.design.size.workings import Workings
from rillkeeper.text_table import TextTable, on_terminal
from rillkeeper.verdict import ACT, GOOD, LOOK, Answer, Verdict

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


def render(
    work: Workings,
    demo: bool,
    more: Iterable[TextTable] = (),
    sure: str = "",
    last: Iterable[TextTable] = (),
) -> RenderableType:
    """The sizing as something that a rich console prints; ``sure`` follows the verdict."""
    verdict = work.verdict
    sentence = f"{verdict.sentence} {sure}".rstrip()
    parts: list[RenderableType] = [
        Text(work.site.name, style="bold"),
        Text(sentence, style=_MARKS[verdict.state][1]),
        Text(),
        _answers(verdict),
    ]
    for table in [*more, *tables_of(work), *last] if work.facts.runs else more:
        parts += on_terminal(table)
    parts.append(Text(f"\n{CAUTIONS}", style="italic"))
    if demo:
        parts.append(Text(f"\n{OWN_FILE}", style="bold"))
    return Group(*parts)


def _answers(verdict: Verdict) -> Table:
    """A row a question: mark, question, answer, and what to change."""
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(min_width=24, max_width=30)
    table.add_column()
    for answer in verdict.answers:
        mark, style = _MARKS[answer.state]
        table.add_row(Text(mark, style=style), answer.question, _told(answer, style))
    return table


def _told(answer: Answer, style: str) -> Text:
    line = Text(answer.sentence, style=style if answer.state == ACT else "")
    return line.append(f" {answer.detail}", style="italic") if answer.detail else line
