"""The browser rig itself: it must see what it is there to see."""

from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

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


def test_the_network_is_out_of_reach(need: Callable[[str], Path], tmp_path: Path) -> None:
    """A page that asks for a server is told on, and gets nothing, though one answers."""
    asked: list[str] = []

    class Server(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

    with HTTPServer(("127.0.0.1", 0), Server) as server:
        thread = Thread(target=server.serve_forever, daemon=True)
        thread.start()
        address = f"http://127.0.0.1:{server.server_port}/spy.png"
        file = tmp_path / "page.html"
        file.write_text(f'<title>Spy</title><img alt="spy" src="{address}">', encoding="utf-8")
        page = open_page(need("chromium"), file)
        server.shutdown()
        thread.join()
    assert page.requests == [address]
    assert any("failed to load" in error for error in page.errors)
    assert asked == []
