"""A flashing that goes wrong: one clear line, the right status, and a second one mends it."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rillkeeper.board.flash import deliver, mpremote
from rillkeeper.board.flash.listing import Meter
from tests.host.board.flash.boardimage import files_on, put
from tests.host.board.flash.flashing import NEXT, OLD, flash, say
from tests.host.board.flash.promptboard import PromptBoard
from tests.patience import CEILING_S

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("flash")]

COPIES = 7
"""Files that are copied from the old firmware to the new: five of it, its list, the meantime's."""


def at_copy(number: int, act: Callable[[], None], monkeypatch: pytest.MonkeyPatch) -> None:
    """Do something when the n-th file begins to be copied."""
    before = Meter.told
    seen = []

    def told(meter: Meter, path: str, done_bytes: int) -> None:
        seen.append(path)
        if len(seen) == number:
            act()
        before(meter, path, done_bytes)

    monkeypatch.setattr(Meter, "told", told)


def kept_processes(monkeypatch: pytest.MonkeyPatch) -> list["subprocess.Popen[str]"]:
    """Every mpremote that is started."""
    started: list[subprocess.Popen[str]] = []
    before = subprocess.Popen

    def start(*words: Any, **more: Any) -> "subprocess.Popen[str]":
        started.append(before(*words, **more))
        return started[-1]

    monkeypatch.setattr(mpremote.subprocess, "Popen", start)
    return started


def mends(board: PromptBoard, new: Path) -> None:
    again = flash(board, "--firmware", str(new))
    assert again.exit_code == 0, again.stderr
    assert f"runs firmware {NEXT}, every file checked" in again.stdout


@pytest.mark.parametrize("number", [2, COPIES])
def test_mpremote_is_killed(
    number: int, board: PromptBoard, new: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Near the beginning and at the last file: the board goes on with the old firmware."""
    with monkeypatch.context() as patch:
        started = kept_processes(patch)
        at_copy(number, lambda: started[-1].kill(), patch)
        done = flash(board, "--firmware", str(new))
    assert done.exit_code == 3
    assert "mpremote gave up" in done.stderr
    assert (
        "the board still has the firmware it had, whole, and it goes on with that" in done.stderr
    )
    after = say(board, "status")
    assert f"firmware {OLD}" in after.stdout, after.stderr
    mends(board, new)


def test_the_board_loses_power(
    board: PromptBoard, new: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        at_copy(3, board.power_cycle, patch)
        patch.setattr(mpremote, "SILENCE_S", 3.0)
        done = flash(board, "--firmware", str(new))
    assert done.exit_code == 3
    assert "whole" in done.stderr.splitlines()[-2]
    mends(board, new)


def test_the_cable_is_pulled(
    board_of: Callable[..., PromptBoard],
    flashed: Path,
    new: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with monkeypatch.context() as patch, board_of(flashed) as board:
        at_copy(3, board.pull, patch)
        patch.setattr(mpremote, "SILENCE_S", 3.0)
        done = flash(board, "--firmware", str(new))
        assert done.exit_code == 3
        assert "unplugged" in done.stderr
        assert "switch it off and on" in done.stderr
    with board_of() as board:
        after = say(board, "status")
        assert f"firmware {OLD}" in after.stdout, after.stderr
        mends(board, new)


def test_while_it_switches_over(
    board: PromptBoard, new: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """mpremote dies in the one second in which neither firmware is whole."""
    run = mpremote.run

    def fail(port: str, words: list[str], *more: Any) -> list[str]:
        if words[-1].startswith("switch("):
            hold = 'import os; os.rename("/new/hold.py", "/main.py")'
            run(port, ["exec", hold])
            raise mpremote.CopyFailed("mpremote gave up: pulled")
        return run(port, words, *more)

    with monkeypatch.context() as patch:
        patch.setattr(deliver.mpremote, "run", fail)
        done = flash(board, "--firmware", str(new))
    assert done.exit_code == 3
    assert "is not whole, it says so and does not pump" in done.stderr
    board.power_cycle()
    said = say(board, "status")
    assert said.exit_code == 3
    assert "run: rillkeeper flash" in said.stderr
    mends(board, new)


def test_ctrl_c(board: PromptBoard, new: Path) -> None:
    words = ["flash", "--port", board.path, "--yes", "--py", "--firmware", str(new)]
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "rillkeeper", *words],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert process.stderr is not None
    for line in process.stderr:
        if line.startswith("copying: 3"):
            os.killpg(process.pid, signal.SIGINT)
            break
    _, said = process.communicate(timeout=CEILING_S)
    assert process.returncode == 130, said
    assert "the board still has the firmware it had, whole, and it goes on with that" in said
    assert said.splitlines()[-1] == "rillkeeper: interrupted"
    after = say(board, "status")
    assert f"firmware {OLD}" in after.stdout, after.stderr


def test_mpremote_is_missing(
    board: PromptBoard, new: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mpremote.importlib.util, "find_spec", lambda name: None)
    done = flash(board, "--firmware", str(new), "--py")
    assert done.exit_code == 3
    assert "mpremote is missing; run: pip install mpremote" in done.stderr


def test_a_full_flash(board_of: Callable[..., PromptBoard], flashed: Path, new: Path) -> None:
    """Nothing is begun that cannot be finished; what takes the room is named."""
    board = board_of(flashed)
    put(board.image, "photos.bin", bytes(1_150_000))
    with board:
        before = files_on(board.image)
        done = flash(board, "--firmware", str(new), "--py")
        assert done.exit_code == 1, done.stderr
        assert "photos.bin (1150 kB)" in done.stderr
        assert "it goes on with that" in done.stderr
        assert files_on(board.image)["main.py"] == before["main.py"]
        after = say(board, "status")
        assert f"firmware {OLD}" in after.stdout, after.stderr


def test_a_flash_that_cannot_be_written(
    board_of: Callable[..., PromptBoard], flashed: Path, new: Path
) -> None:
    """Read only: nothing changes, the line says so."""
    board = board_of(flashed)
    board.write_error = 30
    with board:
        done = flash(board, "--firmware", str(new))
        assert done.exit_code in (1, 3)
        assert "cannot be written" in done.stderr
        after = say(board, "status")
        assert f"firmware {OLD}" in after.stdout, after.stderr
