"""The desk's page in a window of the system's Chromium, and what axe has against it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.host.desk.serving import Open
from tests.host.pages.browser import _browser
from tests.outside import NODE_FOLDER

WIDE, PHONE = (1280, 900), (390, 800)
AXE = NODE_FOLDER / "node_modules/axe-core/axe.min.js"
WHOLE = "#panel-now[data-whole=true]"


@dataclass
class Shown:
    """The page in a window of its own."""

    page: Page
    wrong: list[str] = field(default_factory=list)
    """Console errors and warnings, exceptions, failed loads."""
    strange: list[str] = field(default_factory=list)
    """What was asked of anybody but the desk."""

    def whole(self) -> None:
        self.page.wait_for_selector(WHOLE)

    def value(self, key: str) -> str:
        return self.page.locator(f"#handle-{key.replace('.', '-')}").input_value()

    def figure(self, words: str, panel: str = "now") -> str:
        rows = self.page.locator(f"#panel-{panel} .figures > div", has_text=words)
        return rows.locator("dd").first.inner_text()

    def drag(self, what: str, dx: float, dy: float, panel: str = "now") -> None:
        grip = self.page.locator(f'#panel-{panel} [data-drag="{what}"] .dot')
        grip.scroll_into_view_if_needed()
        box = grip.bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.mouse.move(x + dx / 2, y + dy / 2)
        self.page.mouse.move(x + dx, y + dy)
        self.page.mouse.up()
        self.whole()

    def click_through(self, key: str) -> None:
        """Click in the middle of a pipe or a wire of the drawing."""
        middle = self.page.locator(f'#panel-now [data-click="{key}"] .pipe-hit').evaluate(
            """one => {
              const at = one.getPointAtLength(one.getTotalLength() / 2);
              const on = at.matrixTransform(one.getScreenCTM());
              return [on.x, on.y];
            }"""
        )
        self.page.mouse.click(*middle)
        self.whole()


Opener = Callable[..., Any]


def axe(page: Page) -> list[str]:
    """What axe-core 4.14 (Deque, npm) has against a page, by all its rules."""
    if not AXE.exists():
        pytest.skip("axe-core is missing; npm ci --prefix tests/interpreters/node")
    # The page's own policy lets in no script: it is run, not loaded.
    page.evaluate(AXE.read_text(encoding="utf-8") + "; 0")
    found = page.evaluate("() => axe.run(document)")
    assert "color-contrast" in [one["id"] for one in found["passes"]], "it has looked"
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found["violations"]]


@pytest.fixture
def show(need: Callable[[str], Path], desk: Open) -> Opener:
    program = need("chromium")

    @contextmanager
    def opened(
        size: tuple[int, int] = WIDE, scheme: str = "light", address: str = ""
    ) -> Iterator[Shown]:
        width, height = size
        context = _browser(program).new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if scheme == "dark" else "light",
            bypass_csp=False,
        )
        page = context.new_page()
        found = Shown(page)
        page.on(
            "console",
            lambda one: found.wrong.append(one.text) if one.type in ("error", "warning") else None,
        )
        page.on("pageerror", lambda error: found.wrong.append(str(error)))
        page.on("requestfailed", lambda one: found.wrong.append(f"{one.url}: {one.failure}"))
        page.on(
            "request",
            lambda one: (
                found.strange.append(one.url)
                if not one.url.startswith((desk.address, "data:", "blob:"))
                else None
            ),
        )
        try:
            page.goto(address or desk.address)
            if not address:
                found.whole()
            yield found
        finally:
            context.close()

    return opened
