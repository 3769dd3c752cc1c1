"""The archive: every record that was ever read from a board, once, in one SQLite file.

A board and a sequence number make a record. When a board's numbering begins anew (its flash was
wiped), a new spell of that board begins, so that nothing read before is overwritten.

A file that is damaged is never written to. Whoever only reads is told so; whoever is to write
begins a new one with all that can still be read, and the damaged one is kept beside it.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple

from rillkeeper.display_units import counted
from rillkeeper.errors import RillkeeperError

VERSION = 1
FILE = "archive.sqlite"
BESIDE = ("proof", "proof_step", "calibration", "board", "finding", "small_test")
"""Tables beside the log's own: ``board/proof/records.py``, ``boards.py``,
``inquiry/why/small_tests/kept.py``."""
TABLES = {"record", *BESIDE}

_SCHEMA = """
CREATE TABLE IF NOT EXISTS record (
    board TEXT NOT NULL,
    spell INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    line TEXT NOT NULL,
    PRIMARY KEY (board, spell, seq)
) WITHOUT ROWID
"""

_TABLES = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
_HEADER = b"SQLite format 3\x00"
"""The first bytes of every SQLite 3 file (https://sqlite.org/fileformat2.html, 1.3.1)."""
_JOURNALS = ("-journal", "-wal", "-shm")


class Last(NamedTuple):
    """The newest record of a board."""

    spell: int
    seq: int
    line: str


class Renewal(NamedTuple):
    """What became of a damaged archive."""

    kept_as: Path
    """Where the damaged file is now."""
    saved: int
    """Records that could be read out of it, and are in the new one."""

    @property
    def sentence(self) -> str:
        """For the person at the terminal."""
        return (
            f"the archive was damaged: it is kept as {self.kept_as}, and "
            f"{counted(self.saved, 'record')} of it could be read and went into a new one"
        )


class ArchiveDamaged(RillkeeperError):
    """The file is an archive that cannot be trusted any more."""


class Archive:
    """One archive file; a context manager. What was added is kept at once."""

    def __init__(self, path: Path) -> None:
        """Open a file, or make it. Raises RillkeeperError where that is not possible."""
        self.path = path
        self.renewal: Renewal | None = None
        """What had to be done to a damaged file; see `renewed`."""
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            sound = not path.exists() or _is_database(path)
        except OSError as error:
            raise RillkeeperError(f"{path}: cannot be used as an archive: {error}") from None
        if not sound and path.name == FILE:  # Nobody else writes a file of this name.
            raise _damaged(path, "its first bytes are gone")
        if not sound:
            raise RillkeeperError(
                f"{path}: cannot be used as an archive: it is another kind of file; choose "
                "another with --archive"
            )
        self._base = self._connect()
        try:
            found = self._judge()
        except RillkeeperError:
            self._base.close()
            raise
        if found == 0:
            self._make()

    def _connect(self) -> sqlite3.Connection:
        try:
            return sqlite3.connect(self.path, timeout=10.0)
        except sqlite3.Error as error:
            raise RillkeeperError(f"{self.path}: cannot be used as an archive: {error}") from None

    def _judge(self) -> int:
        """Whether the file can be used; its version, 0 for a new one."""
        path = self.path
        try:
            found = int(self._base.execute("PRAGMA user_version").fetchone()[0])
            tables = {row[0] for row in self._base.execute(_TABLES)}
            wrong = self._base.execute("PRAGMA quick_check(1)").fetchone()[0]
        except sqlite3.OperationalError as error:
            raise RillkeeperError(f"{path}: cannot be used as an archive: {error}") from None
        except sqlite3.DatabaseError as error:
            raise _damaged(path, error) from None
        if wrong != "ok":
            raise _damaged(path, wrong)
        if found > VERSION:
            raise RillkeeperError(f"{path}: written by a later rillkeeper; update this one")
        if tables - TABLES:
            raise RillkeeperError(
                f"{path}: cannot be used as an archive: it is another program's database; choose "
                "another with --archive"
            )
        return found

    def _make(self) -> None:
        try:
            with self._base:
                self._base.execute(_SCHEMA)
                self._base.execute(f"PRAGMA user_version = {VERSION}")
        except sqlite3.Error as error:
            raise RillkeeperError(f"{self.path}: cannot be used as an archive: {error}") from None

    @classmethod
    def renewed(cls, path: Path) -> "Archive":
        """Open a file to write to; one that is damaged is kept aside and begun anew."""
        try:
            return cls(path)
        except ArchiveDamaged:
            aside = _aside(path)
        saved: dict[tuple[str, int], list[str]] = {}
        for board, spell, line in _salvaged(aside):
            saved.setdefault((board, spell), []).append(line)
        archive = cls(path)
        for (board, spell), lines in saved.items():
            archive.add(board, spell, lines)
        for statement, rows in _salvaged_beside(aside):
            archive.hold(statement[0])
            for row in rows:
                archive.write(statement[1], row)
        archive.renewal = Renewal(aside, sum(map(len, saved.values())))
        return archive

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
        rows = self.rows("SELECT DISTINCT board FROM record ORDER BY board")
        return [row[0] for row in rows]

    def last(self, board: str) -> Last | None:
        """The newest record of a board, if there is any."""
        rows = self.rows(
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
        """Every line of a board, in the order in which the board wrote them."""
        rows = self.rows(
            "SELECT line FROM record WHERE board = ? ORDER BY spell, seq",
            board,
        )
        return [row[0] for row in rows]

    def hold(self, schema: str) -> None:
        """Make tables beside the records, where the file does not have them yet."""
        try:
            with self._base:
                self._base.executescript(schema)
        except sqlite3.Error as error:
            raise RillkeeperError(f"{self.path}: cannot be used as an archive: {error}") from None

    def write(self, statement: str, values: tuple[Any, ...]) -> int | None:
        """Change a table; the number of the row that was added, if one was."""
        try:
            with self._base:
                return self._base.execute(statement, values).lastrowid
        except sqlite3.Error as error:
            raise RillkeeperError(f"{self.path}: cannot be written: {error}") from None

    def rows(self, question: str, *values: str | int) -> list[tuple[Any, ...]]:
        """What a question to a table finds."""
        try:
            return self._base.execute(question, values).fetchall()
        except sqlite3.Error as error:
            raise RillkeeperError(f"{self.path}: cannot be read: {error}") from None


def _is_database(path: Path) -> bool:
    """Whether a file is a database, sound or not, or is still empty."""
    with path.open("rb") as file:
        start = file.read(len(_HEADER))
    return not start or start == _HEADER


def _damaged(path: Path, why: object) -> ArchiveDamaged:
    text = str(why).replace("\n", " ")
    return ArchiveDamaged(
        f"{path}: the archive is damaged ({text}); nothing was changed. The next `rillkeeper log` "
        "keeps this file aside and begins a new one with all that can still be read"
    )


def _aside(path: Path) -> Path:
    """Move a file out of the way, under a name that nothing has."""
    number = 1
    while (aside := path.with_name(f"{path.stem}.damaged-{number}{path.suffix}")).exists():
        number += 1
    try:
        path.rename(aside)
        for ending in _JOURNALS:
            journal = Path(f"{path}{ending}")
            if journal.exists():
                journal.rename(Path(f"{aside}{ending}"))
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be kept aside: {error.strerror}") from None
    return aside


def _salvaged(path: Path) -> Iterator[tuple[str, int, str]]:
    """Records of a damaged file: from the front up to the damage, and from the end back to it."""
    seen: set[tuple[str, int, int]] = set()
    base = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        for order in ("", " ORDER BY board DESC, spell DESC, seq DESC"):
            with suppress(sqlite3.Error, ValueError, TypeError):
                for board, spell, seq, line in base.execute(f"SELECT * FROM record{order}"):
                    key = (str(board), int(spell), int(seq))
                    if key not in seen and int(line.split(" ")[0]) == key[2]:
                        seen.add(key)
                        yield key[0], key[1], line
    finally:
        base.close()


def _salvaged_beside(path: Path) -> Iterator[tuple[tuple[str, str], list[tuple[Any, ...]]]]:
    """The other tables of a damaged file: how each is made and filled, and its rows.

    They are read from the front and from the end, as the records are: the newest proof counts.
    """
    base = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        for table in BESIDE:
            made = None
            with suppress(sqlite3.Error):
                sql = "SELECT sql FROM sqlite_master WHERE name = ?"
                made = base.execute(sql, (table,)).fetchone()
            found: dict[int, tuple[Any, ...]] = {}
            for order in ("", " ORDER BY rowid DESC"):
                with suppress(sqlite3.Error):
                    for number, *row in base.execute(f"SELECT rowid, * FROM {table}{order}"):
                        found.setdefault(number, tuple(row))
            rows = [found[number] for number in sorted(found)]
            if made and rows:
                marks = ",".join("?" * len(rows[0]))
                yield (made[0], f"INSERT OR IGNORE INTO {table} VALUES ({marks})"), rows
    finally:
        base.close()
