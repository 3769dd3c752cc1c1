"""The pages of the notes that are made from tables are the tables as they are now."""

from pathlib import Path

import pytest

from keeper import cycle, rules, settings
from rillkeeper.pages.notes import PAGES, protections_page, settings_page, states_page, write

NOTES = Path(__file__).parents[3] / "hardware_notes"


@pytest.mark.parametrize("name", PAGES)
def test_committed_page_is_the_table(name: str) -> None:
    committed = (NOTES / name).read_text(encoding="utf-8")
    assert committed == PAGES[name](), f"{name} is out of date: run `make notes`"


def test_every_row_is_on_its_page() -> None:
    for row in rules.RULES:
        assert f"| **{row[rules.NAME]}** |" in protections_page()
    for event in cycle.EVENTS:
        assert f"| **{event}** |" in states_page()
    for row in settings.SCHEMA:
        assert f"| `{row[0]}` |" in settings_page()


def test_write(tmp_path: Path) -> None:
    write(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(PAGES)
