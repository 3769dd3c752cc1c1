"""Results of seasons in an SQLite file, written as they come: what is there is not played again.

The file says of which seasons it is: those of another site, other options or another version are
refused. It also answers what many seasons come to, so that no more than one of them is in memory
at a time; they are read in the order of their numbers, so that the order in which they came does
not matter.
"""

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from rillkeeper.errors import RillkeeperError
from rillkeeper.season.figures import COLUMNS, FIGURES, figures_of
from rillkeeper.season.task import Result

_NAMES = ", ".join(f'"{name}"' for name in COLUMNS)
_TABLES = (
    "CREATE TABLE IF NOT EXISTS of (mark TEXT NOT NULL)",
    "CREATE TABLE IF NOT EXISTS season (variant INTEGER, number INTEGER, result TEXT NOT NULL, "
    f"{_NAMES}, PRIMARY KEY (variant, number)) WITHOUT ROWID",
)
_INSERT = f"INSERT OR IGNORE INTO season VALUES (?, ?, ?{', ?' * len(COLUMNS)})"
_HERE = "FROM season WHERE variant = ? AND number <= ?"


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
            self._base.execute(_INSERT, (variant, number, text, *figures_of(result).values()))

    def has(self, variant: int, number: int) -> bool:
        """Whether this one is there."""
        where = "SELECT 1 FROM season WHERE variant = ? AND number = ?"
        return self._base.execute(where, (variant, number)).fetchone() is not None

    def count(self, variant: int, last: int) -> int:
        """How many seasons of a variant there are, up to a number."""
        return int(self._base.execute(f"SELECT COUNT(*) {_HERE}", (variant, last)).fetchone()[0])

    def of(self, variant: int, last: int) -> Iterator[tuple[int, Result]]:
        """The seasons of a variant by their numbers, one at a time."""
        query = f"SELECT number, result {_HERE} ORDER BY number"
        for number, text in self._base.execute(query, (variant, last)):
            yield number, json.loads(text)

    def rows(self, variant: int, last: int) -> Iterator[tuple[float, ...]]:
        """Number and figures of each season, in their order."""
        names = ", ".join(f'"{name}"' for name in FIGURES)
        query = f"SELECT number, {names} {_HERE} ORDER BY number"
        yield from self._base.execute(query, (variant, last))

    def at_most(self, variant: int, last: int, key: str, value: float) -> int:
        """In how many seasons a figure was no more than this."""
        query = f'SELECT COUNT(*) {_HERE} AND "{key}" <= ?'
        return int(self._base.execute(query, (variant, last, value)).fetchone()[0])

    def ranked(self, variant: int, last: int, key: str, place: int) -> tuple[float, int]:
        """Figure and number of the season at a place, from 0, by this figure from the least."""
        query = f'SELECT "{key}", number {_HERE} ORDER BY "{key}", number LIMIT 1 OFFSET ?'
        value, number = self._base.execute(query, (variant, last, place)).fetchone()
        return float(value), int(number)

    def less(self, first: int, other: int, last: int, key: str) -> Iterator[float]:
        """A figure of one variant less that of another, season by season."""
        query = (
            f'SELECT b."{key}" - a."{key}" FROM season a JOIN season b ON a.number = b.number '
            "WHERE a.variant = ? AND b.variant = ? AND a.number <= ? ORDER BY a.number"
        )
        for (value,) in self._base.execute(query, (first, other, last)):
            yield float(value)

    def one(self, variant: int, number: int) -> Result:
        """One that is there."""
        where = "SELECT result FROM season WHERE variant = ? AND number = ?"
        found: Result = json.loads(self._base.execute(where, (variant, number)).fetchone()[0])
        return found

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()
