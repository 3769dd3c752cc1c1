"""The firmware as `rillkeeper flash` puts it on a board: bytecode, its constants folded."""

from collections.abc import Iterable
from pathlib import Path

from rillkeeper.board.flash.firmware import AS_THEY_ARE, PACKAGES, compiled
from rillkeeper.board.flash.folding import folded
from tests.interpreters import rigs

STAND_INS = tuple(sorted((rigs.FIRMWARE / "virtual").glob("*.py")))
"""What plays the part of a board's chips and flash beside it."""


def as_flashed(
    folder: Path, scripts: Iterable[Path] = (), packages: Iterable[str] = PACKAGES
) -> dict[str, int]:
    """Leave it in a folder, without boot.py and main.py; bytes of each file.

    What ``scripts`` read keeps its name: they run beside it in a test, on no board.
    Raises RillkeeperError where there is no mpy-cross.
    """
    beside = firmware_readers() | {path.name: _text(path) for path in scripts}
    sizes = {}
    for path, data in compiled(folded(firmware_sources(packages), beside)):
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
        sizes[path] = len(data)
    return sizes


def firmware_sources(packages: Iterable[str] = PACKAGES) -> dict[str, str]:
    """What is compiled, by path ("keeper/rules.py")."""
    found = [path for name in packages for path in sorted((rigs.FIRMWARE / name).glob("*.py"))]
    return {path.relative_to(rigs.FIRMWARE).as_posix(): _text(path) for path in found}


def firmware_readers() -> dict[str, str]:
    """What goes to a board as it is, by name."""
    return {name: _text(rigs.FIRMWARE / name) for name in AS_THEY_ARE}


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")
