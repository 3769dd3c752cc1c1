"""Proofs in the archive: tables of their own in the same file.

A proof is kept step by step, so that one that was broken off is gone on with; the sign-off
closes it. Calibrations are kept with the values before them, and can be undone.
"""

import json
from collections.abc import Mapping
from dataclasses import astuple, dataclass, field

from rillkeeper.board.proof.outcome import Outcome
from rillkeeper.runlog.store import Archive

_SCHEMA = """
CREATE TABLE IF NOT EXISTS proof (
    id INTEGER PRIMARY KEY, board TEXT NOT NULL, begun TEXT NOT NULL, ended TEXT,
    firmware TEXT NOT NULL, files_crc TEXT NOT NULL, settings_crc TEXT NOT NULL,
    person TEXT NOT NULL DEFAULT '', under_way TEXT NOT NULL DEFAULT '',
    round TEXT NOT NULL DEFAULT ''
);
CREATE TABLE IF NOT EXISTS proof_step (
    proof INTEGER NOT NULL, step TEXT NOT NULL, rule TEXT NOT NULL, result TEXT NOT NULL,
    note TEXT NOT NULL, measured INTEGER, most INTEGER, unit TEXT NOT NULL,
    resolution INTEGER NOT NULL, PRIMARY KEY (proof, step)
);
CREATE TABLE IF NOT EXISTS calibration (
    id INTEGER PRIMARY KEY, board TEXT NOT NULL, made TEXT NOT NULL, before TEXT NOT NULL,
    after TEXT NOT NULL, note TEXT NOT NULL
);
"""
_OLDER = "ALTER TABLE proof ADD COLUMN round TEXT NOT NULL DEFAULT ''"
"""For an archive in which a proof was of all steps at once: such a one is of every round."""
_COLUMNS = "id, board, begun, ended, firmware, files_crc, settings_crc, person, under_way, round"


@dataclass
class Proof:
    """One proof of one board."""

    number: int
    board: str
    begun: str
    """ISO 8601, by the desktop."""
    ended: str | None
    firmware: str
    files_crc: str
    settings_crc: str
    person: str
    under_way: str = ""
    """The step that was begun and not ended: what the board stopped for is that step's doing."""
    round: str = ""
    """Its round; empty in an older archive, where a proof was of all of them."""
    outcomes: list[Outcome] = field(default_factory=list)


@dataclass(frozen=True)
class Calibration:
    """Trims as they were and as they were made."""

    made: str
    before: Mapping[str, int]
    after: Mapping[str, int]
    note: str


class ProofRecords:
    """The proofs in one archive file."""

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        archive.hold(_SCHEMA)
        if not archive.rows("SELECT 1 FROM pragma_table_info('proof') WHERE name = 'round'"):
            archive.hold(_OLDER)

    def begin(
        self, board: str, at: str, firmware: str, files_crc: str, settings_crc: str, name: str
    ) -> Proof:
        """Begin a proof of a round."""
        values = (board, at, firmware, files_crc, settings_crc, name)
        done = self._archive.write(
            "INSERT INTO proof (board, begun, firmware, files_crc, settings_crc, round) "
            "VALUES (?,?,?,?,?,?)",
            values,
        )
        number = int(done or 0)
        return Proof(number, board, at, None, firmware, files_crc, settings_crc, "", round=name)

    def enter(self, proof: Proof, step: str, settings_crc: str) -> None:
        """A step begins; with an empty one, it has ended and the board is as it was."""
        proof.under_way, proof.settings_crc = step, settings_crc
        self._archive.write(
            "UPDATE proof SET under_way = ?, settings_crc = ? WHERE id = ?",
            (step, settings_crc, proof.number),
        )

    def add(self, proof: Proof, outcome: Outcome) -> None:
        """Keep what came of a step; a later try takes the place of an earlier one."""
        self._archive.write(
            "INSERT OR REPLACE INTO proof_step VALUES (?,?,?,?,?,?,?,?,?)",
            (proof.number, *astuple(outcome)),
        )
        proof.outcomes = self._outcomes(proof.number)

    def sign(self, proof: Proof, at: str, person: str, settings_crc: str) -> None:
        """Close a proof. The settings are those at its end, calibrated."""
        proof.ended, proof.person, proof.settings_crc = at, person, settings_crc
        self._archive.write(
            "UPDATE proof SET ended = ?, person = ?, settings_crc = ? WHERE id = ?",
            (at, person, settings_crc, proof.number),
        )

    def open_proof(self, board: str, name: str) -> Proof | None:
        """The proof of a round that was broken off, if its last one was."""
        found = self.last(board, name)
        return found if found and found.ended is None else None

    def last(self, board: str, name: str, *, signed: bool = False) -> Proof | None:
        """The last proof of a round of a board; with ``signed`` the last that was gone through."""
        where = "AND ended IS NOT NULL " if signed else ""
        rows = self._archive.rows(
            f"SELECT {_COLUMNS} FROM proof WHERE board = ? AND round IN (?, '') {where}"
            "ORDER BY id DESC LIMIT 1",
            board,
            name,
        )
        if not rows:
            return None
        proof = Proof(*rows[0])
        proof.outcomes = self._outcomes(proof.number)
        return proof

    def recalibrated(self, board: str, before_crc: str, after_crc: str) -> None:
        """A step has changed trims: what was begun under the settings before goes on."""
        self._archive.write(
            "UPDATE proof SET settings_crc = ? "
            "WHERE board = ? AND ended IS NULL AND settings_crc = ?",
            (after_crc, board, before_crc),
        )

    def boards(self) -> list[str]:
        """Boards of which there is a proof."""
        return [
            row[0] for row in self._archive.rows("SELECT DISTINCT board FROM proof ORDER BY board")
        ]

    def add_calibration(self, board: str, made: Calibration) -> None:
        """Keep a calibration before it is written to the board."""
        self._archive.write(
            "INSERT INTO calibration (board, made, before, after, note) VALUES (?,?,?,?,?)",
            (board, made.made, _text(made.before), _text(made.after), made.note),
        )

    def last_calibration(self, board: str) -> Calibration | None:
        """The newest calibration of a board."""
        rows = self._archive.rows(
            "SELECT made, before, after, note FROM calibration WHERE board = ? "
            "ORDER BY id DESC LIMIT 1",
            board,
        )
        if not rows:
            return None
        made, before, after, note = rows[0]
        return Calibration(made, json.loads(before), json.loads(after), note)

    def _outcomes(self, number: int) -> list[Outcome]:
        rows = self._archive.rows(
            "SELECT step, rule, result, note, measured, most, unit, resolution FROM proof_step "
            "WHERE proof = ? ORDER BY rowid",
            number,
        )
        return [Outcome(*row) for row in rows]


def _text(values: Mapping[str, int]) -> str:
    return json.dumps(dict(values), sort_keys=True)
