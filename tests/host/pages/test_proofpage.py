"""The record of a proof as a browser has it: every outcome, room to sign, A4."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.board.proof.outcome import Outcome
from rillkeeper.board.proof.records import Proof
from rillkeeper.pages.proof import write
from tests.host.pages.browser import open_page


@pytest.mark.browser
def test_the_record_in_a_browser(need: Callable[[str], Path], tmp_path: Path) -> None:
    proof = Proof(1, "b1", "2026-07-09T10:00:00", "2026-07-09T11:00:00", "0.1", "A1", "B2", "Ada")
    proof.outcomes = [
        Outcome("dry-run", "dry run", "passed", measured=2000, limit=2500),
        Outcome("frost", "frost", "failed", "it <ran> on"),
    ]
    file = tmp_path / "proof.html"
    write([proof], file)
    page = open_page(need("chromium"), file)
    assert page.errors == []
    assert page.requests == []
    assert not page.wider_than_screen
    assert page.title == "Proof of board b1"
    for outcome in proof.outcomes:
        assert f"\t{outcome.rule}\t{outcome.result}\t" in page.text
    assert "it <ran> on" in page.text
    assert "date and signature" in page.text
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf)) == 1
    assert not open_page(need("chromium"), file, (390, 800)).wider_than_screen
