"""Results of seasons in an SQLite file, written as they come: what is there is not played again.

The file says of which seasons it is: those of another site, other options or another version are
refused. Results are read back in the order of variants and seasons, one at a time, so that neither
the order in which they came nor their number matters.
"""

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from rillkeeper.errors import RillkeeperError
from rillkeeper.season.task import Result

_TABLES = (
    "CREATE TABLE IF NOT EXISTS of (mark TEXT NOT NULL)",
    "CREATE TABLE IF NOT EXISTS season (variant INTEGER, number INTEGER, result TEXT NOT NULL, "
    "PRIMARY KEY (variant, number)) WITHOUT ROWID",
)


class Kept:
    """The results of one question."""

    def __init__(self, path: Path | str, mark: str) -> None:
        """``mark`` stands for all that decides the results."""
        try:
            self._base = sqlite3.connect(path)
            for table in _TABLES:
                self._base.execute(table)
            found = self._base.execute("SELECT mark FROM of").fetchone()
            if found is None:
                self._base.execute("INSERT INTO of VALUES (?)", (mark,))
            self._base.commit()
        except sqlite3.Error as error:
            raise RillkeeperError(
                f"{path}: cannot be used for results: {error}; choose another file"
            ) from None
        if found is not None and found[0] != mark:
            raise RillkeeperError(
                f"{path}: holds seasons of another site, other options or another version; "
                "choose another file"
            )

    def add(self, variant: int, number: int, result: Result) -> None:
        """Keep one; the same season again changes nothing."""
        text = json.dumps(result, sort_keys=True, separators=(",", ":"))
        with self._base:
            self._base.execute(
                "INSERT OR IGNORE INTO season VALUES (?, ?, ?)", (variant, number, text)
            )

    def has(self, variant: int, number: int) -> bool:
        """Whether this one is there."""
        where = "SELECT 1 FROM season WHERE variant = ? AND number = ?"
        return self._base.execute(where, (variant, number)).fetchone() is not None

    def count(self) -> int:
        """How many there are."""
        return int(self._base.execute("SELECT COUNT(*) FROM season").fetchone()[0])

    def of(self, variant: int) -> Iterator[tuple[int, Result]]:
        """The seasons of a variant by their numbers, one at a time."""
        query = "SELECT number, result FROM season WHERE variant = ? ORDER BY number"
        for number, text in self._base.execute(query, (variant,)):
            yield number, json.loads(text)

    def one(self, variant: int, number: int) -> Result:
        """One that is there."""
        where = "SELECT result FROM season WHERE variant = ? AND number = ?"
        found: Result = json.loads(self._base.execute(where, (variant, number)).fetchone()[0])
        return found

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()
