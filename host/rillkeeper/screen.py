"""The terminal: results go to stdout, everything else to stderr.

Here are the console, the width of what is piped, the style of tables, the form of a JSON
document, and how far long work has come.
"""

import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from time import monotonic

import click
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.table import Column, Table
from rich.text import Text

WIDTH = 100
"""Columns of what goes to a file or into a pipe, where the environment names no COLUMNS."""


def console(*, err: bool = False) -> Console:
    """A console that keeps to `--no-color` and to the environment's NO_COLOR."""
    context = click.get_current_context(silent=True)
    plain = context is not None and context.color is False
    return Console(stderr=err, no_color=True if plain else None, highlight=False)


def show(*parts: RenderableType, width: int = WIDTH) -> None:
    """Print results below each other; into a file or a pipe as wide as ``width`` columns."""
    screen = console()
    settle(screen, width)
    screen.print(*parts, sep="\n")


def settle(screen: Console, width: int = WIDTH) -> None:
    """Give what goes to a file or into a pipe its columns: those of COLUMNS, else ``width``."""
    if not screen.is_terminal and not os.environ.get("COLUMNS", "").isdigit():
        screen.width = width


_TEXT_MIN = 8
"""A column of sentences that is narrower cannot be read."""


class OpenTable(Table):
    """A table without rules. Where it has no room, a row is a few lines, and nothing is lost."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        if self.needs(console) <= options.max_width:
            yield from super().__rich_console__(console, options)
            return
        for place in range(self.row_count):
            yield from self._as_lines(place)

    def needs(self, console: Console) -> int:
        """Columns of the terminal that it takes to show it as a table."""
        gap = self.padding[1]
        return sum(self._needs_of(console, column) + gap for column in self.columns) - gap

    def _needs_of(self, console: Console, column: Column) -> int:
        head = console.measure(column.header).minimum if self.show_header else 0
        sizes = [console.measure(part) for part in column.cells]
        most = max((size.maximum for size in sizes), default=0)
        if column.no_wrap or column.justify == "right":
            return max(most, console.measure(column.header).maximum if column.no_wrap else head)
        least = max((size.minimum for size in sizes), default=0)
        return max(min(most, _TEXT_MIN), least, head)

    def _as_lines(self, place: int) -> RenderResult:
        """The first cell, then figures with their headings in a line, then each sentence."""
        first, *rest = (list(column.cells)[place] for column in self.columns)
        yield Text(_plain(first), style="bold" if self.show_header else "")
        figures: list[str] = []
        sentences: list[str] = []
        for column, cell in zip(self.columns[1:], rest, strict=True):
            name, _, unit = (_plain(column.header) if self.show_header else "").partition(", ")
            told = " ".join(f"{name} {_plain(cell)} {unit}".split())
            if _plain(cell).strip() not in ("", "-"):
                (figures if column.justify == "right" else sentences).append(told)
        for line in [", ".join(figures), *sentences]:
            if line:
                yield Padding(Text(line), (0, 0, 0, 2))


def _plain(cell: RenderableType) -> str:
    return cell.plain if isinstance(cell, Text) else str(cell)


def open_table(*headings: str, show_header: bool = True) -> OpenTable:
    """A table without lines, as all of ours are; columns may be added with their own manners."""
    table = OpenTable(
        box=None,
        pad_edge=False,
        padding=(0, 2, 0, 0),
        header_style="bold",
        show_header=show_header,
    )
    for heading in headings:
        table.add_column(heading, no_wrap=True)
    return table


def json_text(document: Mapping[str, object]) -> str:
    """A JSON document as every command writes it: keys sorted, nothing but numbers in numbers."""
    return json.dumps(document, sort_keys=True, indent=2, allow_nan=False)


@contextmanager
def progress_of(title: str, after_s: float = 0.0) -> Iterator[Callable[[float], None]]:
    """What to call with the share that is done, 0 to 1; into a pipe it tells of it only where
    the work takes longer than ``after_s``."""
    if sys.stderr.isatty():
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
        with Progress(*columns, console=console(err=True), transient=True) as bar:
            task = bar.add_task(title, total=1.0)
            yield lambda share: bar.update(task, completed=share)
        return
    told = [0]
    begun = monotonic()

    def tell(share: float) -> None:
        tenths = int(share * 10.0)
        if tenths > told[0] and monotonic() - begun >= after_s:
            told[0] = tenths
            click.echo(f"{title}: {tenths * 10} %", err=True)

    yield tell
