"""Small tests in the archive: a table of their own in the same file.

A test's runs are in the board's log as well: a start against a shut tap is no fault of the night,
so that whoever judges nights leaves them out. What a proof has provoked is kept in the same way.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from rillkeeper.runlog.lines import Entry, RunLog, read_log
from rillkeeper.runlog.store import Archive, Last

_SCHEMA = """
CREATE TABLE IF NOT EXISTS small_test (
    id INTEGER PRIMARY KEY, board TEXT NOT NULL, made TEXT NOT NULL, night INTEGER NOT NULL,
    test TEXT NOT NULL, readings TEXT NOT NULL, spell INTEGER NOT NULL, first INTEGER NOT NULL,
    next INTEGER NOT NULL
);
"""

PROOF = "proof"
"""Stands in the place of a test's name: it reads nothing, and is left out all the same."""
_WHATEVER_COMES = 1 << 62
"""After the last record of a spell that has ended."""
Key = tuple[int, int, int]
"""Number, day and second of a record."""


@dataclass(frozen=True)
class Made:
    """One test that was made."""

    test: str
    made: str
    """ISO 8601, by the desktop."""
    night: int
    """Day number of the noon before it, by the board."""
    readings: Mapping[str, float | None]
    """By their keys; empty where it was broken off, None where the run gave none."""
    records: frozenset[Key] = frozenset()
    """What the board wrote of it."""


class KeptTests:
    """The small tests in one archive file."""

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        archive.hold(_SCHEMA)

    def add(self, board: str, made: Made, span: tuple[int, int, int]) -> None:
        """Keep a test; ``span`` is the spell of its records, the first, and the one after them."""
        self._archive.write(
            "INSERT INTO small_test (board, made, night, test, readings, spell, first, next) "
            "VALUES (?,?,?,?,?,?,?,?)",
            (board, made.made, made.night, made.test, json.dumps(dict(made.readings)), *span),
        )

    def add_since(self, board: str, made: Made, last: Last | None) -> None:
        """Keep a test, or a proof, with all that has come into the archive after a record."""
        now = self._archive.last(board)
        spell, first = (last.spell, last.seq + 1) if last else (0, 0)
        if now is None or (now.spell, now.seq) < (spell, first):
            return
        if now.spell > spell:  # The board has been wiped meanwhile.
            self.add(board, made, (spell, first, _WHATEVER_COMES))
            spell, first = now.spell, 0
        self.add(board, made, (spell, first, now.seq + 1))

    def of(self, board: str) -> tuple[Made, ...]:
        """All tests of a board, in the order in which they were made."""
        rows = self._archive.rows(
            "SELECT test, made, night, readings, spell, first, next FROM small_test "
            "WHERE board = ? ORDER BY id",
            board,
        )
        return tuple(
            Made(test, made, night, json.loads(readings), self._records(board, *span))
            for test, made, night, readings, *span in rows
        )

    def _records(self, board: str, spell: int, first: int, after: int) -> frozenset[Key]:
        rows = self._archive.rows(
            "SELECT line FROM record WHERE board = ? AND spell = ? AND seq >= ? AND seq < ?",
            board,
            spell,
            first,
            after,
        )
        entries = read_log([row[0] for row in rows]).entries
        return frozenset(map(record_key, entries))


def record_key(entry: Entry) -> Key:
    """What tells a record from all others of its board."""
    return entry.seq, entry.day, entry.second


def without_tests(log: RunLog, made: Sequence[Made]) -> RunLog:
    """A log without what the board wrote of tests."""
    tested = frozenset().union(*(one.records for one in made))
    if not tested:
        return log
    kept = [one for one in log.entries if record_key(one) not in tested]
    return replace(log, entries=tuple(kept))
