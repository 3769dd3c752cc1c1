"""Every rule has its place among the failures, and every place names a rule that there is."""

import re

from keeper import rules
from rillkeeper.board.proof.steps import NOT_ON_SITE
from tests.notes.sums import NOTES

NAMES = {row[rules.NAME] for row in rules.RULES}
TEXT = (NOTES / "failures.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in TEXT.splitlines()
    if line.startswith("| ") and not line.startswith("| part |")
]


def _named(row: list[str]) -> set[str]:
    return set(re.findall(r"\*\*([^*]+)\*\*", row[3]))


def test_every_rule_has_a_row() -> None:
    assert NAMES - set().union(*(_named(row) for row in ROWS)) == set()


def test_rows_name_rules_that_there_are() -> None:
    for row in ROWS:
        assert len(row) == 5, row
        assert _named(row) <= NAMES, row


def test_rows_say_what_the_rule_does() -> None:
    """Lockout where the rule locks, a warning where it warns, the night where it ends that."""
    words = {
        rules.LOCK: "lockout",
        rules.WARN: "warning",
        rules.NIGHT: "night|no run|no start|until charged|as a weld",
        rules.FLAT: "until charged",
        rules.REFUSE: "no start",
        rules.RETRY: "retry",
        rules.SHORTEN: "shorter",
        rules.BY_HAND: "by hand",
    }
    action_of = {row[rules.NAME]: row[rules.ACTION] for row in rules.RULES}
    for row in ROWS:
        for name in _named(row):
            if "as a weld" in row[4]:
                continue
            assert re.search(words[action_of[name]], row[3]), (name, row[3])


def test_the_two_without_help_are_said() -> None:
    assert "a welded contact, and no fuse" in TEXT


def test_commissioning_sends_to_the_proof_of_every_rule_that_locks() -> None:
    assert "](proof.md)" in (NOTES / "commissioning.md").read_text(encoding="utf-8")
    proof = (NOTES / "proof.md").read_text(encoding="utf-8")
    proved = set(re.findall(r"Proves \[([a-z -]+)\]", proof))
    assert proved <= NAMES
    locking = {row[rules.NAME] for row in rules.RULES if row[rules.ACTION] == rules.LOCK}
    assert locking - set(NOT_ON_SITE) <= proved
