"""Opens page files in the system's Chromium, with no network, and tells what went wrong.

Playwright (https://playwright.dev/python/) drives it. The browser is started when a test first
asks, once a process, and is told to end with it. Whatever a page asks for beyond its own file is
reported, and what is not a file or `data:` is refused.
"""

import atexit
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Request, Route, sync_playwright

SCREEN_PX = (1200, 900)
WIDER = "() => document.documentElement.scrollWidth > window.innerWidth"

LIST_PICTURES = """
() => [...document.querySelectorAll('img, svg, canvas')]
  .filter(e => !(e.parentElement && e.parentElement.closest('svg')))
  .filter(e => getComputedStyle(e).display !== 'none')
  .map(e => {
    const box = e.getBoundingClientRect();
    const words = e.getAttribute('aria-label') || e.getAttribute('alt') ||
      (e.querySelector('title') || {}).textContent || '';
    return {kind: e.tagName.toLowerCase(), words: words.trim(),
            width: box.width, height: box.height,
            loaded: e.tagName !== 'IMG' || (e.complete && e.naturalWidth > 0)};
  })
"""


# Of level text: what leaves its picture, or lies over another by a third of a line.
LIST_OVERPRINTS = """
() => [...document.querySelectorAll('svg.picture')].flatMap(svg => {
  const frame = svg.getBoundingClientRect();
  if (!frame.width) return [];
  const level = e => !/rotate\\((?!-?0[ )])/.test(e.getAttribute('transform') || '');
  const all = [...svg.querySelectorAll('text')].filter(level).map(e =>
    ({words: e.textContent.trim(), box: e.getBoundingClientRect()}));
  const cut = all.filter(({box}) => box.left < frame.left - 1 || box.right > frame.right + 1 ||
    box.top < frame.top - 1 || box.bottom > frame.bottom + 1).map(one => one.words + ' is cut');
  const over = all.flatMap((a, place) => all.slice(place + 1).filter(b => {
    const wide = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
    const high = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
    return wide > 1 && high > Math.min(a.box.height, b.box.height) / 3;
  }).map(b => a.words + ' over ' + b.words));
  return cut.concat(over);
})
"""
# What is inside of a drawing is its drawing's business: axe-core cannot see what lies under it.
RUN_AXE = """
() => axe.run({exclude: [['svg > *']]}, {resultTypes: ['violations']}).then(found =>
  found.violations.map(rule => rule.id + ': ' +
    rule.nodes.map(node => node.html.slice(0, 120)).slice(0, 3).join(' | ')))
"""
_WORDS_MIN = 30
"""Letters: fewer cannot say what a picture says."""

LOOKS = ((390, 844, "light"), (1280, 900, "dark"))


@dataclass(frozen=True)
class Picture:
    """An image, drawing or canvas of the page, with the size it has on the screen."""

    kind: str
    words: str
    """What it says to someone who cannot see it: aria-label, alt or title."""
    width: float
    height: float
    loaded: bool


@dataclass(frozen=True)
class Page:
    """What the browser made of a file."""

    title: str
    text: str
    errors: list[str]
    """Console errors and warnings, uncaught exceptions and failed loads."""
    requests: list[str]
    """Everything that was asked for besides the file itself; data: addresses are not counted."""
    pictures: list[Picture]
    wider_than_screen: bool
    screenshot: bytes
    """PNG of the whole page."""
    pdf: bytes
    """The page printed on A4."""


@dataclass(frozen=True)
class Look:
    """A page on one screen, as axe-core and a reader find it."""

    where: str
    violations: list[str]
    """Rule, and the first places where it is broken."""
    overprints: list[str]
    wider_than_screen: bool
    errors: list[str]
    pictures: list[Picture]


def looks_at(program: Path, axe: Path, file: Path) -> Iterator[Look]:
    """The page on a phone by day and on a desk by night, loaded once."""
    errors: list[str] = []
    context = _browser(program).new_context()
    try:
        context.set_offline(True)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(file.resolve().as_uri(), wait_until="load")
        page.add_script_tag(path=axe)
        for width, height, scheme in LOOKS:
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=scheme)
            yield Look(
                where=f"{file.stem}, {width} px, {scheme}",
                violations=page.evaluate(RUN_AXE),
                overprints=page.evaluate(LIST_OVERPRINTS),
                wider_than_screen=page.evaluate(WIDER),
                errors=errors,
                pictures=[Picture(**row) for row in page.evaluate(LIST_PICTURES)],
            )
    finally:
        context.close()


def open_page(program: Path, file: Path, screen_px: tuple[int, int] = SCREEN_PX) -> Page:
    """Load the file, wait until it stands, and report it."""
    address = file.resolve().as_uri()
    errors: list[str] = []
    requests: list[str] = []

    def asked(request: Request) -> None:
        if request.url != address and not request.url.startswith("data:"):
            requests.append(request.url)

    def failed(request: Request) -> None:
        errors.append(f"failed to load: {request.failure}")

    def said(message: Any) -> None:
        if message.type in ("error", "warning", "assert"):
            errors.append(message.text)

    width, height = screen_px
    context = _browser(program).new_context(viewport={"width": width, "height": height})
    try:
        context.set_offline(True)
        context.route("**/*", _only_files)
        page = context.new_page()
        page.on("request", asked)
        page.on("requestfailed", failed)
        page.on("console", said)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(address, wait_until="load")
        page.evaluate("() => new Promise(done => requestAnimationFrame(() => setTimeout(done)))")
        return Page(
            title=page.title(),
            text=page.evaluate("() => document.body.innerText"),
            errors=errors,
            requests=requests,
            pictures=[Picture(**row) for row in page.evaluate(LIST_PICTURES)],
            wider_than_screen=page.evaluate(WIDER),
            screenshot=page.screenshot(full_page=True),
            pdf=page.pdf(format="A4", print_background=True),
        )
    finally:
        context.close()


def _only_files(route: Route) -> None:
    if route.request.url.startswith(("file:", "data:")):
        route.continue_()
    else:
        route.abort()


@cache
def _browser(program: Path) -> Browser:
    driver = sync_playwright().start()
    atexit.register(driver.stop)
    return driver.chromium.launch(executable_path=program, args=["--no-sandbox"])


def hold(look: Look) -> None:
    """What is held of every page, at each width and in both schemes."""
    assert look.violations == [], look.where
    assert look.overprints == [], look.where
    assert not look.wider_than_screen, look.where
    assert look.errors == [], look.where
    for picture in look.pictures:
        assert len(picture.words) >= _WORDS_MIN or look.where.startswith("card"), (
            look.where,
            picture,
        )
