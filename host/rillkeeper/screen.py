"""The terminal: results go to stdout, everything else to stderr.

Here are the console, the width of what is piped, the style of tables, the form of a JSON
document, and how far long work has come.
"""

import json
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from time import monotonic

import click
from rich.console import Console, RenderableType
from rich.table import Table

WIDTH = 100
"""Columns of what goes to a file or into a pipe."""


def console(*, err: bool = False) -> Console:
    """A console that keeps to `--no-color` and to the environment's NO_COLOR."""
    context = click.get_current_context(silent=True)
    plain = context is not None and context.color is False
    return Console(stderr=err, no_color=True if plain else None, highlight=False)


def show(*parts: RenderableType, width: int = WIDTH) -> None:
    """Print results below each other; into a file or a pipe as wide as ``width`` columns."""
    screen = console()
    if not screen.is_terminal:
        screen.width = width
    screen.print(*parts, sep="\n")


def open_table(*headings: str, show_header: bool = True) -> Table:
    """A table without lines, as all of ours are; columns may be added with their own manners."""
    table = Table(
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
