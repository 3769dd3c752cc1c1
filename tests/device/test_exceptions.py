"""An error at any line of main.py and the device package leaves the relay open; so does Ctrl-C
at any line that is passed with the relay closed.

main.py runs here in CPython, on the virtual board's chips, through the start of a run by button.
A trace function raises at one chosen line, while the relay is closed if the line is ever reached
then. The relay must be open when main.py has ended; where the error hits the opening itself, the
renewal timer must open it.
"""

import gc
import io
import os
import shutil
import struct
import sys
from collections.abc import Callable
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import CodeType, FrameType, ModuleType, SimpleNamespace
from typing import Any

import pytest

from device import manifest, store
from device.files import Files
from keeper.relay import RENEW_MS
from tests.interpreters import rigs
from tests.interpreters.board import BOARD
from virtual import chips, listed

MAIN = rigs.FIRMWARE / "main.py"
DEVICE = str(rigs.FIRMWARE / "device") + os.sep
PRESSED = range(20, 25)
ASKED_AT = 30
TICKS = 80

Place = tuple[str, int]


class Injected(Exception):
    """The error that is injected."""


class Ended(Exception):
    """The supply ends: the run is over."""


class Surroundings:
    """The other end of the pipe: a quiet board whose button is pressed, and a pump that works."""

    def __init__(self) -> None:
        self.tick = 0
        self.level = 0
        self.closed = 0

    def write(self, data: bytes) -> None:
        self.level = struct.unpack(chips.OUTPUTS, data)[0] & 1
        self.closed += self.level

    def readinto(self, buffer: bytearray) -> int:
        tick = self.tick
        if tick == TICKS:
            raise Ended
        self.tick += 1
        on = self.level
        bits = chips.USB_POWER | (chips.LOAD_ON if on else 0)
        bits |= chips.BUTTON if tick in PRESSED else 0
        counts = (2720 if on else 2790, 1000 + tick % 5 if on else 410, 900, 600 if on else 5)
        now = (tick * chips.TICK_MS, 20643, 43200 + tick // 10, 1, bits)
        struct.pack_into(chips.INPUTS, buffer, 0, *now, *counts, 0)
        return len(buffer)


class Board:
    """One run of main.py in a folder that stands for the flash."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch) -> None:
        files = Files(str(folder) + os.sep)
        with files.open("boot.py", "wb") as file:
            file.write(b"pass\n")
        with files.open(manifest.PATH, "wb") as file:
            file.write(listed.text_of(files, ["boot.py"]).encode())
        assert store.TwoSlots(files, "settings").save(store.settings_text(BOARD))
        patch.chdir(folder)
        patch.setattr(sys, "platform", "linux")
        patch.setattr(sys, "meta_path", [Kept(), *sys.meta_path])
        patch.setitem(sys.modules, "machine", chips)
        patch.setitem(sys.modules, "time", chips)
        patch.setitem(sys.modules, "select", SimpleNamespace(poll=Poll, POLLIN=1, POLLOUT=4))
        patch.setattr(sys, "stdin", SimpleNamespace(buffer=Typed()))
        patch.setattr(sys, "stdout", SimpleNamespace(buffer=io.BytesIO()))
        for name in device_modules():
            patch.delitem(sys.modules, name)
        self.code = compile(MAIN.read_text(encoding="utf-8"), str(MAIN), "exec")

    def run(self, trace: Callable[..., Any] | None) -> None:
        """Run main.py to its end, whatever ends it."""
        shutil.rmtree("log", ignore_errors=True)
        for name in os.listdir():
            if name.startswith("memory"):
                os.remove(name)
        for name in device_modules():
            del sys.modules[name]
        Typed.data = iter(b"seal hold 0\nstatus\n")
        link = chips.LINK
        link.timers = []
        link._waits, link._come = False, None
        link.relay = link._told_ms = 0
        around = Surroundings()
        chips.join(around, around)
        sys.settrace(trace)
        try:
            exec(self.code, {"__name__": "__main__"})
        finally:
            sys.settrace(None)
            self.closed = around.closed


class Kept:
    """Finds the device package's modules, which a start makes afresh, compiled once."""

    def __init__(self) -> None:
        self._codes: dict[str, CodeType] = {}

    def find_spec(self, name: str, path: Any, target: Any = None) -> ModuleSpec | None:
        if name.partition(".")[0] != "device" or name == "device":
            return None
        file = DEVICE + name.partition(".")[2] + ".py"
        if name not in self._codes:
            self._codes[name] = compile(Path(file).read_text(encoding="utf-8"), file, "exec")
        spec = ModuleSpec(name, self, origin=file)
        spec.has_location = True
        return spec

    def create_module(self, spec: ModuleSpec) -> None:
        return None

    def exec_module(self, module: ModuleType) -> None:
        exec(self._codes[module.__name__], module.__dict__)


class Typed:
    """A line asks something while the pump runs."""

    data = iter(b"")

    def read(self, size: int) -> bytes:
        return bytes([next(self.data)])


class Poll:
    """Readable once the pump runs."""

    def register(self, stream: Any, what: int) -> None:
        self.what = what

    def ipoll(self, timeout: int) -> list[int]:
        if self.what == 4:
            return [1]
        return [1] if chips.LINK.relay and Typed.data.__length_hint__() else []


def device_modules() -> list[str]:
    """What main.py has to import afresh."""
    return [name for name in sys.modules if name.partition(".")[0] == "device"]


def ours(name: str) -> bool:
    return name == str(MAIN) or name.startswith(DEVICE)


def places(board: Board) -> dict[Place, bool]:
    """Every line that a run passes, and whether it does so with the relay closed."""
    seen: dict[Place, bool] = {}

    def trace(frame: FrameType, event: str, arg: Any) -> Any:
        if not ours(frame.f_code.co_filename):
            return None
        if event == "line":
            place = (frame.f_code.co_filename, frame.f_lineno)
            seen[place] = seen.get(place, False) or chips.LINK.relay == 1
        return trace

    with pytest.raises(Ended):
        board.run(trace)
    return seen


def raise_at(place: Place, closed: bool, error: type[BaseException]) -> Callable[..., Any]:
    """A trace function that raises once, at a line, with the relay closed or anyhow."""
    done = []

    def trace(frame: FrameType, event: str, arg: Any) -> Any:
        if frame.f_code.co_filename != place[0] or done:
            return None
        if event == "line" and frame.f_lineno == place[1]:
            if chips.LINK.relay or not closed:
                done.append(1)
                raise error
        return trace

    return trace


# An error between the opening of a file and its "with" leaves it to the collector.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize("error", [Injected, KeyboardInterrupt])
def test_the_relay_opens(
    error: type[BaseException], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gc.freeze()  # Each start collects: what the tests themselves hold is not to be looked through.
    board = Board(tmp_path, monkeypatch)
    seen = places(board)
    assert board.closed > 20, "the pump ran"
    closed = sum(seen.values())
    assert closed > 150
    opened_by_timer = []
    for place, while_closed in seen.items():
        if error is KeyboardInterrupt and not while_closed:
            continue
        with pytest.raises(error):
            board.run(raise_at(place, while_closed, error))
        if chips.LINK.relay:
            opened_by_timer.append(place)
            chips.LINK.now_ms += RENEW_MS + 1
            for timer in chips.LINK.timers:
                timer.call()
        assert chips.LINK.relay == 0, place
    names = {Path(name).name for name, _ in opened_by_timer}
    assert names <= {"main.py", "output.py"}, opened_by_timer
    monkeypatch.undo()
    gc.collect()
    print(f"{len(seen)} lines, {closed} with the relay closed; the relay opened at each")
