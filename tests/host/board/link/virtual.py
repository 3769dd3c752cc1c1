"""`rillkeeper board` in a process of its own, and the commands that talk to it."""

import json
import os
import select
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from rillkeeper.cli import cli
from tests.patience import CEILING_S

ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join(path for path in sys.path if path),
}


class Running:
    """`rillkeeper board` in a process of its own."""

    def __init__(self, data: Path, *words: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "rillkeeper", "board", *words],
            env={**ENVIRONMENT, "XDG_DATA_HOME": str(data)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        assert self.process.stdout is not None
        ready, _, _ = select.select([self.process.stdout], [], [], CEILING_S)
        assert ready, "no path was printed"
        self.path = self.process.stdout.readline().strip()
        """Printed when the board answers there."""
        assert self.path, f"it ended before it answered: {self.end()}"
        self._number = os.open(self.path, os.O_RDWR | os.O_NOCTTY)
        """As long as one end is open the kernel gives the number of a pseudo-terminal to nobody
        else. Otherwise a command to a board that has ended could reach the board of a test that
        runs beside this one, which then finds its port busy."""

    def end(self, number: int = signal.SIGINT) -> tuple[int, str]:
        """Ctrl-C, as a terminal sends it: to all of its processes."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, number)
        _, said = self.process.communicate(timeout=CEILING_S)
        return self.process.returncode, said

    def close(self) -> None:
        """End it, whatever state it is in, and give its port's number back."""
        self.end(signal.SIGKILL)
        os.close(self._number)


def say(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def state() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(say("status", "--json").stdout)
    return found
