"""A command in a terminal of its own, which a test reads and types at."""

import fcntl
import os
import pty
import select
import subprocess
import sys
import termios
from pathlib import Path

from tests.patience import CEILING_S

ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join(path for path in sys.path if path),
    "NO_COLOR": "1",
    "TERM": "dumb",
    "COLUMNS": "140",
}


def _take_terminal() -> None:
    """Its standard input is the terminal that the new session belongs to."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


class OnTerminal:
    """A command in a terminal of its own."""

    def __init__(self, data: Path, *words: str) -> None:
        self.end, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "rillkeeper", *words],
            env={**ENVIRONMENT, "XDG_DATA_HOME": str(data)},
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            preexec_fn=_take_terminal,
        )
        os.close(theirs)
        self.shown = ""

    def until(self, text: str) -> None:
        """Read until this is shown."""
        while text not in self.shown:
            assert select.select([self.end], [], [], CEILING_S)[0], self.shown
            try:
                self.shown += os.read(self.end, 65536).decode(errors="replace")
            except OSError:  # It has ended.
                assert text in self.shown, self.shown
                return

    def type(self, text: str) -> None:
        self.shown = ""
        os.write(self.end, text.encode() + b"\n")

    def type_key(self, key: str) -> None:
        """One key, without Enter."""
        os.write(self.end, key.encode())

    def wait(self) -> int:
        """Its status."""
        while select.select([self.end], [], [], 0.2)[0] or self.process.poll() is None:
            try:
                self.shown += os.read(self.end, 65536).decode(errors="replace")
            except OSError:
                break
        status = self.process.wait(timeout=CEILING_S)
        os.close(self.end)
        return status
