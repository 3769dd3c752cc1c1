"""Each row of the board's tables has its words beside it, in the firmware itself."""

from pathlib import Path

import pytest

from keeper import facts, settings
from rillkeeper import row_words
from rillkeeper.board import settings_file
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site

SETTINGS = Path(settings.__file__).read_text(encoding="utf-8")


@pytest.mark.parametrize("row", settings.SCHEMA, ids=lambda row: row[0])
def test_a_setting_is_a_sentence_beside_its_row(row: tuple) -> None:
    words = row_words.of_setting(row)
    assert words[0].isupper() or words[0].isdigit()
    assert words.endswith(".")
    stem = row[0].partition("_")[2] if row[0].startswith("set") else row[0]
    (line,) = [line for line in SETTINGS.splitlines() if f'"{stem}", "{row[1]}",' in line]
    assert line.endswith(f"  # {words}")


@pytest.mark.parametrize("pair", settings.ORDER, ids="-".join)
def test_a_pair_has_a_reason(pair: tuple[str, str]) -> None:
    words = row_words.of_order(pair)
    assert f'    ("{pair[0]}", "{pair[1]}"),  # {words}\n' in SETTINGS
    assert words[0].islower()
    assert not words.endswith(".")


@pytest.mark.parametrize("row", facts.FACTS, ids=lambda row: row[0])
def test_a_fact_has_words(row: tuple) -> None:
    assert row_words.of_fact(row).strip()


def test_words_of_a_fact_are_those_of_its_row() -> None:
    row = next(row for row in facts.FACTS if row[facts.NAME] == "heat_ms")
    assert row_words.of_fact(row) == "pumping that the motor has not cooled from"


def test_the_desktop_says_why_where_the_board_says_what() -> None:
    values = settings_of(demo_site())
    wrong = {**values, "dry_pa": values["primed_pa"], "starts_max": 0}
    board, desktop = settings.problems(wrong), row_words.problems(wrong)
    assert [text.partition(": a primed")[0] for text in desktop] == board
    assert desktop[-1] == board[-1] + ": a primed pump must not count as dry"
    with pytest.raises(settings_file.BadSettings, match="a primed pump must not count as dry"):
        settings_file.check("a file", wrong)
