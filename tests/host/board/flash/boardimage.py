"""Files on a board's flash image, read and written from the desktop by another littlefs."""

from pathlib import Path
from typing import Any

from littlefs import LittleFS

BLOCK_BYTES = 4096


def system_of(image: bytes | bytearray) -> LittleFS:
    """The file system on an image."""
    shape: dict[str, Any] = {"block_size": BLOCK_BYTES, "prog_size": 256, "read_size": 256}
    shape.update(block_count=len(image) // BLOCK_BYTES, cache_size=1024, lookahead_size=32)
    system = LittleFS(mount=False, **shape)
    system.context.buffer = bytearray(image)
    system.mount()
    return system


def files_in(system: LittleFS) -> dict[str, bytes]:
    """Every file: path and bytes."""
    found = {}
    for folder, _, names in system.walk("/"):
        for name in names:
            path = f"{folder}/{name}".lstrip("/")
            with system.open(path, "rb") as file:
                found[path] = bytes(file.read())
    return found


def files_on(image: Path) -> dict[str, bytes]:
    """Every file on an image."""
    return files_in(system_of(image.read_bytes()))


def put(image: Path, path: str, data: bytes) -> None:
    """Write a file; the board must be off."""
    system = system_of(image.read_bytes())
    folder = path.rpartition("/")[0]
    if folder:
        system.makedirs(folder, exist_ok=True)
    with system.open(path, "wb") as file:
        file.write(data)
    image.write_bytes(system.context.buffer)
