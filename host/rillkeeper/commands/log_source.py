"""The lines of a run log, from wherever a command is told to take them."""

from collections.abc import Iterable
from pathlib import Path

import click

from keeper.lines import date_text, time_text
from rillkeeper.commands.options import archive_path
from rillkeeper.display_units import counted
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.runlog.boards import Boards, Known
from rillkeeper.runlog.lines import Entry, RunLog, read_log
from rillkeeper.runlog.store import Archive
from rillsim.boards.virtualboard import VIRTUAL


def file_lines(path: Path) -> list[str]:
    """The lines of a log file."""
    try:
        return path.read_text(encoding="ascii", errors="replace").splitlines()
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be read: {error.strerror}") from None


def archive_lines(archive_file: str | None, board: str | None) -> list[str]:
    """The lines of the board that is wanted, or of the one that was read last."""
    wanted = known_board(archive_file, board).board
    with Archive(archive_path(archive_file)) as archive:
        return archive.lines(wanted)


def known_board(archive_file: str | None, board: str | None) -> Known:
    """The board that is wanted, by its number or its name, and what is known of it.

    Where none is, the one that was read last; virtual ones count only where none is real.
    """
    path = archive_path(archive_file)
    nothing = RillkeeperError(f"{path}: nothing in the archive yet; read a board: rillkeeper log")
    if not path.exists():
        raise nothing
    with Archive(path) as archive:
        known = Boards(archive)
        boards = [known.of(one) for one in archive.boards()]
    if not boards:
        raise nothing
    if board is not None:
        wanted = [one for one in boards if board.lower() in (one.board, one.name.lower())]
        if len(wanted) == 1:
            return wanted[0]
        listed = ", ".join(one.called for one in boards)
        if wanted:
            raise UsageMistake(f'several boards are called "{board}"; give its number: {listed}')
        raise UsageMistake(f'no board "{board}" in the archive; it has {listed}')
    real = [one for one in boards if not one.board.startswith(VIRTUAL.hex())] or boards
    last = max(real, key=lambda one: one.read)
    if len(real) > 1:
        if not last.read:
            listed = ", ".join(one.called for one in real)
            raise UsageMistake(f"choose one with --board: {listed}")
        click.echo(f"of {last.called}, the board that was read last (see --board)", err=True)
    return last


def called_of(archive_file: str | None, board: str) -> str:
    """A board's name with its number, as far as the archive knows it."""
    path = archive_path(archive_file)
    if not path.exists():
        return board
    try:
        with Archive(path) as archive:
            return Boards(archive).of(board).called
    except RillkeeperError:  # A damaged archive is no matter for a look at the board.
        return board


def since_lines(lines: list[str], day: int | None) -> list[str]:
    """The lines from a day on; all of them, the torn ones too, where none is given."""
    if day is None:
        return lines
    return lines_of(lines, [entry for entry in read_log(lines).entries if is_since(entry, day)])


def is_since(entry: Entry, day: int | None) -> bool:
    """Whether a record is from that day on; its night counts where its clock was wrong."""
    return day is None or (entry.day if entry.trusted else entry.night) >= day


def lines_of(lines: Iterable[str], entries: Iterable[Entry]) -> list[str]:
    """The lines that hold these records."""
    wanted = {f"{entry.seq} {date_text(entry.day)} {time_text(entry.second)}" for entry in entries}
    return [line for line in lines if " ".join(line.split(" ")[:3]) in wanted]


def no_night_text(log: RunLog, since: str | None) -> str:
    """Why there is no night to tell of, and what to do."""
    text = f"no night {f'since {since} ' if since else ''}is in this log"
    if log.damages:
        text += (
            f", and {counted(len(log.damages), 'line')} could not be read; give one that "
            "`rillkeeper log --raw` or `rillkeeper week --log` has written"
        )
    return text
