"""A virtual board with a prompt, as a board on a cable has one, and a record of its flash.

The interpreter runs the firmware from a flash image, and stays at its prompt when that ends. The
plant is a simple one: pressure, sag and current follow the relay; time passes as fast as asked.
"""

import fcntl
import os
import pty
import select
import struct
import subprocess
import termios
import threading
import time
import tty
from pathlib import Path

from rillsim.boards.virtualboard import (
    AT_PROMPT,
    INPUTS,
    LOAD_ON,
    OUTPUTS,
    RESET,
    USB_POWER,
)
from tests.interpreters import rigs

SCRIPT = rigs.SCRIPTS / "prompt_board.py"
NOON = (20643, 43200)
QUIET = (2790, 410, 900, 5)
PUMPING = (2720, 1000, 900, 600)
"""Counts of battery, pressure, frost and current."""
SOFT_RESET = b"OK\r\nMPY: soft reboot\r\n"
MOUNTED = 0xFFFFFFFD
"""What prompt_board.py sends in place of a sleep once the flash is mounted."""
NUMBER = "0102030405060708"
"""The board's own."""
_SLICE_S = 0.02


class PromptBoard:
    """One board; runs in a thread of its own from `start` until `stop`."""

    def __init__(self, micropython: Path, folder: Path, speed: float = 20.0) -> None:
        self.image = folder / "flash.img"
        self.journal = folder / "journal"
        self.journal.touch()
        self.second = NOON[1]
        self.relay = 0
        self.relay_was_closed = False
        self.awake_ms = 0
        """What the firmware has let pass, since the board was made."""
        self.at_prompt = False
        self.starts = 0
        self.write_error = 0
        """What the flash answers to each write; 0: it writes. Counts from the next start on."""
        self._micropython = micropython
        self._speed = speed
        self._host, self._host_end = pty.openpty()
        self._board, self._board_end = pty.openpty()
        for end in (self._host_end, self._board_end):
            tty.setraw(end)
        self.path = os.ttyname(self._host_end)
        self._cooked = termios.tcgetattr(self._board_end)
        # While code runs Ctrl-C is a signal; the prompt takes it as a byte.
        self._cooked[3] |= termios.ISIG
        self._cooked[6][termios.VINTR] = b"\x03"
        self._raw = False
        self._up = False
        """Whether its flash is mounted: what is said before that waits in the line.

        A chip has no port before; here a Ctrl-C would end the script that mounts it.
        """
        self._pulled = False
        self._over = threading.Event()
        self._process: subprocess.Popen[bytes] | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        if not self.image.exists():
            self._make()

    def __enter__(self) -> "PromptBoard":
        self._start(True)
        self._thread.start()
        return self

    def __exit__(self, *error: object) -> None:
        self._over.set()
        self._thread.join()
        self._kill()
        still = () if self._pulled else (self._host,)
        for end in (*still, self._host_end, self._board, self._board_end):
            os.close(end)

    def _make(self) -> None:
        code = "import sys; from virtual import flash; flash.make(sys.argv[1])"
        script = self.image.with_suffix(".py")
        script.write_text(code)
        subprocess.run(
            [self._micropython, script, self.image], env=self._environment(), check=True
        )

    def _environment(self) -> dict[str, str]:
        return {**os.environ, "MICROPYPATH": str(rigs.FIRMWARE)}

    def _start(self, runs_main: bool) -> None:
        self.starts += 1
        self._up = False
        termios.tcsetattr(self._board_end, termios.TCSANOW, self._cooked)
        child_in, self._to_board = os.pipe()
        self._from_board, child_out = os.pipe()
        self._process = subprocess.Popen(
            [self._micropython, "-X", "heapsize=4M", "-i", SCRIPT]
            + [str(self.journal), str(self.write_error), self.image]
            + [str(child_in), str(child_out), "1", NUMBER, str(int(runs_main))],
            env=self._environment(),
            stdin=self._board_end,
            stdout=self._board_end,
            stderr=self._board_end,
            pass_fds=(child_in, child_out),
            start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
        )
        os.close(child_in)
        os.close(child_out)
        self._ms = 0
        self._due_s = time.monotonic()
        self._send()

    def _send(self) -> None:
        day = NOON[0]
        battery, pressure, frost, current = PUMPING if self.relay else QUIET
        pressure += self._ms // 100 % 5 if self.relay else 0
        pins = USB_POWER + (LOAD_ON if self.relay else 0)
        second = self.second + self._ms // 1000
        counts = (battery, pressure, frost, current)
        word = INPUTS.pack(self._ms, day, second, 1, pins, *counts, 0)
        try:
            os.write(self._to_board, word)
        except BrokenPipeError:
            pass

    def _kill(self) -> None:
        if self._process:
            self._process.kill()
            self._process.wait()
            os.close(self._to_board)
            os.close(self._from_board)
            self._process = None

    def power_cycle(self) -> None:
        """The supply goes and comes; from another thread than the board's."""
        assert self._process is not None
        self._raw = False
        self._process.kill()
        self._process.wait()

    def pull(self) -> None:
        """The cable is pulled: whoever has the port open finds it gone.

        Its other end stays open, so that the kernel does not give its number, and with it the
        path, to the board of a test that runs beside this one.
        """
        self._over.set()
        self._thread.join()
        os.close(self._host)
        self._pulled = True

    def _run(self) -> None:
        tail = b""
        waiting = False
        while not self._over.is_set():
            ends = [self._board] + ([self._host] if self._up else [])
            ends += [] if waiting else [self._from_board]
            readable, _, _ = select.select(ends, [], [], _SLICE_S)
            try:
                if self._host in readable:
                    data = os.read(self._host, 4096)
                    if data.endswith(b"\x02"):
                        self._raw = False
                    os.write(self._board, data)
                if self._board in readable:
                    data = os.read(self._board, 4096)
                    tail = (tail + data)[-64:]
                    if b"raw REPL; CTRL-B" in tail:
                        self._raw, tail = True, b""
                    os.write(self._host, data)
            except OSError:  # Nobody holds that end just now.
                pass
            if self._from_board in readable:
                answer = os.read(self._from_board, OUTPUTS.size)
                if len(answer) == OUTPUTS.size:
                    level, sleep_ms, _, _ = OUTPUTS.unpack(answer)
                    self._up = True
                    self.relay = level & 1
                    self.relay_was_closed = self.relay_was_closed or self.relay == 1
                    self.at_prompt = sleep_ms == AT_PROMPT
                    if sleep_ms == RESET:
                        self.power_cycle()
                    elif not self.at_prompt and sleep_ms != MOUNTED:
                        self._ms += sleep_ms
                        self.awake_ms += sleep_ms
                        self._due_s += sleep_ms / 1000 / self._speed
                        waiting = True
            if waiting and time.monotonic() >= self._due_s:
                self._due_s = max(self._due_s, time.monotonic() - 0.1)
                self._send()
                waiting = False
            assert self._process is not None
            if self._process.poll() is not None:
                self._ended()
                waiting = False

    def _ended(self) -> None:
        """A reset by itself or from outside, or a soft reset, which the raw prompt survives."""
        assert self._process is not None
        soft = self._process.returncode == 0
        raw = self._raw and soft
        self._kill()
        self._raw = False
        if soft:
            os.write(self._host, SOFT_RESET)
        self._start(not raw)
        if raw:
            os.write(self._board, b"\x01")


def operations(journal: bytes) -> list[tuple[bool, int, bytes]]:
    """What the flash was told: whether it programs, where, what."""
    found = []
    at = 0
    while at < len(journal):
        programs, place, length = struct.unpack_from("<BII", journal, at)
        at += 9
        found.append((bool(programs), place, journal[at : at + length] or b"\xff" * 4096))
        at += length
    return found
