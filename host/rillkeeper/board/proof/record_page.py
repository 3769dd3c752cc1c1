"""The record of a proof: for the terminal, as a JSON document, and as a page to be signed."""

import json
from collections import Counter
from dataclasses import asdict
from html import escape
from pathlib import Path
from typing import Any

from rich.table import Table

from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, UNPROTECTED, Outcome
from rillkeeper.board.proof.records import Proof, ProofRecords
from rillkeeper.board.proof.steps import BY_ID, STEPS
from rillkeeper.display_units import counted
from rillkeeper.runlog.store import Archive

JSON_SCHEMA = 1
_ORDER = {step.id: number for number, step in enumerate(STEPS)}
_RESULTS = (PASSED, FAILED, NOT_PROVED, UNPROTECTED)
_WORST_FIRST = (FAILED, NOT_PROVED, UNPROTECTED, PASSED)

_STYLE = """
body { font: 10pt/1.35 system-ui, sans-serif; margin: 2em auto; max-width: 60em; color: #222; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 1px solid #bbb; padding: .25em .6em .25em 0; text-align: left;
  vertical-align: top; }
td:nth-child(n+2):nth-child(-n+5) { white-space: nowrap; }
.failed, .not-proved, .unprotected { font-weight: bold; }
.sign { margin-top: 3em; border-top: 1px solid #222; width: 20em; padding-top: .3em; }
@page { size: A4; margin: 15mm; }
@media print { body { margin: 0; max-width: none; } tr { break-inside: avoid; } }
"""


def rows_of(proof: Proof) -> list[Outcome]:
    """Its outcomes in the order of the steps."""
    return sorted(proof.outcomes, key=lambda outcome: _ORDER.get(outcome.step, len(_ORDER)))


def headline(proof: Proof) -> str:
    """When, by whom, and on what."""
    when = proof.ended or proof.begun
    how = "proved" if proof.ended else "proof begun, not signed,"
    by = f" by {proof.person}" if proof.person else ""
    return f"{how} {when.replace('T', ' ')}{by}: board {proof.board}, firmware {proof.firmware}"


def numbers_of(proof: Proof) -> str:
    """What firmware and settings it holds for."""
    return f"firmware files {proof.files_crc}, settings {proof.settings_crc}"


def summary(proof: Proof) -> str:
    """How many rules came through; one with several steps counts by the worst of them.

    >>> empty = Proof(1, "b", "2026-07-09T10:00:00", None, "0.1.0", "A", "B", "")
    >>> summary(empty)
    'no rule was looked at'
    """
    by_rule: dict[str, str] = {}
    for outcome in proof.outcomes:
        if outcome.rule:
            before = by_rule.get(outcome.rule, PASSED)
            by_rule[outcome.rule] = min(before, outcome.result, key=_WORST_FIRST.index)
    found = Counter(by_rule.values())
    words = [f"{found[result]} {result}" for result in _RESULTS if found[result]]
    if not words:
        return "no rule was looked at"
    return f"{counted(sum(found.values()), 'rule')}: {', '.join(words)}"


def last_of(path: Path, board: str) -> Proof | None:
    """The last proof of a board that was gone through, or else one that was begun."""
    with Archive(path) as archive:
        records = ProofRecords(archive)
        return records.last(board, signed=True) or records.last(board)


def proof_text(path: Path, board: str) -> str:
    """The last proof of a board in a few lines, for the report."""
    proof = last_of(path, board)
    if proof is None:
        return "Its protections have never been proved: rillkeeper prove"
    lines = [f"Protections {headline(proof)}", f"  {numbers_of(proof)}", f"  {summary(proof)}"]
    lines += [f"  {line_of(outcome)}" for outcome in rows_of(proof) if outcome.rule]
    return "\n".join(lines)


def line_of(outcome: Outcome) -> str:
    """What came of one rule, in a line."""
    time = f": {outcome.measured_text} of {outcome.limit_text}" if outcome.measured else ""
    note = f" ({outcome.note})" if outcome.note and outcome.result != PASSED else ""
    return f"{outcome.result:<11} {outcome.rule}{time}{note}"


def not_passed(proof: Proof) -> list[Outcome]:
    """The rules that nobody may rely on."""
    return [one for one in rows_of(proof) if one.rule and one.result != PASSED]


def table_of(proof: Proof) -> Table:
    """A row a step."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for name in ("step", "rule", "result", "measured", "allowed", "note"):
        table.add_column(name, no_wrap=name not in ("note", "measured"))
    for outcome in rows_of(proof):
        table.add_row(*_cells(outcome))
    return table


def document(proof: Proof) -> dict[str, Any]:
    """The record as a JSON document."""
    steps = [asdict(outcome) for outcome in rows_of(proof)]
    return {
        "schema": JSON_SCHEMA,
        "board": proof.board,
        "begun": proof.begun,
        "ended": proof.ended,
        "person": proof.person,
        "firmware": proof.firmware,
        "firmware_files_crc": proof.files_crc,
        "settings_crc": proof.settings_crc,
        "summary": summary(proof),
        "steps": steps,
    }


def json_text(proof: Proof) -> str:
    """The same as text."""
    return json.dumps(document(proof), sort_keys=True, indent=2)


def write_page(proof: Proof, path: Path) -> None:
    """One self-contained page, to be printed and signed."""
    path.write_text(page_text(proof), encoding="utf-8")


def page_text(proof: Proof) -> str:
    """The page as HTML."""
    heads = "".join(
        f"<th>{name}</th>" for name in ("step", "rule", "result", "measured", "allowed", "note")
    )
    rows = "\n".join(
        f'<tr class="{outcome.result.replace(" ", "-")}">'
        + "".join(f"<td>{escape(cell)}</td>" for cell in _cells(outcome))
        + "</tr>"
        for outcome in rows_of(proof)
    )
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>Proof of board {escape(proof.board)}</title><style>{_STYLE}</style></head>\n"
        f"<body><h1>Proof of the protections</h1>\n<p>{escape(headline(proof))}<br>"
        f"{escape(numbers_of(proof))}</p>\n<p>{escape(summary(proof))}. A protection that was not "
        "proved is not there. Times are the board's own, to the resolution that stands beside "
        "them.</p>\n"
        f"<table><thead><tr>{heads}</tr></thead><tbody>\n{rows}\n</tbody></table>\n"
        '<p class="sign">date and signature</p></body></html>\n'
    )


def _cells(outcome: Outcome) -> tuple[str, ...]:
    title = BY_ID[outcome.step].title if outcome.step in BY_ID else outcome.step
    return (
        title,
        outcome.rule or "-",
        outcome.result,
        outcome.measured_text,
        outcome.limit_text,
        outcome.note,
    )
