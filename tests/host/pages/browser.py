"""Opens a page file in headless Chromium and tells what is on it and what went wrong.

Talks the Chrome DevTools protocol (https://chromedevtools.github.io/devtools-protocol/) over a
pair of pipes: no port, no driver program, no library. The browser has no network to use, and
whatever a page asks for beyond its own file is reported.
"""

import base64
import fcntl
import json
import os
import select
import signal
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.patience import CEILING_S

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
    "--remote-debugging-pipe",
)
SCREEN_PX = (1200, 900)
A4_IN = (8.27, 11.69)

LIST_PICTURES = """
[...document.querySelectorAll('img, svg, canvas')]
  .filter(e => !(e.parentElement && e.parentElement.closest('svg')))
  .map(e => {
    const box = e.getBoundingClientRect();
    const words = e.getAttribute('aria-label') || e.getAttribute('alt') ||
      (e.querySelector('title') || {}).textContent || '';
    return {kind: e.tagName.toLowerCase(), words: words.trim(),
            width: box.width, height: box.height,
            loaded: e.tagName !== 'IMG' || (e.complete && e.naturalWidth > 0)};
  })
"""


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


class Browser:
    """A running Chromium, spoken to in messages that end with a zero byte."""

    def __init__(self, program: Path, profile: Path) -> None:
        their_in, ours_out = (_high(end) for end in os.pipe())
        ours_in, their_out = (_high(end) for end in os.pipe())
        self._in, self._out = ours_in, ours_out
        self._late = b""
        self._id = 0
        self.events: list[dict[str, Any]] = []
        self.pid = os.posix_spawn(
            program,
            [str(program), *FLAGS, f"--user-data-dir={profile}", "about:blank"],
            {**os.environ, "HOME": str(profile)},
            file_actions=[
                (os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0),
                (os.POSIX_SPAWN_OPEN, 2, os.devnull, os.O_WRONLY, 0),
                (os.POSIX_SPAWN_DUP2, their_in, 3),
                (os.POSIX_SPAWN_DUP2, their_out, 4),
            ],
            setpgroup=0,
        )
        os.close(their_in)
        os.close(their_out)

    def close(self) -> None:
        """Ask the browser to end, then see to it."""
        with suppress(BrokenPipeError):
            os.write(self._out, json.dumps({"id": 0, "method": "Browser.close"}).encode() + b"\0")
        deadline_s = time.monotonic() + 5.0
        while os.waitpid(self.pid, os.WNOHANG)[0] == 0:
            if time.monotonic() > deadline_s:
                os.killpg(self.pid, signal.SIGKILL)
                os.waitpid(self.pid, 0)
                break
            time.sleep(0.01)
        os.close(self._out)
        os.close(self._in)

    def ask(self, method: str, session: str = "", **params: Any) -> Any:
        """The result of one command; events that come meanwhile are kept in `events`."""
        self._id += 1
        message: dict[str, Any] = {"id": self._id, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        os.write(self._out, json.dumps(message).encode() + b"\0")
        deadline_s = time.monotonic() + CEILING_S
        while True:
            answer = self._next(deadline_s, method)
            if answer.get("id") == self._id:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                return answer["result"]
            self.events.append(answer)

    def wait_for(self, method: str) -> None:
        """Return when an event of that name has come."""
        deadline_s = time.monotonic() + CEILING_S
        while not any(event.get("method") == method for event in self.events):
            self.events.append(self._next(deadline_s, method))

    def _next(self, deadline_s: float, waiting_for: str) -> dict[str, Any]:
        while b"\0" not in self._late:
            left_s = deadline_s - time.monotonic()
            if left_s <= 0 or not select.select([self._in], [], [], left_s)[0]:
                raise TimeoutError(f"the browser did not answer to {waiting_for}")
            piece = os.read(self._in, 1 << 20)
            if not piece:
                raise RuntimeError(f"the browser ended while asked for {waiting_for}")
            self._late += piece
        message, _, self._late = self._late.partition(b"\0")
        answer: dict[str, Any] = json.loads(message)
        return answer


def _high(end: int) -> int:
    """The same pipe end under a number well above 3 and 4, which the browser's ends get."""
    moved = fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 10)
    os.close(end)
    return moved


@contextmanager
def running(program: Path) -> Iterator[Browser]:
    """A browser with a new, empty profile, ended at the end of the block."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        browser = Browser(program, Path(profile))
        try:
            yield browser
        finally:
            browser.close()


def open_page(program: Path, file: Path, screen_px: tuple[int, int] = SCREEN_PX) -> Page:
    """Load the file, wait until it stands, and report it."""
    address = file.resolve().as_uri()
    with running(program) as browser:
        target = browser.ask("Target.createTarget", url="about:blank")["targetId"]
        attached = browser.ask("Target.attachToTarget", targetId=target, flatten=True)
        session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            browser.ask(f"{domain}.enable", session)
        width, height = screen_px
        browser.ask(
            "Emulation.setDeviceMetricsOverride",
            session,
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        browser.events.clear()
        browser.ask("Page.navigate", session, url=address)
        browser.wait_for("Page.loadEventFired")

        def value(expression: str) -> Any:
            found = browser.ask(
                "Runtime.evaluate",
                session,
                expression=expression,
                returnByValue=True,
                awaitPromise=True,
            )
            return found["result"].get("value")

        value("new Promise(done => requestAnimationFrame(() => setTimeout(done, 50)))")
        title, text = value("document.title"), value("document.body.innerText")
        pictures = [Picture(**row) for row in value(LIST_PICTURES)]
        wide = value("document.documentElement.scrollWidth > window.innerWidth")
        picture = browser.ask("Page.captureScreenshot", session, captureBeyondViewport=True)
        paper = browser.ask(
            "Page.printToPDF",
            session,
            paperWidth=A4_IN[0],
            paperHeight=A4_IN[1],
            printBackground=True,
        )
        return Page(
            title=title,
            text=text,
            errors=_errors(browser.events),
            requests=_requests(browser.events, address),
            pictures=pictures,
            wider_than_screen=wide,
            screenshot=base64.b64decode(picture["data"]),
            pdf=base64.b64decode(paper["data"]),
        )


def _errors(events: list[dict[str, Any]]) -> list[str]:
    found = []
    for event in events:
        params = event.get("params", {})
        match event.get("method"):
            case "Runtime.exceptionThrown":
                details = params["exceptionDetails"]
                found.append(details.get("exception", {}).get("description", details["text"]))
            case "Runtime.consoleAPICalled" if params["type"] in ("error", "warning", "assert"):
                found.append(" ".join(str(arg.get("value", "")) for arg in params["args"]))
            case "Log.entryAdded" if params["entry"]["level"] in ("error", "warning"):
                found.append(params["entry"]["text"])
            case "Network.loadingFailed":
                found.append(f"failed to load: {params['errorText']}")
    return found


def _requests(events: list[dict[str, Any]], address: str) -> list[str]:
    asked = [
        event["params"]["request"]["url"]
        for event in events
        if event.get("method") == "Network.requestWillBeSent"
    ]
    return [url for url in asked if url != address and not url.startswith("data:")]
