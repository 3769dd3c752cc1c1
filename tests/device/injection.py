"""An error in front of each statement of main.py and the device package, in real MicroPython.

A copy of the firmware has one line more: it raises as soon as it is reached with the relay closed.
The board is started, a run is begun by button, and the relay pin must be left open. Where that
line is never reached with the relay closed, the run goes on as if it were not there.
"""

import ast
import shutil
import signal
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from rillsim.boards.virtualboard import VirtualBoard, VirtualBoardStopped
from tests import outside
from tests.device.desk import NOON, QUIET
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

TICKS = 90
PRESSED = range(20, 25)
_LINK = '__import__("virtual.chips", None, None, ("LINK",)).LINK'
_NOT_BEFORE = ("elif", "else", "except", "finally")
OPENED_BY_TIMER = ("main.py", "output.py")
"""Where an error may hit the opening itself: then the renewal timer opens the relay."""


@dataclass(frozen=True)
class Place:
    """A statement."""

    path: str
    line: int


@dataclass
class Tally:
    """What became of the boards."""

    raised: int = 0
    not_reached: int = 0
    by_timer: list[Place] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    @property
    def tried(self) -> int:
        """How many there were."""
        return self.raised + self.not_reached


def places() -> Iterator[Place]:
    """Each statement in a function, that begins a line of its own."""
    for path in ("main.py", *sorted(f"device/{p.name}" for p in _device())):
        text = (rigs.FIRMWARE / path).read_text(encoding="utf-8")
        lines = text.split("\n")
        for node in ast.walk(ast.parse(text)):
            if not isinstance(node, ast.FunctionDef):
                continue
            for inner in ast.walk(node):
                if not isinstance(inner, ast.stmt) or inner is node or _is_text(inner):
                    continue
                line = lines[inner.lineno - 1]
                if not line.strip().startswith(_NOT_BEFORE):
                    yield Place(path, inner.lineno)


def _device() -> Iterator[Path]:
    return (rigs.FIRMWARE / "device").glob("*.py")


def _is_text(statement: ast.stmt) -> bool:
    return isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)


def broken_at(place: Place, error: str, folder: Path) -> Path:
    """A copy of the firmware with an error in front of that statement."""
    firmware = folder / "firmware"
    shutil.copytree(rigs.FIRMWARE, firmware, ignore=shutil.ignore_patterns("__pycache__"))
    source = firmware / place.path
    lines = source.read_text(encoding="utf-8").split("\n")
    after = lines[place.line - 1]
    indent = after[: len(after) - len(after.lstrip())]
    lines.insert(place.line - 1, f'{indent}if {_LINK}.relay: raise {error}("injected")')
    source.write_text("\n".join(lines), encoding="utf-8")
    return firmware


def run(firmware: Path, folder: Path, interrupt_at: int = -1) -> tuple[list[int], str]:
    """Start a board and begin a run by button: (levels of the relay pin, what ended it).

    ``interrupt_at``: the tick before which Ctrl-C is pressed.
    """
    levels = [0]
    with VirtualBoard(outside.need("micropython"), firmware, folder, BOARD) as board:
        for n in range(TICKS):
            on = levels[-1]
            battery_n = 2720 if on else QUIET[0]
            pressure_n = 1000 + n % 5 if on else QUIET[1]
            button = 2 if n in PRESSED else 0
            counts = [battery_n, pressure_n, on, button, QUIET[4], 600 + n % 3 if on else 5]
            if n == interrupt_at and board._process is not None:
                board._process.send_signal(signal.SIGINT)
            try:
                levels.append(board.step(n, (NOON[0], NOON[1] + n // 10, True), counts))
            except VirtualBoardStopped as stopped:
                return levels, str(stopped)
    return levels, ""


def try_interrupt(tick: int, folder: Path) -> str:
    """Ctrl-C at a tick: what is wrong, or nothing."""
    levels, ended = run(rigs.FIRMWARE, folder, tick)
    if "KeyboardInterrupt" not in ended:
        return f"Ctrl-C at tick {tick} ended in {ended or 'nothing'}"
    return f"Ctrl-C at tick {tick} left the relay closed" if levels[-1] else ""


def try_place(place: Place, error: str, folder: Path, tally: Tally) -> None:
    """One board."""
    levels, ended = run(broken_at(place, error, folder), folder)
    if "injected" in ended:
        tally.raised += 1
        if levels[-1] and place.path.endswith(OPENED_BY_TIMER):
            tally.by_timer.append(place)
        elif levels[-1]:
            tally.wrong.append(f"{place}: the relay was left closed")
    else:
        tally.not_reached += 1
        if sum(levels) < TICKS // 4 or ended:
            tally.wrong.append(f"{place}: {sum(levels)} ticks closed, {ended}")
