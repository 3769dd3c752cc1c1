"""What is known of each board beside its records: its name, its site file, the last diagnosis.

A board's own number is for machines. It is called by the name of the site that it was set up
for, which is learned when settings are sent to it, or when a site file is given for its log.
"""

from dataclasses import dataclass
from pathlib import Path

from rillkeeper.runlog.store import Archive

_SCHEMA = """
CREATE TABLE IF NOT EXISTS board (
    board TEXT PRIMARY KEY, name TEXT NOT NULL DEFAULT '', site TEXT NOT NULL DEFAULT '',
    learned TEXT NOT NULL DEFAULT '', read INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE IF NOT EXISTS finding (
    board TEXT PRIMARY KEY, mark TEXT NOT NULL, until TEXT NOT NULL, found TEXT NOT NULL
);
"""


@dataclass(frozen=True)
class Known:
    """One board."""

    board: str
    name: str = ""
    """Of its site; empty where that is not known."""
    site: str = ""
    """Its site file; empty where none was ever given."""
    learned: str = ""
    """What was learned for that, where it was given with it."""
    read: int = 0
    """The higher, the later its log was read; 0: never since boards have names."""

    @property
    def called(self) -> str:
        """For a person: the name where there is one."""
        return f"{self.name} ({self.board})" if self.name else self.board

    @property
    def site_file(self) -> str | None:
        """The site file, where it is still there."""
        return self.site if self.site and Path(self.site).is_file() else None

    @property
    def learned_file(self) -> str | None:
        """What was learned, where it is still there."""
        return self.learned if self.learned and Path(self.learned).is_file() else None


@dataclass(frozen=True)
class Finding:
    """The last diagnosis of a board's log."""

    mark: str
    """Of all that it was made from: log, site, and what was learned."""
    until: str
    """The night up to which the log went, in words."""
    found: str
    """``inquiry.why.found.Found`` as text."""


class Boards:
    """The boards in one archive file."""

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        archive.hold(_SCHEMA)

    def of(self, board: str) -> Known:
        """What is known of a board."""
        rows = self._archive.rows(
            "SELECT board, name, site, learned, read FROM board WHERE board = ?", board
        )
        return Known(*rows[0]) if rows else Known(board)

    def set_up(self, board: str, name: str, site: str, learned: str = "") -> None:
        """A board was set up for a site, or its log was held against it."""
        self._have(board)
        self._archive.write(
            "UPDATE board SET name = ?, site = ?, learned = ? WHERE board = ?",
            (name, site, learned, board),
        )

    def was_read(self, board: str) -> None:
        """Its log was read, after those of all other boards."""
        self._have(board)
        self._archive.write(
            "UPDATE board SET read = 1 + (SELECT max(read) FROM board) WHERE board = ?", (board,)
        )

    def finding(self, board: str) -> Finding | None:
        """The last diagnosis of its log."""
        rows = self._archive.rows("SELECT mark, until, found FROM finding WHERE board = ?", board)
        return Finding(*rows[0]) if rows else None

    def keep(self, board: str, finding: Finding) -> None:
        """Keep a diagnosis in the place of the one before."""
        self._archive.write(
            "INSERT OR REPLACE INTO finding VALUES (?,?,?,?)",
            (board, finding.mark, finding.until, finding.found),
        )

    def _have(self, board: str) -> None:
        self._archive.write("INSERT OR IGNORE INTO board (board) VALUES (?)", (board,))
