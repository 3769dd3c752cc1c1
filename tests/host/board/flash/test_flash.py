"""Flashing with stock mpremote, against the firmware in a real MicroPython."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.board.flash import running
from rillkeeper.board.link.change import make
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.talk import Talk
from tests.host.board.flash.boardimage import files_on, put
from tests.host.board.flash.flashing import NEXT, OLD, flash, say
from tests.host.board.flash.promptboard import NOON, PromptBoard
from tests.interpreters.board import BOARD
from tests.patience import until

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("flash")]


def version(board: PromptBoard) -> str:
    found: str = json.loads(say(board, "status", "--json").stdout)["firmware"]
    return found


@pytest.fixture
def settings(tmp_path: Path) -> Path:
    path = tmp_path / "settings.json"
    path.write_text(json.dumps({"settings": BOARD}), encoding="utf-8")
    return path


def test_a_new_board(board_of: Callable[..., PromptBoard], old: Path, settings: Path) -> None:
    """No firmware, then one: status names what to do, the listing what was done."""
    with board_of() as board:
        before = say(board, "status")
        assert before.exit_code == 3
        assert "run: rillkeeper flash" in before.stderr
        tried = flash(board, "--dry-run")
        assert tried.exit_code == 0, tried.stderr
        assert not board.journal.stat().st_size, "a look writes nothing"
        done = flash(board, "--firmware", str(old), "--settings", str(settings))
        assert done.exit_code == 0, done.stderr
        assert f"runs firmware {OLD}, every file checked" in done.stdout
        assert "settings written and read back" in done.stderr
        assert "copying: " in done.stderr
        assert version(board) == OLD


def test_old_to_new(board: PromptBoard, new: Path, settings: Path) -> None:
    """Only what differs is copied; what is no more goes; settings and log stay."""
    wrote = say(board, "settings", "--write", str(settings), "--yes")
    assert wrote.exit_code == 0, wrote.stderr
    before = files_on(board.image)
    listed = flash(board, "--firmware", str(new), "--dry-run")
    assert listed.exit_code == 0
    there = files_on(board.image)
    assert all(there[path] == data for path, data in before.items() if path.startswith("lib/"))
    assert "new/main.py" not in there
    assert board.starts == 1, "a dry run asks for no restart where the board gives its list"
    rows = {line.split()[0]: line for line in listed.stdout.splitlines() if "/" in line}
    assert rows["lib/device/buzzer.mpy"].endswith("to be removed")
    assert rows["lib/device/horn.mpy"].split()[-1] == "new"
    assert rows["lib/keeper/crc.mpy"].split()[-1] == "changed"
    assert rows["lib/keeper/core.mpy"].split()[-1] == "same"
    done = flash(board, "--firmware", str(new))
    assert done.exit_code == 0, done.stderr
    assert "its settings stay as they were; where this version may derive others" in done.stderr
    assert version(board) == NEXT
    after = files_on(board.image)
    assert "lib/device/buzzer.mpy" not in after
    assert "new/main.py" not in after
    assert after["settings.a"] == before["settings.a"]
    log = say(board, "log", "--raw").stdout
    assert log.count(" boot ") == 2, "the log goes on"


def test_the_same_again(board: PromptBoard, old: Path) -> None:
    done = flash(board, "--firmware", str(old))
    assert done.exit_code == 0, done.stderr
    assert "nothing to copy" in done.stdout
    assert board.starts == 1


def test_sources_and_bytecode(board: PromptBoard, old: Path) -> None:
    """From one to the other nothing is left that would make a mixture."""
    done = flash(board, "--firmware", str(old), "--py")
    assert done.exit_code == 0, done.stderr
    there = files_on(board.image)
    assert "lib/keeper/core.py" in there
    assert not [path for path in there if path.endswith(".mpy")]
    assert flash(board, "--firmware", str(old)).exit_code == 0
    there = files_on(board.image)
    assert [path for path in there if path.endswith(".py")] == ["boot.py", "main.py"]


def test_what_would_hide_the_firmware_goes(
    board_of: Callable[..., PromptBoard], flashed: Path, old: Path
) -> None:
    """Sources beside bytecode, and packages in the root: the board refuses, flashing mends."""
    board = board_of(flashed)
    put(board.image, "lib/keeper/core.py", b"raise ValueError\n")
    put(board.image, "keeper/crc.py", b"")
    put(board.image, "notes.txt", b"mine")
    with board:
        assert say(board, "status").exit_code != 0
        done = flash(board, "--firmware", str(old))
        assert done.exit_code == 0, done.stderr
        there = files_on(board.image)
        assert "lib/keeper/core.py" not in there
        assert "keeper/crc.py" not in there
        assert there["notes.txt"] == b"mine"
        assert version(board) == OLD


def test_not_while_the_pump_runs(board: PromptBoard, new: Path, settings: Path) -> None:
    say(board, "settings", "--write", str(settings), "--yes")
    with Port(board.path) as port:
        make(Talk(port), "run 2")
    until(lambda: board.relay)
    done = flash(board, "--firmware", str(new))
    assert done.exit_code == 1
    assert "rillkeeper stop" in done.stderr
    assert board.starts == 1


def test_not_shortly_before_a_set(board: PromptBoard, new: Path, tmp_path: Path) -> None:
    path = tmp_path / "soon.json"
    soon = {**BOARD, "set1_unit": 1, "set1_start_s": NOON[1] + 500}
    path.write_text(json.dumps({"settings": soon}), encoding="utf-8")
    assert say(board, "settings", "--write", str(path), "--yes").exit_code == 0
    done = flash(board, "--firmware", str(new))
    assert done.exit_code == 1
    assert "set 1 starts at 12:08" in done.stderr
    assert running.SOON_S == 600


@pytest.mark.parametrize("main", [b"while True: pass\n", b"def (", None])
def test_a_broken_main(
    main: bytes | None, board_of: Callable[..., PromptBoard], flashed: Path, old: Path
) -> None:
    board = board_of(flashed)
    if main:
        put(board.image, "main.py", main)
    else:
        put(board.image, "lib/device/board.mpy", b"?")
    with board:
        done = flash(board, "--firmware", str(old))
        assert done.exit_code == 0, done.stderr
        assert version(board) == OLD
