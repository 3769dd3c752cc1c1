"""The firmware as bytecode: the same board from .mpy files, and how large it is."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.device.desk import Desk
from tests.interpreters import rigs
from tests.interpreters.board import BOARD
from tests.interpreters.flashed import STAND_INS, as_flashed

pytestmark = pytest.mark.interpreter

BYTES_MAX = 88 * 1024
"""All bytecode of a board, as `rillkeeper flash` compiles it: a small part of the 1.4 MB of flash
that is left for files."""


def test_the_board_from_bytecode(need: Callable[[str], Path], tmp_path: Path) -> None:
    firmware = tmp_path / "firmware"
    size = sum(as_flashed(firmware, STAND_INS).values())
    for name in ("boot.py", "main.py", "virtual"):
        (firmware / name).symlink_to(rigs.FIRMWARE / name)
    print(f"{size} bytes of bytecode")
    assert size < BYTES_MAX
    with Desk(need("micropython"), tmp_path, BOARD, firmware=firmware) as desk:
        assert desk.status()["trouble"] == "none"
        # What was let go of after the start is loaded anew.
        assert desk.say("help")[-1] == "ok"
        assert desk.say("say")[0] == "Now: waiting"
        assert desk.make("set starts_max 7") == "ok staged=1"
        assert desk.make("apply") == "ok"
        assert desk.make("set starts_max 0") == "ok staged=1"
        assert desk.make("apply").startswith("no starts_max: 0 is outside")
        assert desk.make("try 5").startswith("no starts_max: 0 is outside")
        assert desk.make("run 3") == "ok asked run"
        assert any(desk.ticks(60))
        assert any(" start " in line for line in desk.board.log)
