"""The firmware as `rillkeeper flash` puts it on a board: bytecode, its constants folded."""

from collections.abc import Iterable
from pathlib import Path

from rillkeeper.board.flash.firmware import AS_THEY_ARE, compiled
from rillkeeper.board.flash.folding import folded
from tests.interpreters import rigs

PACKAGES = ("keeper", "device")
STAND_INS = tuple(sorted((rigs.FIRMWARE / "virtual").glob("*.py")))
"""What plays the part of a board's chips and flash beside it."""


def as_flashed(
    folder: Path, scripts: Iterable[Path] = (), packages: Iterable[str] = PACKAGES
) -> dict[str, int]:
    """Leave it in a folder, without boot.py and main.py; bytes of each file.

    What ``scripts`` read keeps its name: they run beside it in a test, on no board.
    Raises RillkeeperError where there is no mpy-cross.
    """
    found = [path for name in packages for path in sorted((rigs.FIRMWARE / name).glob("*.py"))]
    sources = {path.relative_to(rigs.FIRMWARE).as_posix(): _text(path) for path in found}
    readers = {name: _text(rigs.FIRMWARE / name) for name in AS_THEY_ARE}
    readers |= {path.name: _text(path) for path in scripts}
    sizes = {}
    for path, data in compiled(folded(sources, readers)):
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
        sizes[path] = len(data)
    return sizes


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")
