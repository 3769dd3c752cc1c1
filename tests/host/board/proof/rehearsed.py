"""A proof rehearsed at a desk by somebody who has nothing but the commands.

Reads `rillkeeper prove` on a terminal, does by `rillkeeper hand` what it says for a virtual board,
looks where it asks what is seen, and types the answers.
"""

import os
import re
import select
import subprocess
import sys
from pathlib import Path

from click.testing import CliRunner

from rillkeeper.cli import cli
from tests.host.board.proof.on_terminal import ENVIRONMENT, OnTerminal
from tests.patience import CEILING_S

HAND = re.compile(r"Virtual board: rillkeeper hand ([^\r\n]*)\r?\n")
NOT_FITTED = "is fitted there; leave the step out"
NO_PART = "none is fitted"
SPEED = 30
"""Faster than a person, and slow enough for hands that come over a second process."""
ENTER = ("to leave this round for another day: ", "Then press Enter: ")
BEGIN = "or s to leave this step out: "
METER = {"(X1.2 and X2.1): ": "What does the meter show?", "pump's plug: ": "with its sign?"}


class Rehearsal:
    """One command on its terminal, and who answers it."""

    def __init__(self, data: Path, *words: str) -> None:
        os.environ["XDG_DATA_HOME"] = str(data)
        self.status = -1
        self.told = ""
        """All that was shown."""
        self.done: list[str] = []
        """What hands were told to do."""
        self._seen = ""
        self._new = ""
        self._terminal = OnTerminal(data, "prove", *words)

    def walk(self) -> int:
        """To the end; its status."""
        while self._read():
            while found := HAND.search(self._new):
                self._new = self._new[found.end() :]
                self._hand(found[1])
            answer = self._answer()
            if answer is not None:
                self._terminal.type(answer)
                self._new = ""
        return self._terminal.wait()

    def _read(self) -> bool:
        end = self._terminal.end
        assert select.select([end], [], [], CEILING_S)[0], self.told[-2000:]
        try:
            more = os.read(end, 65536).decode(errors="replace")
        except OSError:  # It has ended.
            return False
        self.told += more
        self._new += more
        return bool(more)

    def _hand(self, words: str) -> None:
        self.done.append(words)
        result = CliRunner().invoke(cli, ["hand", *words.split()], prog_name="rillkeeper")
        assert result.exit_code == 0, (words, result.output)
        if words == "--look":
            self._seen = result.stdout

    def _answer(self) -> str | None:
        new = self._new
        if new.endswith(BEGIN):
            return "s" if NOT_FITTED in self.told.rpartition("], about ")[2] else ""
        if new.endswith(ENTER):
            return ""
        if new.endswith("Why (it is recorded as not proved): "):
            return NO_PART
        if new.endswith("[y/N]: "):
            return self._yes_or_no(new)
        if not new.endswith(": "):
            return None
        for place, question in METER.items():
            if question in new or (question in METER["(X1.2 and X2.1): "] and "pump on?" in new):
                return self._read_off(place)
        if "a known pressure" in new:
            return "4 m"
        if "main fuse" in new or "shopping list" in new:
            return self._read_off("Main fuse: ")
        if "Who proved it" in new:
            return "the tester"
        return "s" if "to sign it as it is" in new else None

    def _yes_or_no(self, question: str) -> str:
        """What eye and ear tell."""
        seen = self._seen
        if "Try this step again" in question:
            return "n"
        if "Then write" in question:
            return "y"
        if "dark" in question or "show nothing" in question:
            return "y" if "there is dark" in seen else "n"
        if "load side show" in question:
            return "y" if "there is lit" in seen else "n"
        if "relay click?" in question:
            return "y" if "the relay clicks and is closed" in seen else "n"
        if "stop at once" in question:
            return "y" if "Pump: stands" in seen and "falls silent" in seen else "n"
        if "fall silent" in question:
            return "y" if "the pressure switch at the pump opens" in seen else "n"
        return "y" if "all as cold as the cable" in seen else "n"

    def _read_off(self, place: str) -> str:
        return self._seen.partition(place)[2].partition(" ")[0]


def rehearse(data: Path, name: str, speed: int) -> Rehearsal:
    """Walk a round to its end against a virtual board of the demonstration site."""
    board = subprocess.Popen(
        [sys.executable, "-m", "rillkeeper", "board", "--speed", str(speed)],
        env={**ENVIRONMENT, "XDG_DATA_HOME": str(data)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )
    assert board.stdout is not None
    try:
        assert board.stdout.readline().strip()
        walked = Rehearsal(data, "--round", name)
        walked.status = walked.walk()
    finally:
        board.terminate()
        board.wait()
        board.stdout.close()
    return walked


def failures_of(data: Path, name: str) -> list[str]:
    """What went wrong with a round, in a line each."""
    walked = rehearse(data, name, SPEED)
    wrong = [
        line
        for line in walked.told.splitlines()
        if line.startswith(("failed", "not proved")) and NO_PART not in line
    ]
    if walked.status or f"{name}: proved" not in walked.told:
        wrong.append(f"it ended with status {walked.status}")
    return wrong
