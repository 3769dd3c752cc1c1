"""Hands on a virtual board that runs: by a second command, and by keys in its own window."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rillkeeper.board.link import ports
from rillkeeper.board.link.hands import ask, with_hands
from rillkeeper.errors import NoBoard
from tests.host.board.link.virtual import Running, say, state
from tests.host.board.proof.on_terminal import OnTerminal
from tests.patience import until

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("virtual board")]


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(ports.list_ports, "comports", list)
    return tmp_path


@pytest.fixture
def board(need: Callable[[str], Path], data: Path) -> Iterator[Running]:
    need("micropython")
    one = Running(data, "--speed", "20")
    yield one
    one.end()


def listed() -> dict[str, str]:
    rows = json.loads(say("hand", "--list", "--json").stdout)["hands"]
    return {row["hand"]: row["now"] for row in rows}


def test_a_tap_is_shut_by_a_second_command(board: Running, data: Path) -> None:
    """And the board does what it is there for; a second board has to be named."""
    assert say("run", "5").exit_code == 0
    until(lambda: state()["state"] == "run")
    done = say("hand", "tap", "shut")
    assert (done.exit_code, done.stdout) == (0, "The tap at the outlet is shut.\n")
    until(lambda: not state()["relay"])
    assert state()["last_stop"]["cause"] == "dead head"
    assert listed()["tap"] == "shut"
    look = say("hand", "tap", "open", "--look")
    assert "the pump falls silent" in look.stdout
    assert look.stdout.startswith("The tap at the outlet is open.\n")

    refused = say("hand", "current-plug", "out")
    assert (refused.exit_code, refused.stdout) == (1, "")
    assert refused.stderr == "rillkeeper: this site has no current sensor\n"
    assert say("hand", "tap", "shutt").exit_code == 2
    assert say("hand", "tap").exit_code == 2
    assert say("hand").exit_code == 2
    assert say("hand", "wait", "long", "tap", "shut").exit_code == 2
    assert say("hand", "tap", "shut", "--port", "/dev/nowhere").exit_code == 3

    second = Running(data, "--speed", "20")
    several = say("hand", "tap", "shut")
    assert several.exit_code == 3
    assert board.path in several.stderr
    assert second.path in several.stderr
    named = say("hand", "tap", "shut", "--port", second.path)
    assert named.exit_code == 0
    _, said = second.end()
    assert "The tap at the outlet is shut." in said, "its own window tells it too"
    assert listed()["tap"] == "open"


def test_the_power_is_pulled_and_the_line_is_dead(board: Running) -> None:
    """Battery off: the cable of the computer that asks wakes it, as a real one's does."""
    off = say("hand", "battery", "off")
    assert off.exit_code == 0
    assert "(X1.2 and X2.1): 0.00 V" in say("hand", "--look").stdout
    assert say("status").exit_code == 0
    assert say("hand", "power", "out").exit_code == 0
    dead = say("status")
    assert dead.exit_code == 3, dead.output
    assert say("hand", "power", "in", "battery", "charged").exit_code == 0
    until(lambda: say("status").exit_code == 0)
    log = say("log", "--raw").stdout
    assert log.count(" boot ") == 3, "with new flash, from the cable, and after the power"
    line = with_hands()[0].hands
    board.end()
    with pytest.raises(NoBoard, match="does not answer"):
        ask(line, look=True)
    assert say("hand", "tap", "shut").exit_code == 3


def test_keys_in_its_own_window(need: Callable[[str], Path], data: Path) -> None:
    need("micropython")
    window = OnTerminal(data, "board", "--speed", "20")
    window.until("keys here: t the tap")
    window.type_key("?")
    window.until("the strainer (in): s out / in")
    window.type_key("u")
    window.until("The button is pressed for a moment.")
    window.until("Run 1 starts")
    window.until("The pump has drawn water")
    window.type_key("t")
    window.until("The tap at the outlet is shut.")
    window.until("The run ends after")
    window.type_key("l")
    window.until("the pump falls silent")
    window.type_key("t")
    window.until("The tap at the outlet is open.")
    window.type_key("4")
    window.until("this site has no current sensor")
    window.type_key("\x03")
    window.until("the board is switched off")
    assert window.wait() == 0
