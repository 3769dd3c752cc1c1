"""Flashing the ordinary virtual board, with its plant, its night and its watchdog."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rillkeeper.board.link import ports
from rillkeeper.board.link.port import Port
from rillkeeper.commands import flash as command
from tests.host.board.link.virtual import Running, say, state

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("virtual board")]


@pytest.fixture
def board(
    need: Callable[[str], Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Running]:
    need("micropython")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(ports.list_ports, "comports", list)
    running = Running(tmp_path, "--speed", "20")
    yield running
    running.close()


def flash(*words: str) -> str:
    done = say("flash", "--yes", *words)
    assert done.exit_code == 0, done.stderr
    return done.stdout


def test_from_the_prompt_that_ctrl_c_gives(board: Running, new: Path) -> None:
    """The firmware was stopped by hand; its watchdog starts it again before it is flashed."""
    with Port(board.path) as port:
        said = b""
        for _ in range(100):
            port.write(b"\x03")
            said += port.read()
            if b">>> " in said:
                break
        assert b">>> " in said
    assert "every file checked" in flash("--firmware", str(new))
    assert state()["firmware"] == "0.1.8"
    assert "nothing to copy" in flash("--firmware", str(new))


def test_a_firmware_that_was_just_starting(
    board: Running, new: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was looked for in vain, and Ctrl-C gives no prompt that lasts: it is asked after all."""
    monkeypatch.setattr(command, "_look_at_running", lambda name, wanted: (None, []))
    assert "every file checked" in flash("--firmware", str(new))
    assert state()["firmware"] == "0.1.8"
