"""Boards to flash, and what is flashed."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rillkeeper.board.link import ports
from tests.host.board.flash.flashing import flash, versions
from tests.host.board.flash.promptboard import PromptBoard


@pytest.fixture(scope="session")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return versions(tmp_path_factory.mktemp("versions"))


@pytest.fixture(scope="session")
def old(folders: tuple[Path, Path]) -> Path:
    """An older firmware."""
    return folders[0]


@pytest.fixture(scope="session")
def new(folders: tuple[Path, Path]) -> Path:
    """The one after it."""
    return folders[1]


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
