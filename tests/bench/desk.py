"""How long after a handle has moved the desk answers, and its picture stands.

Over the real socket, with the server in a process of its own; the picture in Chromium, where
there is one: from the event of the control to the frame after its answer was drawn.
"""

import http.client
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit

from tests.bench.table import Row
from tests.host.pages.browser import _browser
from tests.outside import find

MOST_MS = 100.0
HOSE_M = (12.0, 48.0)
_DRAG = """async values => {
  const control = document.getElementById('handle-line-length');
  const panel = document.getElementById('panel-now');
  const drawn = () => new Promise(done => {
    const seen = new MutationObserver(() => { seen.disconnect(); requestAnimationFrame(done); });
    seen.observe(panel, {attributes: true, attributeFilter: ['data-drawn']});
  });
  const took = [];
  for (const value of values) {
    const begun = performance.now();
    const picture = drawn();
    control.value = value;
    control.dispatchEvent(new Event('input'));
    await picture;
    took.push(performance.now() - begun);
  }
  return took;
}"""


@contextmanager
def _desk() -> Iterator[str]:
    """The address of a desk in a process of its own."""
    path = os.pathsep.join(one for one in sys.path if one)
    with tempfile.TemporaryDirectory() as folder:
        archive = os.path.join(folder, "archive.db")
        words = ["-m", "rillkeeper", "desk", "--no-browser", "--archive", archive]
        with subprocess.Popen(
            [sys.executable, *words],
            env={**os.environ, "PYTHONPATH": path},
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        ) as process:
            assert process.stdout is not None
            try:
                yield process.stdout.readline().strip()
            finally:
                process.terminate()


def _lengths(count: int) -> list[float]:
    """As many hoses, no two alike, so that no answer is one that was kept."""
    low, high = HOSE_M
    return [round(low + (high - low) * n / count, 1 + len(str(count))) for n in range(count)]


def _at_95(took_ms: list[float]) -> float:
    return sorted(took_ms)[max(0, round(0.95 * len(took_ms)) - 1)]


def _row(what: str, took_ms: list[float], goal: bool) -> Row:
    at_95 = _at_95(took_ms)
    middle = sorted(took_ms)[len(took_ms) // 2]
    return Row(
        f"{what}, {len(took_ms)} moves",
        f"{at_95:.0f} ms at the 95th percentile",
        result=f"{middle:.0f} ms in the middle",
        goal=f"at most {MOST_MS:.0f} ms" if goal else "-",
        met=at_95 <= MOST_MS if goal else None,
    )


def _answers(address: str, count: int, whole: bool) -> list[float]:
    """Time from a request to its whole answer over one connection that is kept [ms]."""
    parts = urlsplit(address)
    talk = http.client.HTTPConnection(parts.hostname or "", parts.port)
    headers = {"Origin": f"http://{parts.netloc}", "Content-Type": "application/json"}

    def ask(name: str, what: dict[str, object]) -> dict[str, object]:
        talk.request("POST", f"{parts.path}{name}", json.dumps(what), headers)
        found: dict[str, object] = json.loads(talk.getresponse().read())
        return found

    talk.request("GET", f"{parts.path}begin")
    sheet = ask("open", json.loads(talk.getresponse().read()))["id"]
    took = []
    for length_m in [HOSE_M[1], *_lengths(count)]:
        changes = {"line.length": f"{length_m} m", "charge": "60 %"}
        begun = time.perf_counter()
        answer = ask("answer", {"id": sheet, "changes": changes, "whole": whole})
        took.append(1e3 * (time.perf_counter() - begun))
        assert answer["runs"], answer
    talk.close()
    return took[1:]


def _pictures(address: str, count: int) -> list[float]:
    """Time from a move of the hose's slider to the picture, in Chromium [ms]."""
    program = find("chromium")
    assert program
    with _browser(program).new_context() as context:
        page = context.new_page()
        page.goto(address)
        page.wait_for_selector("#panel-now[data-whole=true]")
        # The slider takes steps of half a metre: other charges make each answer another one.
        moves = [14.0 + 0.5 * (n % 60) for n in range(60)]
        took: list[float] = []
        while len(took) < count:
            left = page.locator("#handle-charge")
            left.evaluate(
                "(one, n) => { one.value = 40 + n; one.dispatchEvent(new Event('change')); }",
                len(took) // 60,
            )
            page.wait_for_selector("#panel-now[data-whole=true]")
            took += page.evaluate(_DRAG, moves[: count - len(took)])
    return took


def rows(count: int = 300) -> list[Row]:
    """A drag of the hose."""
    with _desk() as address:
        quick = _answers(address, count, whole=False)
        whole = _answers(address, max(1, count // 5), whole=True)
        found = [
            _row("desk: answer while a handle is dragged", quick, goal=True),
            _row("desk: the whole answer when it rests", whole, goal=False),
        ]
        if find("chromium"):
            pictures = _pictures(address, count)
            found.append(_row("desk: from drag to picture in Chromium", pictures, goal=True))
    return found
