"""The card for the plot, as text and as a browser has it; and the command that prints it."""

import re
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner

from device import commands
from device.say import WIDTH
from keeper.cycle import STATES
from keeper.hand import LONG_MS
from rillkeeper.cli import cli
from rillkeeper.pages.lamp import LAMP
from rillkeeper.pages.plot_card import EXAMPLE, ORDER, WORD, button_rows, characters, html_of
from rillkeeper.site.file import DEMO, demo_site
from tests.host.pages.browser import open_page


def text_of(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_every_state_is_on_it_and_the_word_is_one_that_the_board_knows() -> None:
    assert sorted(ORDER) == sorted(STATES)
    text = text_of(html_of(demo_site()))
    for words in LAMP.values():
        assert f"{words.shows[1:]} : {words.means}" in text
    assert f"Held for {LONG_MS // 1000} s" in text
    assert WORD in commands._SEALED
    assert all(len(line) <= WIDTH for line in EXAMPLE)
    assert "Sets start at 22:30" in text
    assert "At the plot" in html_of(None)


def test_a_bar_is_lit_as_long_as_the_lamp() -> None:
    for state, one in zip(ORDER, characters(), strict=True):
        turns = (LAMP[state].character * 100)[:100]
        assert sum(length for _, length in one.bars) == pytest.approx(turns.count("*") / 100)
        assert [begins for begins, _ in one.bars][0] == 0.0


def test_a_board_without_a_button_says_so() -> None:
    site = demo_site()
    bare = replace(site, board=replace(site.board, button_fitted=False))
    assert [name for name, _ in button_rows(bare)] == ["no button"]


def test_the_command_prints_it_and_writes_it(tmp_path: Path) -> None:
    page = tmp_path / "card.html"
    result = CliRunner().invoke(cli, ["card", str(DEMO), "--page", str(page)])
    assert result.exit_code == 0, result.output
    bars = [line for line in result.stdout.splitlines() if set(line) <= {"#", "."} and line]
    assert len(bars) == len(STATES)
    for state, bar in zip(ORDER, bars, strict=True):
        turns = (LAMP[state].character * 60)[:60].replace("*", "#")
        assert bar == turns
    assert max(map(len, result.stdout.splitlines())) <= 100
    assert page.read_text(encoding="utf-8") == html_of(demo_site())


@pytest.mark.browser
def test_it_fits_a_phone_and_one_sheet(need: Callable[[str], Path], tmp_path: Path) -> None:
    file = tmp_path / "card.html"
    file.write_text(html_of(demo_site()), encoding="utf-8")
    page = open_page(need("chromium"), file, (390, 844))
    assert page.errors == page.requests == []
    assert not page.wider_than_screen
    assert [picture.words for picture in page.pictures] == [LAMP[s].shows for s in ORDER]
    assert len(re.findall(rb"/Type\s*/Page[^s]", page.pdf)) == 1
