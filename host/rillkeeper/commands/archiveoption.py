"""The options of commands that use the archive: which file, which board, from which day on."""

from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path
from typing import Any

import click

from keeper.lines import date_text, time_text
from rillkeeper.datafolder import data_folder
from rillkeeper.errors import UsageMistake
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.store import FILE

VARIABLE = "RILLKEEPER_ARCHIVE"
_EPOCH = date(1970, 1, 1)

Command = Callable[..., Any]


def archive_option(command: Command) -> Command:
    """The option ``--archive``."""
    return click.option(
        "--archive",
        "archive_file",
        envvar=VARIABLE,
        show_envvar=True,
        type=click.Path(dir_okay=False),
        help=f"Another archive than {FILE} in your data folder.",
    )(command)


def since_option(command: Command) -> Command:
    """The option ``--since``."""
    return click.option("--since", metavar="DAY", help="From this day on, as 2026-07-09.")(command)


def archive_path(given: str | None) -> Path:
    """The archive to use."""
    return Path(given) if given else data_folder() / FILE


def day_of(text: str | None) -> int | None:
    """The number of a day that was given."""
    if text is None:
        return None
    try:
        return (date.fromisoformat(text) - _EPOCH).days
    except ValueError:
        raise UsageMistake(f'--since "{text}" is not a day; example: --since 2026-07-09') from None


def is_since(entry: Entry, day: int | None) -> bool:
    """Whether a record is from that day on; its night counts where its clock was wrong."""
    return day is None or (entry.day if entry.trusted else entry.night) >= day


def lines_of(lines: Iterable[str], entries: Iterable[Entry]) -> list[str]:
    """The lines that hold these records."""
    wanted = {f"{entry.seq} {date_text(entry.day)} {time_text(entry.second)}" for entry in entries}
    return [line for line in lines if " ".join(line.split(" ")[:3]) in wanted]
