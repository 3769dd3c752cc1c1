"""One whole flashing, recorded on the board's flash; then the power is cut at each operation.

Stock mpremote copies to the firmware in a real MicroPython, over a real littlefs whose programs
and erases are noted. Each prefix of them, with the operation that was cut done not at all, by
half or as a whole, is mounted by another littlefs and judged: which firmware would start?
"""

import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from littlefs import LittleFS
from littlefs.errors import LittleFSError

from device import manifest
from rillkeeper.board.flash.firmware import File
from rillkeeper.board.flash.plan import HOLD_TEXT
from tests.host.board.flash.boardimage import system_of
from tests.host.board.flash.flashing import flash
from tests.host.board.flash.promptboard import PromptBoard, operations

OLD_WHOLE, NEW_WHOLE, SAYS_SO, REFUSES, NO_FIRMWARE = (
    "the old firmware, whole",
    "the new firmware, whole",
    "a main.py that only says so",
    "a firmware that refuses by its list",
    "no main.py at all",
)
MIXTURE = "A MIXTURE"


@dataclass(frozen=True)
class Recording:
    """One flashing: the image before it, the operations, and what may start."""

    before: bytes
    operations: list[tuple[bool, int, bytes]]
    old: dict[str, bytes]
    new: dict[str, bytes]


class Mounted:
    """A mounted image with the face of ``device.files.Files``."""

    def __init__(self, system: LittleFS) -> None:
        self._system = system

    def open(self, path: str, mode: str) -> AbstractContextManager[Any]:
        try:
            return self._system.open(path, mode)
        except (LittleFSError, OSError) as error:
            raise OSError(str(error)) from error

    def names(self, folder: str) -> list[str]:
        try:
            return list(self._system.listdir(folder or "/"))
        except (LittleFSError, OSError):
            return []

    def read(self, path: str) -> bytes | None:
        try:
            with self.open(path, "rb") as file:
                return bytes(file.read())
        except OSError:
            return None


def record(micropython: Path, first: list[str], second: list[str]) -> Recording:
    """Flash a board with the options of ``first``, then record a flashing with ``second``.

    Without ``first`` the board is empty.
    """
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        with PromptBoard(micropython, folder) as board:
            if first:
                _flash(board, first)
        before = board.image.read_bytes()
        board.journal.write_bytes(b"")
        with PromptBoard(micropython, folder) as board:
            _flash(board, second)
        after = board.image.read_bytes()
        found = operations(board.journal.read_bytes())
    return Recording(before, found, _listed(before), _listed(after))


def cuts(recording: Recording, every: int = 1) -> Iterator[tuple[str, bytes]]:
    """The name of each cut, and the image that it leaves; each n-th operation is cut."""
    image = bytearray(recording.before)
    for number, (programs, at, data) in enumerate(recording.operations):
        if number % every == 0:
            for halves in range(3):
                torn = bytearray(image)
                _do(torn, programs, at, data[: len(data) * halves // 2])
                yield f"operation {number}, {halves} halves", bytes(torn)
        _do(image, programs, at, data)


def judge(recording: Recording, image: bytes) -> str:
    """What a board with this image starts."""
    files = Mounted(system_of(image))
    main = files.read("main.py")
    if main is None:
        return NO_FIRMWARE
    if main == HOLD_TEXT:
        return SAYS_SO
    if any(manifest.troubles(files)):
        return REFUSES
    for name, firmware in ((OLD_WHOLE, recording.old), (NEW_WHOLE, recording.new)):
        if firmware and all(files.read(path) == data for path, data in firmware.items()):
            return name
    return MIXTURE


def sweep(recording: Recording, every: int = 1) -> Counter[str]:
    """How often which firmware would start."""
    return Counter(judge(recording, image) for _, image in cuts(recording, every))


def as_files(files: dict[str, bytes]) -> list[File]:
    """Paths and bytes as the host has them."""
    return [File(path, data) for path, data in files.items()]


def _do(image: bytearray, programs: bool, at: int, data: bytes) -> None:
    """One operation on NOR flash: programming only clears bits."""
    if programs:
        there = int.from_bytes(image[at : at + len(data)], "little")
        both = there & int.from_bytes(data, "little")
        image[at : at + len(data)] = both.to_bytes(len(data), "little")
    else:
        image[at : at + len(data)] = data


def _flash(board: PromptBoard, words: list[str]) -> None:
    done = flash(board, *words)
    assert done.exit_code == 0, done.stderr


def _listed(image: bytes) -> dict[str, bytes]:
    """The firmware on an image: what its list names, and the list."""
    files = Mounted(system_of(image))
    data = files.read(manifest.PATH)
    if data is None:
        return {}
    paths = [path for _, _, path in manifest.rows(data)]
    return {path: files.read(path) or b"" for path in [*paths, manifest.PATH]}
