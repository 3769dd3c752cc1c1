"""The commands against the whole firmware: a virtual board on a pseudo-terminal of its own."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from rillkeeper.board.link import ports
from rillkeeper.site.file import demo_site
from rillsim.boards.virtualboard import VIRTUAL
from tests.host.board.link.virtual import ENVIRONMENT, Running, say, state
from tests.patience import CEILING_S, until

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("virtual board")]


def test_a_night_from_the_desk(start: Callable[..., Running], data: Path) -> None:
    """Find it, start the pump, read the log meanwhile and twice, stop, change a setting."""
    board = start("--speed", "20")
    there = json.loads(say("ports", "--json").stdout)["ports"]
    assert [row["port"] for row in there] == [board.path]
    assert there[0]["board"].startswith(VIRTUAL.hex())

    refused = say("run", "240")
    assert refused.exit_code == 1
    assert "the longest run that run_max_s allows" in refused.stderr
    started = say("run", "5")
    assert started.exit_code == 0, started.stderr
    until(lambda: state()["pressure_pa"] > 100_000)
    assert state()["relay"] == 1
    assert "run by hand: " in say("status").stdout
    while_running = say("log", "--raw")
    assert state()["relay"] == 1, "reading the log does not disturb the pump"
    assert " boot cause=0 " in while_running.stdout
    morning = say("report", "--quick")
    assert morning.exit_code == 0, morning.stderr
    assert "The pump was running when the log was read." in morning.stdout
    assert "power was lost" not in morning.stdout
    assert morning.stdout.startswith(f"{demo_site().name}: "), "the board goes by its site"
    assert say("settings", "--save", str(data / "s.json")).exit_code == 0

    stopped = say("stop")
    assert stopped.exit_code == 0, stopped.stderr
    after = state()
    assert (after["relay"], after["state"]) == (0, "idle")
    assert (after["last_stop"]["cause"], after["last_stop"]["set"]) == ("by hand", 0)
    assert after["next_set"]["set"] == 1, "and the set of tonight stands"
    until(lambda: state()["waiting"] == 0)
    rest = say("log", "--raw")
    assert " start set=0 run=1 " in while_running.stdout + rest.stdout
    assert " stop cause=1 " in rest.stdout
    assert not set(while_running.stdout.splitlines()) & set(rest.stdout.splitlines())
    assert say("log", "--raw").stdout == "", "a reading more adds nothing"
    assert json.loads(say("log", "--json").stdout)["missing"] == 0

    document = json.loads((data / "s.json").read_text())
    document["settings"]["hand_minutes"] = 7
    (data / "s.json").write_text(json.dumps(document))
    written = say("settings", "--write", str(data / "s.json"), "--yes")
    assert written.exit_code == 0, written.stderr
    assert json.loads(say("settings", "--json").stdout)["settings"]["hand_minutes"] == 7


def test_ctrl_c_ends_it_cleanly(start: Callable[..., Running], data: Path) -> None:
    board = start("--realtime")
    assert say("status").exit_code == 0
    status, said = board.end()
    assert (status, said.splitlines()[-1]) == (0, "the board is switched off")
    assert "Traceback" not in said
    assert ports.candidates() == []
    gone = say("status", "--port", board.path)
    assert gone.exit_code == 3
    assert "there is no such port" in gone.stderr


def test_switched_off_in_mid_watch(start: Callable[..., Running], data: Path) -> None:
    board = start("--speed", "5")
    watch = subprocess.Popen(
        [sys.executable, "-m", "rillkeeper", "watch"],
        env={**ENVIRONMENT, "XDG_DATA_HOME": str(data)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert watch.stdout is not None
    assert ", waiting, relay open, " in watch.stdout.readline()
    board.end()
    _, said = watch.communicate(timeout=CEILING_S)
    assert watch.returncode == 3
    assert "unplugged" in said
    assert said.count("\n") == 1


def test_a_terminal_that_does_not_read_stops_nothing(
    start: Callable[..., Running], data: Path
) -> None:
    """Somebody asks for far more than the line holds and reads nothing: a run still ends."""
    board = start("--speed", "20", "--keep", str(data / "kept"))
    assert say("run", "2").exit_code == 0
    terminal = os.open(board.path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)

    flash = data / "kept" / "flash.img"

    def asked_until_it_stops() -> bool:
        with suppress(BlockingIOError):
            os.write(terminal, b"settings\n")
        return b" stop cause=" in flash.read_bytes()

    assert not asked_until_it_stops()
    until(asked_until_it_stops)
    heard = bytearray()

    def all_answered() -> bool:
        with suppress(BlockingIOError):
            heard.extend(os.read(terminal, 65536))
        with suppress(BlockingIOError):
            os.write(terminal, b"\nid\n")
        return b"id board=" in heard

    until(all_answered)
    os.close(terminal)
    assert say("run", "5").exit_code == 0


def test_following_the_log(start: Callable[..., Running], data: Path) -> None:
    start("--speed", "20")
    follow = subprocess.Popen(
        [sys.executable, "-m", "rillkeeper", "log", "--raw", "--follow"],
        env={**ENVIRONMENT, "XDG_DATA_HOME": str(data)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert follow.stdout is not None
    assert follow.stdout.readline().startswith("0 ")
    follow.send_signal(signal.SIGINT)
    rest, said = follow.communicate(timeout=CEILING_S)
    assert (follow.returncode, said.strip()) == (130, "rillkeeper: interrupted")
    shown = {"0", *(line.split(" ")[0] for line in rest.splitlines())}
    assert not shown & {line.split(" ")[0] for line in say("log", "--raw").stdout.splitlines()}


def test_a_board_that_was_never_set(start: Callable[..., Running], data: Path) -> None:
    """It says so with status 4, takes its settings from `limits`, and then it can pump."""
    start("--unset", "--speed", "20")
    refused = say("run", "5")
    assert refused.exit_code == 4
    assert "no settings" in refused.stderr
    assert say("limits", "-o", str(data / "limits.json")).exit_code == 0
    written = say("settings", "--write", str(data / "limits.json"), "--yes")
    assert written.exit_code == 0, written.stderr
    assert say("status").exit_code == 0
    assert say("run", "5").exit_code == 0


def test_hurrying_to_an_hour_and_a_fault(start: Callable[..., Running], data: Path) -> None:
    start("--at", "23:10", "--speed", "60", "--fault", "outlet_shut@1+5min")
    assert "T23:" in state()["clock"]
    assert " trip rule=" in say("log", "--raw").stdout


def test_a_hold_and_a_battery_are_told(start: Callable[..., Running]) -> None:
    start("--speed", "20")
    assert say("hold", "2").exit_code == 0
    told = say("battery", "20")
    assert told.exit_code == 0, told.stderr
    assert "counts on from 20.0 Ah that may be taken" in told.stdout
    refused = say("battery", "80")
    assert refused.exit_code == 1
    assert "may be taken, not its label" in refused.stderr
    assert say("battery", "full").exit_code == 0
    assert say("battery", "20").exit_code == 0
    until(lambda: state()["left_mah"] == pytest.approx(20_000, abs=100))
    held_until = date.fromisoformat(state()["held"]["until"])
    assert held_until == datetime.fromisoformat(state()["clock"]).date() + timedelta(days=2)
    assert f"no set before the evening of {held_until}" in say("status").stdout
    log = say("log", "--raw").stdout
    assert " hand command=1 value=2 " in log
    assert " hand command=5 value=20000 " in log
    assert say("relearn").exit_code == 0
    until(lambda: " hand command=7 value=0 " in say("log", "--raw").stdout)


def test_what_makes_no_sense(start: Callable[..., Running]) -> None:
    for words in (["--at", "25:00"], ["--fault", "outlet_shut@3", "--nights", "2"]):
        assert say("board", *words).exit_code == 2


def test_without_an_interpreter(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rillkeeper.commands.board.sys.executable", "/nowhere/python")
    monkeypatch.setenv("PATH", "/nowhere")
    result = say("board")
    assert result.exit_code == 1
    assert "pip install 'rillkeeper[board]'" in result.stderr
