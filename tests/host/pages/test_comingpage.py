"""The page of the coming nights, as text and as a browser has it."""

import re
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest

from rillkeeper.morning.coming import Coming, from_size
from rillkeeper.morning.coming.words import carry, sentences
from rillkeeper.pages.coming import html_of
from rillkeeper.site.file import demo_site
from tests.host.pages.browser import open_page


@pytest.fixture(scope="module")
def plan() -> Coming:
    return from_size(demo_site())


def test_it_tells_the_plan_and_what_to_carry(plan: Coming) -> None:
    text = " ".join(unescape(re.sub(r"<[^>]+>", " ", html_of(plan))).split())
    for sentence in sentences(plan):
        assert sentence in text
    for _, things in carry(plan.site):
        for thing in things:
            assert thing[1:] in text
    assert text.count("Battery home, 08:30 to 17:30") == len(plan.trips) == 3


@pytest.mark.browser
def test_it_fits_a_phone_and_one_sheet(
    plan: Coming, need: Callable[[str], Path], tmp_path: Path
) -> None:
    file = tmp_path / "coming.html"
    file.write_text(html_of(plan), encoding="utf-8")
    page = open_page(need("chromium"), file, (390, 844))
    assert page.errors == page.requests == []
    assert not page.wider_than_screen
    assert len(re.findall(rb"/Type\s*/Page[^s]", page.pdf)) == 1
