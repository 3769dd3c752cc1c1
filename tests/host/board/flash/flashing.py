"""The command against a board on a terminal, and two firmwares to flash."""

import shutil
from pathlib import Path

from click.testing import CliRunner, Result

from rillkeeper.cli import cli
from tests.host.board.flash.promptboard import PromptBoard
from tests.interpreters import rigs

OLD, NEXT = "0.1.7", "0.1.8"
"""Versions of the two firmwares that are flashed."""


def flash(board: PromptBoard, *words: str) -> Result:
    """`rillkeeper flash`, without being asked."""
    return say(board, "flash", "--yes", *words)


def say(board: PromptBoard, *words: str) -> Result:
    """Any other command for that board."""
    args = [words[0], "--port", board.path, *words[1:]]
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def versions(folder: Path) -> tuple[Path, Path]:
    """Two firmwares: some modules differ, one goes and one comes, boot.py and main.py differ."""
    made = []
    for version in (OLD, NEXT):
        place = folder / version
        for name in ("keeper", "device"):
            shutil.copytree(rigs.FIRMWARE / name, place / name)
        for name in ("boot.py", "main.py"):
            shutil.copy(rigs.FIRMWARE / name, place)
        init = place / "keeper/__init__.py"
        head, _, _ = init.read_text(encoding="utf-8").partition("VERSION = ")
        init.write_text(f'{head}VERSION = "{version}"\n', encoding="utf-8")
        made.append(place)
    old, new = made
    (old / "device/buzzer.py").write_text('"""Gone since."""\n', encoding="utf-8")
    (new / "device/horn.py").write_text('"""New."""\n', encoding="utf-8")
    for name in ("device/lamp.py", "keeper/crc.py", "boot.py", "main.py"):
        with open(new / name, "a", encoding="utf-8") as file:
            file.write("\n\nclass Changed:\n    pass\n")
    return old, new
