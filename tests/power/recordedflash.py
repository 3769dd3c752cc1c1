"""A real littlefs on a recorded flash: run once, then cut the power at every operation.

The scenario runs once on a flash that notes each program and erase. Every prefix of those, with
the operation that was cut done not at all, by half or as a whole, is then an image as a power
cut would leave it; it is mounted and looked at. Nothing has to fail inside the file system.

NOR flash: programming only clears bits, erasing sets a block to FF.
"""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from typing import Any

from littlefs import LittleFS, UserContext
from littlefs.errors import LittleFSError

BLOCK_BYTES = 4096
BLOCKS = 24
TEARS = (0, 1, 2)
"""Halves of the cut operation that were done."""

Operation = tuple[bool, int, bytes, int]
"""Whether it programs, where, what, and how much had been acknowledged before."""


def _program(flash: bytearray, at: int, data: bytes) -> None:
    there = int.from_bytes(flash[at : at + len(data)], "little")
    flash[at : at + len(data)] = (there & int.from_bytes(data, "little")).to_bytes(
        len(data), "little"
    )


class Recorder(UserContext):
    """The flash; ``acked`` is set by the scenario when something has been promised."""

    def __init__(self, image: bytes | None = None, blocks: int = BLOCKS) -> None:
        super().__init__(blocks * BLOCK_BYTES)
        self.buffer = bytearray(image or b"\xff" * (blocks * BLOCK_BYTES))
        self.operations: list[Operation] = []
        self.erases = [0] * blocks
        self.acked = 0

    def read(self, cfg: Any, block: int, off: int, size: int) -> bytearray:
        at = block * BLOCK_BYTES + off
        return bytearray(self.buffer[at : at + size])

    def prog(self, cfg: Any, block: int, off: int, data: bytes) -> int:
        at = block * BLOCK_BYTES + off
        self.operations.append((True, at, bytes(data), self.acked))
        _program(self.buffer, at, bytes(data))
        return 0

    def erase(self, cfg: Any, block: int) -> int:
        at = block * BLOCK_BYTES
        empty = b"\xff" * BLOCK_BYTES
        self.operations.append((False, at, empty, self.acked))
        self.erases[block] += 1
        self.buffer[at : at + BLOCK_BYTES] = empty
        return 0

    def sync(self, cfg: Any) -> int:
        return 0


class Flash:
    """A recorder with littlefs on it; it has the face of ``device.files.Files``."""

    def __init__(self, image: bytes | None = None, blocks: int = BLOCKS) -> None:
        self.recorder = Recorder(image, blocks)
        shape: dict[str, Any] = {
            "context": self.recorder,
            "block_size": BLOCK_BYTES,
            "block_count": blocks,
            "prog_size": 256,
            "read_size": 256,
            "cache_size": 1024,
            "lookahead_size": 32,
            "block_cycles": 100,  # as the stock firmware mounts it
        }
        if image is None:
            LittleFS(mount=False, **shape).format()
        self.system = LittleFS(**shape)

    def ack(self, promised: int) -> None:
        self.recorder.acked = promised

    def open(self, path: str, mode: str) -> AbstractContextManager[Any]:
        try:
            return self.system.open(path, mode)
        except LittleFSError as error:
            raise OSError(error.code, path) from error

    def names(self, folder: str) -> list[str]:
        try:
            return list(self.system.listdir(folder or "/"))
        except (OSError, LittleFSError):
            return []

    def make_folder(self, folder: str) -> None:
        try:
            self.system.mkdir(folder)
        except (OSError, LittleFSError):
            pass

    def remove(self, path: str) -> None:
        self.system.remove(path)

    def read(self, path: str) -> bytes | None:
        try:
            with self.open(path, "rb") as file:
                return bytes(file.read())
        except OSError:
            return None


def cuts(scenario: Callable[[Flash], None], image: bytes) -> Iterator[tuple[str, Flash, int]]:
    """Each cut of the scenario: its name, the flash after it, and what had been promised."""
    whole = Flash(image)
    scenario(whole)
    flash = bytearray(image)
    for number, (programs, at, data, acked) in enumerate(whole.recorder.operations):
        for halves in TEARS:
            torn = bytearray(flash)
            part = data[: len(data) * halves // 2]
            if programs:
                _program(torn, at, part)
            else:
                torn[at : at + len(part)] = part
            yield f"operation {number}, {halves} halves", Flash(bytes(torn)), acked
        if programs:
            _program(flash, at, data)
        else:
            flash[at : at + len(data)] = data


def empty_image() -> bytes:
    """A formatted flash."""
    return bytes(Flash().recorder.buffer)
