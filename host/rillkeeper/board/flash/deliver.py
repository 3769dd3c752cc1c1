"""Copies a firmware to a board at its prompt, checks it there, and switches over to it."""

import signal
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib.resources import as_file, files
from pathlib import Path

from rillkeeper.board.flash import board_files, mpremote
from rillkeeper.board.flash.board_files import BoardFiles
from rillkeeper.board.flash.firmware import File, Firmware
from rillkeeper.board.flash.plan import (
    HOLD,
    READY,
    REMOVED,
    Row,
    folders_for,
    leftovers,
    rows_by_hash,
    to_stage,
)
from rillkeeper.errors import RillkeeperError, VerifyDiffers

OLD, NEITHER, NEW = "old", "neither", "new"
"""Which firmware the board would start with."""

Progress = Callable[[str, int], None]
"""Told the file that is being copied and how many bytes have been."""


class Delivery:
    """One flashing of one board that is at its prompt."""

    def __init__(self, port: str, wanted: Firmware) -> None:
        self.port = port
        self.wanted = wanted
        self.holds = OLD
        self.stopped = False
        """Whether the board does not go on by itself."""
        self.board: BoardFiles | None = None
        self._staged: dict[str, File] = {}
        self._there: set[str] = set()

    def compare(self, force: bool) -> list[Row]:
        """Look at the board and list what differs. Raises WrongBoard."""
        self.board = board = board_files.look(self.port)
        board_files.check_kind(board, force)
        shared = [path for path in board.sizes if self._is_like(path)]
        board.hashes = board_files.hashes(self.port, shared)
        rows = rows_by_hash(board, self.wanted)
        self._staged = staged = to_stage(rows, self.wanted)
        ready = [path for path in staged if board.sizes.get(path) == len(staged[path].data)]
        found = board_files.hashes(self.port, ready)
        self._there = {path for path in ready if found.get(path) == staged[path].sha256}
        return rows

    @property
    def bytes_to_copy(self) -> int:
        return sum(len(self._staged[path].data) for path in self._to_copy())

    def check_room(self) -> None:
        """Raise RillkeeperError where old and new firmware do not fit side by side."""
        assert self.board is not None
        missing = self.board.room_for([len(self._staged[path].data) for path in self._to_copy()])
        if missing:
            largest = sorted(self.board.sizes.items(), key=lambda pair: -pair[1])[:3]
            listed = ", ".join(f"{path} ({size / 1000:.0f} kB)" for path, size in largest)
            raise RillkeeperError(
                f"the board's flash is too full: {missing * self.board.block_size / 1000:.0f} kB "
                f"more are needed; the largest files there: {listed}; nothing was changed"
            )

    def copy(self, progress: Progress) -> None:
        """Copy what differs beside the firmware that is there; that one stays whole."""
        assert self.board is not None
        paths = self._to_copy()
        words = _removals(leftovers(self.board, self._staged))
        for folder in folders_for(self._staged):
            if folder not in self.board.folders:
                words += ["fs", "mkdir", f":/{folder}", "+"]
        with tempfile.TemporaryDirectory(prefix="rillkeeper-") as place:
            for number, path in enumerate(paths):
                source = Path(place) / f"{number:03d}"
                source.write_bytes(self._staged[path].data)
                words += ["fs", "cp", str(source), f":/{path}", "+"]
            if words:
                mpremote.run(self.port, words[:-1], _Heard(self._staged, progress).line)
        self._verify()

    def switch(self, rows: list[Row]) -> None:
        """Put everything into its place. A Ctrl-C waits until that is done."""
        stale = [row.path.rstrip("/") for row in rows if row.what == REMOVED]
        call = f"switch({HOLD!r}, {stale!r})"
        with (
            as_file(files("rillkeeper.board.flash.onboard") / "switch.py") as script,
            _undisturbed(),
        ):
            self.holds = NEITHER
            lines = mpremote.run(self.port, ["run", str(script), "+", "exec", call])
            if lines[-1:] != ["switched"]:
                raise VerifyDiffers(f"the board did not switch over: {' '.join(lines[-1:])}")
            self.holds = NEW

    def restart(self) -> None:
        """Start the board anew, with whatever firmware it holds."""
        mpremote.run(self.port, ["reset"])

    def _to_copy(self) -> list[str]:
        return [path for path in self._staged if path not in self._there]

    def _is_like(self, path: str) -> bool:
        assert self.board is not None
        file = self.wanted.files.get(path)
        return file is not None and len(file.data) == self.board.sizes[path]

    def _verify(self) -> None:
        found = board_files.hashes(self.port, list(self._staged))
        wrong = [
            file.path for file in self._staged.values() if found.get(file.path) != file.sha256
        ]
        if wrong:
            raise VerifyDiffers(
                f"the board read back something else: {', '.join(wrong)}; is its flash worn out?"
            )


class _Heard:
    """Turns the lines of mpremote into progress."""

    def __init__(self, staged: dict[str, File], progress: Progress) -> None:
        self._staged = staged
        self._progress = progress
        self._done = 0
        self._now = ""

    def line(self, line: str) -> None:
        if not line.startswith("cp "):
            return
        if self._now:
            self._done += len(self._staged[self._now].data)
        self._now = line.rpartition(" :/")[2]
        self._progress(self._now.removeprefix(f"{READY}/"), self._done)


def _removals(paths: list[str]) -> list[str]:
    return ["fs", "rm", *[f":/{path}" for path in paths], "+"] if paths else []


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Keep a Ctrl-C until this is over; only the main thread may say so."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came = []
    before = signal.signal(signal.SIGINT, lambda number, frame: came.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if came:
        raise KeyboardInterrupt
