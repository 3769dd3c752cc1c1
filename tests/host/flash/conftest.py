"""Boards to flash, and what is flashed."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rillkeeper.link import ports
from tests.host.flash.flashing import NEXT, OLD, flash
from tests.host.flash.promptboard import PromptBoard
from tests.interpreters import rigs


def _version(folder: Path, version: str) -> Path:
    """A copy of the firmware under another version."""
    for name in ("keeper", "device"):
        shutil.copytree(rigs.FIRMWARE / name, folder / name)
    for name in ("boot.py", "main.py"):
        shutil.copy(rigs.FIRMWARE / name, folder)
    init = folder / "keeper/__init__.py"
    text = init.read_text(encoding="utf-8")
    head, _, _ = text.partition("VERSION = ")
    init.write_text(f'{head}VERSION = "{version}"\n', encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def old(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An older firmware, with a module that is no more."""
    folder = _version(tmp_path_factory.mktemp("old"), OLD)
    (folder / "device" / "buzzer.py").write_text('"""Gone since."""\n', encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def new(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The one after it: some modules differ, one is new, boot.py too."""
    folder = _version(tmp_path_factory.mktemp("new"), NEXT)
    (folder / "device" / "horn.py").write_text('"""New."""\n', encoding="utf-8")
    for name in ("device/lamp.py", "keeper/crc.py", "boot.py", "main.py"):
        with open(folder / name, "a", encoding="utf-8") as file:
            file.write("\nCHANGED = 1\n")
    return folder


@pytest.fixture(scope="session")
def flashed(
    need: Callable[[str], Path], old: Path, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """The flash image of a board that was empty and was given the older firmware."""
    folder = tmp_path_factory.mktemp("flashed")
    with PromptBoard(need("micropython"), folder) as board:
        done = flash(board, "--firmware", str(old))
        assert done.exit_code == 0, done.stderr
    return folder / "flash.img"


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(ports.list_ports, "comports", list)


@pytest.fixture
def board_of(need: Callable[[str], Path], tmp_path: Path) -> Callable[..., PromptBoard]:
    """A board, with a copy of a flash image or an empty one."""
    micropython = need("micropython")

    def make(image: Path | None = None, **more: float) -> PromptBoard:
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        if image:
            shutil.copy(image, folder / "flash.img")
        return PromptBoard(micropython, folder, **more)

    return make


@pytest.fixture
def board(board_of: Callable[..., PromptBoard], flashed: Path) -> Iterator[PromptBoard]:
    """A board with the older firmware, switched on."""
    with board_of(flashed) as made:
        yield made
