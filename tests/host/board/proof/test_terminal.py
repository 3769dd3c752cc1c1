"""`rillkeeper prove` as a person meets it: on a terminal, with a virtual board on the line."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rillkeeper.inquiry.why.small_tests.kept import PROOF, KeptTests, without_tests
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.store import Archive
from tests.host.board.proof.on_terminal import ENVIRONMENT, OnTerminal

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("virtual board")]


@pytest.fixture
def board(need: Callable[[str], Path], tmp_path: Path) -> Iterator[str]:
    need("micropython")
    process = subprocess.Popen(
        [sys.executable, "-m", "rillkeeper", "board", "--speed", "10"],
        env={**ENVIRONMENT, "XDG_DATA_HOME": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )
    assert process.stdout is not None
    yield process.stdout.readline().strip()
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    process.stdout.close()


def test_steps_by_hand_one_left_out_one_broken_off(board: str, tmp_path: Path) -> None:
    """Brown-out and no prime need no hand on the plant."""
    one = OnTerminal(tmp_path, "prove", "--port", board, "--only", "brown-out")
    one.until("Press Enter when it is so")
    assert "Voltage too low  [brown-out]" in one.shown
    one.type("")
    one.until("\npassed, 0.5 s (to 0.1 s) of 0.8 s")
    assert one.wait() == 0

    left = OnTerminal(tmp_path, "prove", "--port", board, "--only", "frost")
    left.until("Press Enter when it is so")
    left.type("no")  # Whatever it is, it is no "it is so": nothing may start.
    left.until("only Enter goes on")
    left.until("Press Enter when it is so")
    assert "[y/N]" not in left.shown
    left.type("s")
    left.until("Why")
    left.type("no ice")
    left.until("Then press Enter")
    left.type("")
    left.until("not proved (left out: no ice)")
    assert left.wait() == 0

    broken = OnTerminal(tmp_path, "prove", "--port", board, "--only", "dead-head")
    broken.until("Press Enter when it is so")
    broken.type("")
    broken.until("NOW: Shut the tap")
    os.killpg(broken.process.pid, signal.SIGINT)
    broken.until("NOW: Open the tap.")
    broken.until("Stand clear")
    broken.until("goes on from here")
    assert broken.wait() == 130
    assert "Traceback" not in broken.shown

    shown = OnTerminal(tmp_path, "prove", "--show")
    shown.until("1 passed")
    shown.wait()
    status = OnTerminal(tmp_path, "status", "--port", board)
    assert status.wait() == 0
    assert "waiting" in status.shown
    trips_are_left_out(tmp_path)


def trips_are_left_out(data: Path) -> None:
    """No night did what a proof has provoked, one that was broken off included."""
    with Archive(next(data.rglob("archive.sqlite"))) as archive:
        (name,) = archive.boards()
        log = read_log(archive.lines(name))
        made = KeptTests(archive).of(name)
    assert {one.test for one in made} == {PROOF}
    assert {"start", "trip"} <= {entry.kind for entry in log.entries}
    left = without_tests(log, made).entries
    assert not [entry for entry in left if entry.kind in ("start", "trip")]


def test_rounds_that_are_due_are_offered_and_one_goes_by_itself(
    board: str, tmp_path: Path
) -> None:
    """One Enter, then nobody is asked; broken off, it goes on where it was."""
    later = OnTerminal(tmp_path, "prove", "--port", board)
    for name in ("build", "season", "by-itself"):
        later.until(f"\n{name}: ")
        later.until("leave this round for another day")
        assert " min" in later.shown
        later.type("s")
    later.until("Stand clear")
    assert later.wait() == 0

    one = OnTerminal(tmp_path, "prove", "--port", board, "--round", "by-itself")
    one.until("leave this round for another day")
    assert re.search(r"by-itself +due +\d+ min +with every firmware: never proved", one.shown)
    one.type("")
    one.until("[over-voltage]")
    assert "Press Enter when it is so" not in one.shown
    os.killpg(one.process.pid, signal.SIGINT)
    assert one.wait() == 130

    again = OnTerminal(tmp_path, "prove", "--port", board, "--round", "by-itself")
    again.until("leave this round for another day")
    assert "1 step passed" in again.shown
    assert re.search(r"by-itself: 11 steps, about \d+ min", again.shown)
    again.type("s")
    again.until("Stand clear")
    assert again.wait() == 0
