"""Rule, scenario, paragraph and proof step hang together by the rule's name: none stands alone.

    python -m tests.notes.test_orphans

prints what is missing, in either direction.
"""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from keeper.rules import NAME, RULES
from rillkeeper.board.proof.steps import NOT_ON_SITE, STEPS
from rillkeeper.pages.notes import scenarios_of_rules
from rillkeeper.runlog import rule_text

NOTES = Path(__file__).parents[2] / "hardware_notes"
RULE_NAMES = {row[NAME] for row in RULES}
_HEADING = re.compile(r"^## ([a-z-]+)$", re.MULTILINE)
_STEP = re.compile(r"^### ([a-z-]+)$", re.MULTILINE)
_LINK = re.compile(r"\]\((protections|proof)\.md#([a-z-]+)\)")


def text_of(page: str) -> str:
    return (NOTES / page).read_text(encoding="utf-8")


def names_of_ids(ids: set[str]) -> set[str]:
    """Rule names for ids of headings; what is no rule stays as it is."""
    by_id = {name.replace(" ", "-"): name for name in RULE_NAMES}
    return {by_id.get(one, one) for one in ids}


PARTIES: dict[str, Callable[[], set[str]]] = {
    "the scenarios": lambda: set(scenarios_of_rules()),
    "the table on the page of protections": lambda: set(
        re.findall(r"^\| \*\*(.+?)\*\* \|", text_of("protections.md"), re.MULTILINE)
    ),
    "the paragraphs on the page of protections": lambda: names_of_ids(
        set(_HEADING.findall(text_of("protections.md")))
    ),
    "the steps of the proof": lambda: (
        {step.rule for step in STEPS if step.rule} | set(NOT_ON_SITE)
    ),
    "the words of the report": lambda: set(rule_text.RULES),
}
"""Each with the rules that it knows."""


def orphans() -> list[str]:
    """Everything that stands alone, a sentence each."""
    found = []
    for party, names in PARTIES.items():
        known = names()
        found += [f"{rule}: not in {party}" for rule in sorted(RULE_NAMES - known)]
        found += [f"{name}: in {party}, and no rule" for name in sorted(known - RULE_NAMES)]
    steps, headings = {step.id for step in STEPS}, set(_STEP.findall(text_of("proof.md")))
    found += [f"{step}: a step without a paragraph" for step in sorted(steps - headings)]
    found += [f"{step}: a paragraph without a step" for step in sorted(headings - steps)]
    return found + dead_links()


def dead_links() -> list[str]:
    """Links between the two pages that lead nowhere."""
    ids = {
        "protections": set(_HEADING.findall(text_of("protections.md"))),
        "proof": set(_STEP.findall(text_of("proof.md"))),
    }
    return [
        f"{source}: a link to {page}.md#{one}, which is not there"
        for source in ("protections.md", "proof.md")
        for page, one in _LINK.findall(text_of(source))
        if one not in ids[page]
    ]


def test_no_orphan() -> None:
    found = orphans()
    assert not found, "\n".join(found)


@pytest.mark.parametrize("party", PARTIES)
def test_an_orphan_is_seen_in_either_direction(
    party: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = PARTIES[party]()
    assert known == RULE_NAMES
    monkeypatch.setitem(PARTIES, party, lambda: known - {"dead head"} | {"live head"})
    assert orphans() == [f"dead head: not in {party}", f"live head: in {party}, and no rule"]


def test_a_rule_with_two_steps_has_them_for_different_boards() -> None:
    """Otherwise one of them would never be walked."""
    for rule in RULE_NAMES:
        needs = [step.needs for step in STEPS if step.rule == rule]
        assert len(needs) == len(set(needs)), rule


if __name__ == "__main__":
    print("\n".join(orphans()) or "no orphan")
