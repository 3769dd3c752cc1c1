"""Nights of the week, step by step, on the board's interpreters: the same bytes everywhere.

Three nights of the demo site are replayed against the plant, in CPython, and what its board read
in each step is kept. The same readings then go through the same control package in MicroPython;
state, relay, nap and log must come out the same, byte for byte. The counter wraps in the first
night, and the battery goes home after the second. `make twin` plays all seven nights by the
firmware.
"""

import json
import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.boards import board
from rillsim.replay import TICKS_PER_S
from rillsim.site import FaultSpec
from tests.interpreters import rigs
from tests.interpreters.flashed import as_flashed
from tests.interpreters.week import ROW, record

pytestmark = [
    pytest.mark.interpreter,
    pytest.mark.slow,
    pytest.mark.xdist_group("week"),
]

# Ten and three quarter hours after the first noon the first set is under way.
FIRST_MS = 2**30 - int(10.75 * 3600 * 1000)
NIGHTS = 3


@dataclass(frozen=True)
class Recorded:
    """The readings of some nights in a folder, and what the replay's own board wrote."""

    folder: Path
    log: list[str]
    steps: int


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Recorded:
    """The nights, with a loss of power in the middle of a run on top of their own troubles."""
    folder = tmp_path_factory.mktemp("week")
    site = demo_site()
    site = replace(site, battery_trips=(replace(site.battery_trips[0], after_night=2),))
    settings = settings_of(site)
    lifted = FaultSpec("battery_lifted", night=1, offset_s=3000.0, severity=1.0, duration_s=20.0)
    file = folder / "week.bin"
    week = record(site, settings, file, nights=NIGHTS, first_ms=FIRST_MS, faults=(lifted,))
    case = {"settings": settings, "first_ms": FIRST_MS}
    (folder / "case.json").write_text(json.dumps(case), encoding="utf-8")
    shutil.copy(board.__file__, folder)
    return Recorded(folder, list(week.log), week.control_steps)


@pytest.fixture(scope="module")
def in_cpython(recorded: Recorded) -> list[str]:
    return rigs.interpreter("cpython").run("replay_week.py", recorded.folder).splitlines()


def test_the_nights_are_whole(recorded: Recorded) -> None:
    """All of them, a wrap while the pump runs, power lost and back, and enough steps to count."""
    data = (recorded.folder / "week.bin").read_bytes()
    rows = list(ROW.iter_unpack(data))
    assert len(rows) == recorded.steps > 50_000
    assert rows[-1][0] > (NIGHTS - 0.1) * 86400 * TICKS_PER_S
    assert any(row[3] & 2 for row in rows)
    wrap_tick = 2**30 // board.TICK_MS - FIRST_MS // board.TICK_MS
    ticks = {row[0] for row in rows}
    assert {wrap_tick - 1, wrap_tick, wrap_tick + 1} <= ticks


def test_recording_replays_to_the_same_log(recorded: Recorded, in_cpython: list[str]) -> None:
    """The file holds all that the board knew."""
    assert in_cpython[-len(recorded.log) :] == recorded.log


@pytest.mark.parametrize("name", ["unix", "wasm"])
def test_same_bytes(name: str, recorded: Recorded, in_cpython: list[str], tmp_path: Path) -> None:
    """With 32 bits from bytecode as `rillkeeper flash` makes it, else from the sources."""
    library = rigs.FIRMWARE
    if name == "wasm":
        library = tmp_path
        as_flashed(library, [Path(board.__file__)], ["keeper"])
    interpreter = rigs.interpreter(name, library)
    there = interpreter.run("replay_week.py", recorded.folder).splitlines()
    for here_line, there_line in zip(in_cpython, there, strict=False):
        assert there_line == here_line, f"{name} differs before step {here_line.split()[0]}"
    assert there == in_cpython
