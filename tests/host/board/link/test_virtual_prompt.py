"""The prompt of a virtual board, for people and for stock mpremote; its clock and number."""

import json
import os
import select
import subprocess
import sys
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest

from keeper.records import POWER_BROKE_RUN
from rillkeeper.board.link.change import make
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.talk import Talk
from rillkeeper.site.file import DEMO
from tests.host.board.link.virtual import Running, say, state
from tests.patience import CEILING_S, until

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("virtual board")]

SPEED = 20.0
Start = Callable[..., Running]


class Typing:
    """Somebody at a terminal."""

    def __init__(self, path: str) -> None:
        self._end = os.open(path, os.O_RDWR | os.O_NOCTTY)

    def __enter__(self) -> "Typing":
        return self

    def __exit__(self, *error: object) -> None:
        os.close(self._end)

    def types(self, text: bytes, until: bytes) -> str:
        """Type, and read until something is shown."""
        os.write(self._end, text)
        shown = b""
        while until not in shown:
            assert select.select([self._end], [], [], CEILING_S)[0], shown
            shown += os.read(self._end, 4096)
        return shown.decode(errors="replace")


def for_service(board: Running) -> None:
    """Start it again without the loop and the watchdog, as before copying files."""
    with Port(board.path) as port:
        assert make(Talk(port), "service") == "ok"
    with Typing(board.path) as terminal:
        terminal.types(b"", until=b">>> ")


def mpremote(board: Running, *words: str) -> str:
    """What stock mpremote shows."""
    done = subprocess.run(
        [sys.executable, "-m", "mpremote", "connect", board.path, *words],
        capture_output=True,
        text=True,
        timeout=CEILING_S,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_ctrl_c_opens_the_relay_and_gives_a_prompt(start: Start) -> None:
    """Ctrl-D there starts the firmware again, which has kept its log."""
    board = start("--speed", str(SPEED))
    assert say("run", "5").exit_code == 0
    until(lambda: state()["relay"] == 1)
    with Typing(board.path) as terminal:
        assert "KeyboardInterrupt" in terminal.types(b"\x03", until=b">>> ")
        terminal.types(b"from machine import Pin\r", until=b">>> ")
        assert "\n0\n" in terminal.types(b"Pin(18).value()\r", until=b">>> ")
        assert "soft reboot" in terminal.types(b"\x04", until=b"soft reboot")
    until(lambda: say("status").exit_code in (0, 4))
    assert state()["relay"] == 0
    log = say("log", "--raw").stdout
    assert " boot cause=0 " in log
    assert f" boot cause={POWER_BROKE_RUN} " in log


def test_the_watchdog_ends_a_prompt_that_it_was_armed_for(start: Start) -> None:
    """As on a board: without the service start there are seconds only, but those there are."""
    board = start("--speed", str(SPEED))
    assert say("status").exit_code == 0
    with Typing(board.path) as terminal:
        terminal.types(b"\x03", until=b">>> ")
        terminal.types(b"1\r", until=b">>> ")
    until(lambda: say("status").exit_code == 0)
    assert say("log", "--raw").stdout.count(" boot cause=") == 2


def test_mpremote_on_a_board_that_runs(start: Start) -> None:
    """There are seconds enough to look at its files; then it goes on by itself."""
    board = start()
    until(lambda: say("status").exit_code == 0)
    assert "main.py" in mpremote(board, "fs", "ls")
    until(lambda: say("status").exit_code == 0)


def test_stock_mpremote(start: Start, tmp_path: Path) -> None:
    board = start("--speed", str(SPEED))
    assert say("status").exit_code == 0
    for_service(board)
    folder = tmp_path / "copied"
    (folder / "inner").mkdir(parents=True)
    (folder / "inner" / "small.txt").write_text("drop by drop\n")
    data = bytes(range(256)) * 40
    (folder / "large.bin").write_bytes(data)
    mpremote(board, "fs", "cp", "-r", str(folder), ":")
    listing = mpremote(board, "fs", "ls", ":copied")
    assert f"{len(data)} large.bin" in listing
    assert sha256(data).hexdigest() in mpremote(board, "fs", "sha256sum", ":copied/large.bin")
    assert "drop by drop" in mpremote(board, "fs", "cat", ":copied/inner/small.txt")
    tree = mpremote(board, "fs", "tree", ":")
    assert "keeper" in tree
    assert "main.py" in tree
    mpremote(board, "fs", "rm", "-r", ":copied")
    assert "copied" not in mpremote(board, "fs", "ls")
    assert "VfsLfs2" in mpremote(board, "df")
    script = tmp_path / "wait.py"
    script.write_text(
        "import time\nt = time.ticks_ms()\ntime.sleep_ms(700)\nprint(t, time.ticks_ms())"
    )
    before, after = (int(word) for word in mpremote(board, "run", str(script)).split())
    assert after - before >= 700
    assert mpremote(board, "resume", "exec", "print(6 * 7)").strip() == "42"
    mpremote(board, "soft-reset")
    mpremote(board, "reset")
    until(lambda: say("status").exit_code == 0)


@pytest.mark.parametrize("chip", [True, False], ids=["chip", "its own clock"])
def test_the_clock_is_set(start: Start, chip: bool, tmp_path: Path) -> None:
    site = tmp_path / "site.toml"
    demo = DEMO.read_text(encoding="utf-8")
    backed = f"clock_backed = {str(chip).lower()}"
    site.write_text(demo.replace("clock_backed = true", backed), encoding="utf-8")
    start(str(site), "--realtime")
    shown = say("clock").stdout
    assert "days behind" in shown
    assert ("a clock chip" in shown) == chip
    done = say("clock", "--set")
    assert done.exit_code == 0, done.stderr
    assert "right to the second" in done.stdout
    assert " hand command=6 " in say("log", "--raw").stdout


def test_a_board_that_is_kept_is_the_same_board(start: Start, tmp_path: Path) -> None:
    """Its log goes on, its number stays; without --keep each start is another board."""

    def number() -> str:
        return str(json.loads(say("ports", "--json").stdout)["ports"][0]["board"])

    folder = tmp_path / "kept"
    first = start("--speed", str(SPEED), "--keep", str(folder))
    kept = number()
    assert " boot cause=0 " in say("log", "--raw").stdout
    first.end()
    second = start("--speed", str(SPEED), "--keep", str(folder))
    assert number() == kept
    log = say("log", "--raw").stdout
    assert " boot cause=1 " in log
    assert not log.startswith("0 ")
    second.end()
    start("--speed", str(SPEED))
    assert number() != kept
