"""The listing of a flashing, and its progress."""

import sys

import click
from rich.progress import BarColumn, Progress, TaskID, TextColumn
from rich.table import Table

from rillkeeper.board.flash.firmware import Firmware
from rillkeeper.board.flash.plan import CHANGED, NEW, REMOVED, SAME, Row
from rillkeeper.display_units import counted
from rillkeeper.screen import console, open_table, settle

DIGITS = 16
_TENTH = 10


def table_of(rows: list[Row]) -> Table:
    """A row a file."""
    table = open_table()
    table.add_column("file", no_wrap=True)
    table.add_column("bytes", justify="right", no_wrap=True)
    table.add_column(f"SHA-256, first {DIGITS} digits", no_wrap=True)
    table.add_column("what")
    for row in rows:
        table.add_row(row.path, str(row.size), row.sha256[:DIGITS], row.what)
    return table


def show(rows: list[Row], wanted: Firmware) -> None:
    """Print the listing, and what it comes to."""
    screen = console()
    settle(screen)
    screen.print(table_of(rows))
    counts = [
        f"{sum(row.what == what for row in rows)} {what}" for what in (NEW, CHANGED, SAME, REMOVED)
    ]
    sort = "bytecode" if wanted.bytecode else "sources"
    click.echo(
        f"firmware {wanted.version} as {sort}: {counted(len(wanted.files), 'file')}, "
        f"{wanted.size / 1000:.1f} kB; " + ", ".join(counts)
    )


def is_done(rows: list[Row]) -> bool:
    """Whether the board has all of it already, and nothing that does not belong."""
    return all(row.what == SAME for row in rows)


class Meter:
    """How far the copying is: a bar on a terminal, else a line for each tenth."""

    def __init__(self, total_bytes: int) -> None:
        self._total = max(total_bytes, 1)
        self._told = 0
        self._bar: Progress | None = None
        self._task = TaskID(0)

    def __enter__(self) -> "Meter":
        if sys.stderr.isatty():
            columns = (
                TextColumn("{task.percentage:>3.0f} %"),
                BarColumn(),
                TextColumn("{task.description}"),
            )
            self._bar = Progress(*columns, console=console(err=True), transient=True)
            self._task = self._bar.add_task("", total=self._total)
            self._bar.start()
        return self

    def __exit__(self, *error: object) -> None:
        if self._bar:
            self._bar.stop()

    def told(self, path: str, done_bytes: int) -> None:
        """A file is begun, after so many bytes."""
        if self._bar:
            self._bar.update(self._task, completed=done_bytes, description=path)
            return
        percent = 100 * done_bytes // self._total
        if percent // _TENTH > self._told // _TENTH:
            self._told = percent
            click.echo(f"copying: {percent} %, at {path}", err=True)
