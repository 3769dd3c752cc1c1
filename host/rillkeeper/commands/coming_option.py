"""The options by which `size`, `week` and `report` show the coming nights, and what they write."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from rillkeeper.commands import output_file
from rillkeeper.errors import UsageMistake
from rillkeeper.morning.coming import Coming
from rillkeeper.morning.coming.plan import AHEAD, AHEAD_MAX
from rillkeeper.morning.coming.words import table
from rillkeeper.screen import show
from rillkeeper.text_table import on_terminal

FORMS = (".ics", ".html")

Command = Callable[..., Any]


def coming_options(command: Command) -> Command:
    """The options ``--ahead`` and ``--calendar``."""
    command = click.option(
        "--calendar",
        "calendar_files",
        multiple=True,
        type=click.Path(dir_okay=False),
        help="The coming nights: as iCalendar for a phone (.ics), as a page to print (.html).",
    )(command)
    return click.option(
        "--ahead",
        type=click.IntRange(1, AHEAD_MAX),
        default=AHEAD,
        show_default=True,
        help="How many coming nights to plan.",
    )(command)


def check_calendars(files: tuple[str, ...]) -> None:
    """Refuse, before the work, what cannot be written."""
    for file in files:
        if Path(file).suffix.lower() not in FORMS:
            raise UsageMistake(f"--calendar {file}: ends neither in .ics nor in .html")
    output_file.check_folders(*files)


def show_coming(plan: Coming) -> None:
    """Print the plan as a table with its sentences."""
    from rich.console import Group

    show(Group(*on_terminal(table(plan))))


def save_calendars(plan: Coming, files: tuple[str, ...]) -> None:
    """Write every file that was asked for."""
    for file in files:
        output_file.save("calendar", file, lambda path: _write(plan, path))


def _write(plan: Coming, path: Path) -> None:
    if path.suffix.lower() == ".ics":
        from rillkeeper.morning.coming.icalendar import text_of

        path.write_text(text_of(plan, datetime.now(UTC)), encoding="utf-8", newline="")
        return
    from rillkeeper.pages.coming import write

    write(plan, path)
