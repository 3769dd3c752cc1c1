"""How far long work has come: a bar on a terminal, elsewhere a line for every tenth of it."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from rillkeeper.screen import console


@contextmanager
def progress_of(title: str) -> Iterator[Callable[[float], None]]:
    """What to call with the share that is done, 0 to 1."""
    if sys.stderr.isatty():
        columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
        with Progress(*columns, console=console(err=True), transient=True) as bar:
            task = bar.add_task(title, total=1.0)
            yield lambda share: bar.update(task, completed=share)
        return
    told = [0]

    def tell(share: float) -> None:
        tenths = int(share * 10.0)
        if tenths > told[0]:
            told[0] = tenths
            click.echo(f"{title}: {tenths * 10} %", err=True)

    yield tell
