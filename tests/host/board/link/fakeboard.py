"""A board for the tests of the desktop's side: the firmware's own answers, through a bad cable.

The lines are answered by the device package itself, in this process; the cable between is a
pseudo-terminal, or a socket, on which bytes are lost, changed, delayed or cut in pieces.
"""

import os
import pty
import random
import select
import socket
import threading
import tty
from collections.abc import Callable, Iterable, Iterator
from types import TracebackType

from keeper import lines
from keeper.crc import sealed
from keeper.records import BOOT, DAY, MINUTE, SECOND, SEQ, TRUST
from tests.device.line import Line, Part

BANNER = b"\r\nMPY: soft reboot\r\nMicroPython v1.29; some board\r\n>>> "

Cable = Callable[[bytes], Iterable[bytes]]
"""What becomes of one answer: the pieces that arrive of it."""


def whole(answer: bytes) -> Iterator[bytes]:
    yield answer


def drip(answer: bytes) -> Iterator[bytes]:
    """One byte at a time."""
    for place in range(len(answer)):
        yield answer[place : place + 1]


class Noisy:
    """Of each thousand bytes some are changed, and some are lost."""

    def __init__(self, per_mille: float, seed: int = 1) -> None:
        self.share = per_mille / 1000.0
        self.chance = random.Random(seed)
        self.hurt = 0

    def __call__(self, answer: bytes) -> Iterator[bytes]:
        come = bytearray()
        for byte in answer:
            if self.chance.random() < self.share:
                self.hurt += 1
                if self.chance.random() < 0.5:
                    continue
                byte ^= 1 << self.chance.randrange(8)
            come.append(byte)
        yield bytes(come)


class Some:
    """Does something to the answers with these numbers, counted from 0."""

    def __init__(self, act: Cable, numbers: Iterable[int]) -> None:
        self.act = act
        self.numbers = set(numbers)
        self.count = 0

    def __call__(self, answer: bytes) -> Iterable[bytes]:
        number = self.count
        self.count += 1
        return self.act(answer) if number in self.numbers else (answer,)


def lost(answer: bytes) -> Iterator[bytes]:
    yield b""


def torn(answer: bytes) -> Iterator[bytes]:
    """Its middle is missing."""
    yield answer[: len(answer) // 3] + answer[len(answer) // 2 :]


def banner(answer: bytes) -> Iterator[bytes]:
    """Something else talks in between."""
    middle = len(answer) // 2
    yield answer[:middle] + BANNER + answer[middle:]


class Late:
    """Each third answer comes together with the next one."""

    def __init__(self) -> None:
        self.held = b""
        self.count = 0

    def __call__(self, answer: bytes) -> Iterator[bytes]:
        self.count += 1
        if self.count % 3 == 0:
            self.held += answer
            return
        come, self.held = self.held + answer, b""
        yield come


class Behind:
    """Answers are so many lines late: one comes for each line from then on."""

    def __init__(self, lines: int) -> None:
        self.lines = lines
        self.held: list[bytes] = []

    def __call__(self, answer: bytes) -> Iterator[bytes]:
        self.held.append(answer)
        if len(self.held) > self.lines:
            yield self.held.pop(0)


def record(seq: int, kind: int = MINUTE, first: int = 0) -> str:
    """A line of the log, a minute after the one before it."""
    row = [0] * 11
    row[SEQ], row[DAY], row[SECOND], row[TRUST] = seq, 20643, 60 * seq, 1
    row[4], row[5] = kind, first
    return str(lines.format_line(row))


class FakeBoard:
    """A board behind a cable; a context manager. ``path`` is what to open."""

    def __init__(self, cable: Cable = whole, records: int = 0, anew: int = 0) -> None:
        self.line = Line()
        self.line.board.relay = Part(level=0, failed=False, timer="hard")
        self.cable = cable
        self.unplug_after = 10**9
        """Answers."""
        self.answers = 0
        for seq in range(records):
            self.add(record(seq, MINUTE if seq else BOOT, anew))
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._live, daemon=True)

    def __enter__(self) -> "FakeBoard":
        self.host, self.port = pty.openpty()
        tty.setraw(self.port)
        self.path = os.ttyname(self.port)
        self._unplugged = False
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stop.set()
        self._thread.join(5.0)
        for end in (self.port,) if self._unplugged else (self.host, self.port):
            os.close(end)

    def add(self, line: str) -> None:
        """Write a line of the log to its flash."""
        self.line.board.log.add(line)
        assert self.line.board.log.flush()

    def add_night(self, run_s: int, given_ml: int) -> None:
        """Write the record that closes a night."""
        seq = self.line.board.log.next_seq
        numbers = f"run_s={run_s} given_ml={given_ml} used_mah=0 left_mah=0"
        self.add(sealed(f"{seq} 2026-07-10 12:00:00 ok night {numbers} nights_tenths=0 rest_mv=0"))

    @property
    def log_lines(self) -> list[str]:
        """What its flash holds."""
        return [str(line) for line in self.line.board.log.lines_from(0, 10**6)]

    def _live(self) -> None:
        while not self._stop.is_set():
            ready, _, _ = select.select([self.host], [], [], 0.02)
            if not ready:
                continue
            for line in os.read(self.host, 4096).splitlines(keepends=True):
                answer = self.line.put(line)
                if answer:
                    self.answers += 1
                    if self.answers > self.unplug_after:
                        os.write(self.host, answer[: len(answer) // 2])
                        os.close(self.host)  # The other end keeps the port's number taken.
                        self._unplugged = True
                        return
                    for piece in self.cable(answer):
                        os.write(self.host, piece)


class SocketBoard:
    """The same behind a socket: ``url`` is what to open."""

    def __init__(self) -> None:
        self.line = Line()
        self.line.board.relay = Part(level=0, failed=False, timer="hard")
        self.server = socket.create_server(("127.0.0.1", 0))
        self.url = f"socket://127.0.0.1:{self.server.getsockname()[1]}"
        threading.Thread(target=self._live, daemon=True).start()

    def _live(self) -> None:
        host, _ = self.server.accept()
        with host:
            while data := host.recv(4096):
                host.sendall(self.line.put(data))
