"""Runs ``tests/interpreters/scripts/watch_day.py``, and judges what it tells."""

import json
from pathlib import Path
from typing import Any

from keeper import lines
from keeper.records import SEQ
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

HEAP_BYTES = 1024
SETTINGS = {**BOARD, "set1_start_s": 12 * 3600 + 600}
"""A set ten minutes after the start, and the others in the evening."""


def watch(folder: Path, hours: float) -> dict[str, Any]:
    """What came of so many hours."""
    case = {"settings": SETTINGS, "hours": hours}
    (folder / "case.json").write_text(json.dumps(case), encoding="utf-8")
    told: dict[str, Any] = json.loads(
        rigs.interpreter("unix").run("watch_day.py", folder, timeout_s=900.0)
    )
    return told


def troubles(folder: Path, hours: float, told: dict[str, Any]) -> list[str]:
    """What is wrong: ticks, looks, heap, log; empty where nothing is."""
    seconds = round(hours * 3600)
    early, late = told["used"]
    numbers = [lines.parse_line(line)[SEQ] for line in log_lines(folder)]
    wrong = {
        "a tick was missed": told["ticks"] != seconds * 10 or told["apart_ms"] != [100, 100],
        "a look was missed": told["looks"] != seconds - 1 or told["wrong"] > 0,
        "the looks drift": told["due_ms"] != seconds * 1000 or told["late_ms"] > 100,
        "the heap grows": late - early > HEAP_BYTES,
        "the log has gaps": numbers != list(range(len(numbers))) or told["waiting"] > 0,
        "the pump did not run": told["closed"] < 1000,
        "the board is in trouble": bool(told["trouble"]),
    }
    return [what for what, is_so in wrong.items() if is_so]


def log_lines(folder: Path) -> list[str]:
    """The records on its flash."""
    pages = sorted((folder / "log").iterdir())
    return [line for page in pages for line in page.read_text().splitlines()[1:]]
