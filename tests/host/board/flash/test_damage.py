"""A damaged byte in the firmware of a board: the pump does not run, and the file is named."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.host.board.flash.boardimage import files_on, put
from tests.host.board.flash.flashing import OLD, flash, say
from tests.host.board.flash.promptboard import PromptBoard
from tests.interpreters import rigs
from tests.interpreters.board import BOARD
from tests.patience import until
from tests.power.flippedbits import sweep

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("flash")]


@pytest.fixture
def settings(tmp_path: Path) -> Path:
    path = tmp_path / "settings.json"
    path.write_text(json.dumps({"settings": BOARD}), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "path", ["lib/keeper/watering.mpy", "lib/device/output.mpy", "boot.py", "lib/keeper/rules.mpy"]
)
def test_it_is_named_and_the_pump_does_not_run(
    path: str, board_of: Callable[..., PromptBoard], flashed: Path
) -> None:
    board = board_of(flashed, speed=100.0)
    data = bytearray(files_on(board.image)[path])
    data[-2] ^= 1  # Where it may well still load.
    put(board.image, path, bytes(data))
    with board:
        said = say(board, "status")
        until(lambda: board.at_prompt or board.awake_ms > 30_000)
        assert not board.relay_was_closed
    assert said.exit_code in (3, 4), said.stderr
    if said.exit_code == 4:
        assert f"does not pump: {path} is damaged or missing" in said.stderr


def test_flashing_mends_it(
    board_of: Callable[..., PromptBoard], flashed: Path, old: Path, settings: Path
) -> None:
    board = board_of(flashed)
    put(board.image, "lib/keeper/core.mpy", b"M")
    with board:
        assert say(board, "status").exit_code == 3
        done = flash(board, "--firmware", str(old), "--settings", str(settings))
        assert done.exit_code == 0, done.stderr
        assert say(board, "status").exit_code == 0


def test_the_checker_does_not_pass_itself_when_damaged() -> None:
    """A part of its bits, flipped one by one; python -m tests.power flips all of them."""
    found = sweep(every=29)
    assert found["passes"] == 0
    assert found["named"] > 100
    assert sum(found.values()) > 800


def test_the_installer_of_micropython(board_of: Callable[..., PromptBoard]) -> None:
    """It brings the packages; what it does not bring is added, and nothing copied twice."""
    with board_of() as board:
        words = ["connect", board.path, "resume", "mip", "install"]
        package = str(rigs.FIRMWARE / "package.json")
        subprocess.run([sys.executable, "-m", "mpremote", *words, package], check=True)
        done = flash(board, "--py")
        assert done.exit_code == 0, done.stderr
        assert "3 new, 0 changed" in done.stdout
        assert OLD not in say(board, "status").stdout
