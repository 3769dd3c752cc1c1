"""A table as text, which the terminal and the page both show."""

import re
from dataclasses import dataclass

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from rillkeeper.screen import open_table

_FIGURE = re.compile(r"[+-]*\d*\.?\d+( [^\d\s]+)?")


@dataclass(frozen=True)
class TextTable:
    """One table: its title, headings, rows of text, and what to know when reading it."""

    key: str
    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""

    @property
    def numeric(self) -> set[int]:
        """Places of the columns that hold figures only; the first holds names."""
        places = range(1, len(self.headings))
        return {n for n in places if all(is_figure(row[n]) for row in self.rows)}


def on_terminal(table: TextTable) -> list[RenderableType]:
    """The table under its title, with its note: names to the left, figures to the right."""
    parts: list[RenderableType] = [Text(f"\n{table.title}", style="bold"), _columns(table)]
    if table.note:
        parts.append(Text(table.note, style="dim"))
    return parts


def _columns(table: TextTable) -> Table:
    shown = open_table(show_header=any(table.headings))
    for place, heading in enumerate(table.headings):
        figures = place in table.numeric
        shown.add_column(heading, justify="right" if figures else "left", no_wrap=place == 0)
    for row in table.rows:
        shown.add_row(*row)
    return shown


def is_figure(cell: str) -> bool:
    """Whether a cell is a number, with its unit or without (or says that there is none), and so
    belongs to the right.

    >>> is_figure("1014 L"), is_figure("-0.3"), is_figure("93 min / 62 min"), is_figure("3 ways")
    (True, True, False, True)
    """
    return cell in ("-", ".", "none") or bool(_FIGURE.fullmatch(cell))
