"""The browser rig itself: it must see what it is there to see."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.host.pages.browser import Page, open_page

pytestmark = pytest.mark.browser

GOOD = """<!doctype html><html lang="en"><meta charset="utf-8"><title>A plot</title>
<body style="margin:0"><h1>Seven nights</h1>
<svg role="img" aria-label="depth" width="300" height="200"><rect width="300" height="200"
fill="#3a7"/></svg>
<img alt="dot" width="20" height="10" src="data:image/gif;base64,R0lGODlhAQABAAAAACwAAAAAAQABAAA=">
</body></html>"""
BAD = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Broken</title>
<body style="margin:0"><img alt="gone" src="gone.png"><div style="width:3000px">wide</div>
<script>console.error("sensor lost"); undefinedThing();</script></body></html>"""

# A one-pixel GIF that decodes.
PIXEL = "R0lGODdhAQABAIAAAP///////ywAAAAAAQABAAACAkQBADs="


@pytest.fixture
def opened(need: Callable[[str], Path], tmp_path: Path) -> Callable[[str], Page]:
    program = need("chromium")

    def open_html(html: str) -> Page:
        file = tmp_path / "page.html"
        file.write_text(html, encoding="utf-8")
        return open_page(program, file)

    return open_html


def test_sound_page(opened: Callable[[str], Page]) -> None:
    page = opened(GOOD.replace("R0lGODlhAQABAAAAACwAAAAAAQABAAA=", PIXEL))
    assert page.title == "A plot"
    assert "Seven nights" in page.text
    assert page.errors == []
    assert page.requests == []
    assert not page.wider_than_screen
    assert [(p.kind, p.words, p.width, p.height, p.loaded) for p in page.pictures] == [
        ("svg", "depth", 300, 200, True),
        ("img", "dot", 20, 10, True),
    ]
    assert page.screenshot.startswith(b"\x89PNG")
    assert page.pdf.startswith(b"%PDF")


def test_broken_page(opened: Callable[[str], Page]) -> None:
    page = opened(BAD)
    assert any("sensor lost" in error for error in page.errors)
    assert any("undefinedThing is not defined" in error for error in page.errors)
    assert any("ERR_FILE_NOT_FOUND" in error for error in page.errors)
    assert [Path(url).name for url in page.requests] == ["gone.png"]
    assert page.wider_than_screen
    assert not page.pictures[0].loaded
