"""Control steps a second in each Python interpreter, on the readings of the demo week."""

import json
import shutil
import tempfile
from pathlib import Path

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.boards import board
from tests import outside
from tests.bench.table import Row
from tests.bench.timing import Times
from tests.interpreters import rigs
from tests.interpreters.week import record

SCRIPT = Path(__file__).parent / "scripts" / "time_steps.py"
NEEDS = {"cpython": (), "unix": ("micropython",), "wasm": ("wasm", "node")}
LABELS = {
    "cpython": "CPython",
    "unix": "MicroPython, unix port, 64 bits",
    "wasm": "MicroPython, wasm, 32 bits",
}


def rows(nights: int = 7, repeats: int = 3) -> list[Row]:
    """The interpreters take turns; one that is missing says how to get it."""
    taken: dict[str, list[float]] = {name: [] for name in rigs.NAMES if not _missing(name)}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        steps = record_week(folder, nights)
        for _ in range(repeats):
            for name, seconds in taken.items():
                done, taken_us = rigs.interpreter(name).run(SCRIPT, folder).split()
                assert int(done) == steps, f"{name} took {done} of {steps} steps"
                seconds.append(int(taken_us) * 1e-6)
    here = Times(tuple(taken["cpython"]))
    return [
        _row(name, steps, Times(tuple(taken[name])), here) if name in taken else _gap(name)
        for name in rigs.NAMES
    ]


def record_week(folder: Path, nights: int) -> int:
    """Leave the recording of the demo week in ``folder``; how many steps it has."""
    site = demo_site()
    settings = settings_of(site)
    week = record(site, settings, folder / "week.bin", nights=nights)
    case = {"settings": settings, "first_ms": 0}
    (folder / "case.json").write_text(json.dumps(case), encoding="utf-8")
    shutil.copy(board.__file__, folder)
    return week.control_steps


def _missing(name: str) -> list[str]:
    return [program for program in NEEDS[name] if outside.find(program) is None]


def _gap(name: str) -> Row:
    hints = "; ".join(f"{what} is missing: {outside.HOW_TO_GET[what]}" for what in _missing(name))
    return Row(f"control steps a second, {LABELS[name]}", hints)


def _row(name: str, steps: int, times: Times, here: Times) -> Row:
    rate = steps / times.middle_s
    return Row(
        f"control steps a second, {LABELS[name]}",
        f"{rate:,.0f} /s (spread {times.spread_percent:.0f} %)",
        "-" if name == "cpython" else "CPython",
        "-" if name == "cpython" else f"{times.middle_s / here.middle_s:.1f}x the time",
    )
