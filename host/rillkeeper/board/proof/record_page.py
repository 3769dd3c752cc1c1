"""The record of a proof: its words, the table for the terminal, and the JSON document."""

from collections import Counter
from dataclasses import asdict
from pathlib import Path
from typing import Any

from rich.table import Table

from rillkeeper import screen
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, UNPROTECTED, Outcome
from rillkeeper.board.proof.records import Proof, ProofRecords
from rillkeeper.board.proof.rounds import NAMES
from rillkeeper.board.proof.steps import BY_ID, STEPS
from rillkeeper.display_units import counted
from rillkeeper.runlog.store import Archive
from rillkeeper.screen import open_table

JSON_SCHEMA = 2
HEADS = ("step", "rule", "result", "measured", "allowed", "note")
_ORDER = {step.id: number for number, step in enumerate(STEPS)}
_RESULTS = (PASSED, FAILED, NOT_PROVED, UNPROTECTED)
_WORST_FIRST = (FAILED, NOT_PROVED, UNPROTECTED, PASSED)


def rows_of(proof: Proof) -> list[Outcome]:
    """Its outcomes in the order of the steps."""
    return sorted(proof.outcomes, key=lambda outcome: _ORDER.get(outcome.step, len(_ORDER)))


def headline(proof: Proof) -> str:
    """Which round, when, by whom, and on what."""
    when = proof.ended or proof.begun
    how = "proved" if proof.ended else "proof begun, not signed,"
    if proof.ended and (without := _without(proof)):
        how = f"proved, but for {counted(without, 'step')},"
    if failed := failed_of(proof):
        how = f"not proved, {counted(failed, 'step')} failed, "
        how += "walked" if proof.ended else "not signed, begun"
    how = f"{proof.round}: {how}" if proof.round else how
    by = f" by {proof.person}" if proof.person else ""
    return f"{how} {when.replace('T', ' ')}{by}: board {proof.board}, firmware {proof.firmware}"


def failed_of(proof: Proof) -> int:
    """How many of its steps have failed."""
    return sum(outcome.result == FAILED for outcome in proof.outcomes)


def _without(proof: Proof) -> int:
    """How many of its steps were left out, or told nothing."""
    return sum(one.result == NOT_PROVED and one.step in BY_ID for one in proof.outcomes)


def numbers_of(proof: Proof) -> str:
    """What firmware and settings it holds for."""
    return f"firmware files {proof.files_crc}, settings {proof.settings_crc}"


def summary(*proofs: Proof) -> str:
    """How many rules came through; one with several steps counts by the worst of them.

    >>> empty = Proof(1, "b", "2026-07-09T10:00:00", None, "0.1.0", "A", "B", "")
    >>> summary(empty)
    'no rule was looked at'
    """
    by_rule: dict[str, str] = {}
    for outcome in (outcome for proof in proofs for outcome in proof.outcomes):
        if outcome.rule:
            before = by_rule.get(outcome.rule, PASSED)
            by_rule[outcome.rule] = min(before, outcome.result, key=_WORST_FIRST.index)
    found = Counter(by_rule.values())
    words = [f"{found[result]} {result}" for result in _RESULTS if found[result]]
    if not words:
        return "no rule was looked at"
    return f"{counted(sum(found.values()), 'rule')}: {', '.join(words)}"


def last_of(path: Path, board: str) -> list[Proof]:
    """What is proved of a board, for each round the last that was gone through, or was begun."""
    with Archive(path) as archive:
        return latest(ProofRecords(archive), board)


def latest(records: ProofRecords, board: str) -> list[Proof]:
    """The same from records; one of an older archive, which is of every round, stands once.

    One that is only begun takes the place of a signed one where a step of it has failed: what
    fails today is not covered by last year's signature.
    """
    found: dict[int, Proof] = {}
    for name in NAMES:
        newest = records.last(board, name)
        if newest is not None:
            shown = newest
            if not failed_of(newest):
                shown = records.last(board, name, signed=True) or newest
            found.setdefault(shown.number, shown)
    return list(found.values())


def never(proofs: list[Proof]) -> list[str]:
    """The rounds of which there is no proof."""
    have = {proof.round for proof in proofs}
    return [] if "" in have else [name for name in NAMES if name not in have]


def proof_text(path: Path, board: str) -> str:
    """The last proof of each round of a board in a few lines, for the report."""
    proofs = last_of(path, board)
    if not proofs:
        return "Its protections have never been proved: rillkeeper prove"
    lines = ["Protections:"]
    for proof in proofs:
        lines += [headline(proof), f"  {numbers_of(proof)}", f"  {summary(proof)}"]
        rows = [one for one in rows_of(proof) if one.rule or one.result != PASSED]
        lines += [f"  {line_of(one)}" for one in rows]
    lines += [f"{name}: never proved" for name in never(proofs)]
    return "\n".join(lines)


def line_of(outcome: Outcome) -> str:
    """What came of one rule, or of a step that proves none, in a line."""
    time = f": {outcome.measured_text} of {outcome.limit_text}" if outcome.measured else ""
    note = f" ({outcome.note})" if outcome.note and outcome.result != PASSED else ""
    return f"{outcome.result:<11} {outcome.rule or title_of(outcome)}{time}{note}"


def not_passed(proof: Proof) -> list[Outcome]:
    """The rules and the parts that nobody may rely on."""
    return [one for one in rows_of(proof) if one.result != PASSED]


def title_of(outcome: Outcome) -> str:
    """What its step is called."""
    return BY_ID[outcome.step].title if outcome.step in BY_ID else outcome.step


def table_of(proof: Proof) -> Table:
    """A row a step."""
    table = open_table()
    for name in HEADS:
        table.add_column(name, no_wrap=name not in ("note", "measured"))
    for outcome in rows_of(proof):
        table.add_row(*cells_of(outcome))
    return table


def document(proofs: list[Proof]) -> dict[str, Any]:
    """The records as a JSON document."""
    return {
        "schema": JSON_SCHEMA,
        "board": proofs[0].board,
        "summary": summary(*proofs),
        "never": never(proofs),
        "rounds": [_round(proof) for proof in proofs],
    }


def _round(proof: Proof) -> dict[str, Any]:
    return {
        "round": proof.round,
        "begun": proof.begun,
        "ended": proof.ended,
        "person": proof.person,
        "firmware": proof.firmware,
        "firmware_files_crc": proof.files_crc,
        "settings_crc": proof.settings_crc,
        "summary": summary(proof),
        "steps": [asdict(outcome) for outcome in rows_of(proof)],
    }


def json_text(proofs: list[Proof]) -> str:
    """The same as text."""
    return screen.json_text(document(proofs))


def cells_of(outcome: Outcome) -> tuple[str, ...]:
    """The row of an outcome, a text for each of the heads."""
    return (
        title_of(outcome),
        outcome.rule or "-",
        outcome.result,
        outcome.measured_text,
        outcome.limit_text,
        outcome.note,
    )
