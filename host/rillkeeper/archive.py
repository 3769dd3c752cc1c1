"""The archive: every record that was ever read from a board, once, in one SQLite file.

A board and a sequence number make a record. When a board's numbering begins anew (its flash was
wiped), a new spell of that board begins, so that nothing read before is overwritten.
"""

import sqlite3
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple

from rillkeeper.errors import RillkeeperError

VERSION = 1
FILE = "archive.sqlite"

VIRTUAL_BOARD = b"virtual".hex()
"""The number of every virtual board (``rillkeeper board``). Each start of one is a new board."""

_SCHEMA = """
CREATE TABLE IF NOT EXISTS record (
    board TEXT NOT NULL,
    spell INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    line TEXT NOT NULL,
    PRIMARY KEY (board, spell, seq)
) WITHOUT ROWID
"""


class Last(NamedTuple):
    """The newest record of a board."""

    spell: int
    seq: int
    line: str


class Archive:
    """One archive file; a context manager. What was added is kept at once."""

    def __init__(self, path: Path) -> None:
        """Open a file, or make it. Raises RillkeeperError where that is not possible."""
        self.path = path
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._base = sqlite3.connect(path, timeout=10.0)
            found = self._base.execute("PRAGMA user_version").fetchone()[0]
            if found == 0:
                with self._base:
                    self._base.execute(_SCHEMA)
                    self._base.execute(f"PRAGMA user_version = {VERSION}")
        except (sqlite3.Error, OSError) as error:
            raise RillkeeperError(f"{path}: cannot be used as an archive: {error}") from None
        if found > VERSION:
            raise RillkeeperError(f"{path}: written by a later rillkeeper; update this one")

    def __enter__(self) -> "Archive":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._base.close()

    def boards(self) -> list[str]:
        """Boards of which there is a record."""
        rows = self._rows("SELECT DISTINCT board FROM record ORDER BY board")
        return [row[0] for row in rows]

    def last(self, board: str) -> Last | None:
        """The newest record of a board, if there is any."""
        rows = self._rows(
            "SELECT spell, seq, line FROM record WHERE board = ? "
            "ORDER BY spell DESC, seq DESC LIMIT 1",
            board,
        )
        return Last(*rows[0]) if rows else None

    def add(self, board: str, spell: int, lines: Iterable[str]) -> list[str]:
        """Keep lines of a board; returns those that were not there yet.

        Each begins with its sequence number. They are kept together, or none of them is.
        """
        new = []
        try:
            with self._base:
                for line in lines:
                    row = (board, spell, int(line.split(" ")[0]), line)
                    done = self._base.execute("INSERT OR IGNORE INTO record VALUES (?,?,?,?)", row)
                    if done.rowcount:
                        new.append(line)
        except sqlite3.Error as error:
            raise RillkeeperError(f"{self.path}: cannot be written: {error}") from None
        return new

    def lines(self, board: str) -> list[str]:
        """Every line of a board, in the order in which the board wrote them.

        Of a virtual board, those of the last one that was started.
        """
        last = self.last(board)
        first_spell = last.spell if last is not None and board == VIRTUAL_BOARD else 0
        rows = self._rows(
            "SELECT line FROM record WHERE board = ? AND spell >= ? ORDER BY spell, seq",
            board,
            first_spell,
        )
        return [row[0] for row in rows]

    def _rows(self, question: str, *values: str | int) -> list[tuple[Any, ...]]:
        try:
            return self._base.execute(question, values).fetchall()
        except sqlite3.Error as error:
            raise RillkeeperError(f"{self.path}: cannot be read: {error}") from None
