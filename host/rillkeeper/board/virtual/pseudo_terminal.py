"""A pseudo-terminal whose other end is a virtual board's serial line.

Two pairs are joined, so that any program may open and close the one without the board's
noticing, and so that it is seen when somebody talks. While the firmware runs Ctrl-C interrupts
it; at the prompt it is a byte like others, and whether a program talks there in the raw manner
of MicroPython's prompt is read off what passes.
"""

import os
import pty
import select
import termios
import tty
from time import monotonic
from types import TracebackType

ATTACHED_S = 10.0
"""A host counts as attached for so long after its last byte."""
ROOM_BYTES = 4096
"""What is held for an end that does not read; the board's own port then fills, as a cable's."""


CTRL_A, CTRL_B, CTRL_C = b"\x01", b"\x02", b"\x03"
_RAW = b"raw REPL; CTRL-B"
_SOFT = b"MPY: soft reboot\r\n"
"""What MicroPython says when the raw prompt begins, and when a board starts softly."""
_LOCAL, _CHARACTERS = 3, 6
"""Places in what termios says of a terminal."""


class Terminal:
    """Both pairs; a context manager."""

    def __init__(self) -> None:
        self._host, self._host_end = pty.openpty()
        self._board, self.board_end = pty.openpty()
        self.path = os.ttyname(self._host_end)
        """What other programs open."""
        for end in (self._host_end, self.board_end):
            tty.setraw(end)
        for end in (self._host, self._board):
            os.set_blocking(end, False)
        self._running = termios.tcgetattr(self.board_end)
        self._running[_LOCAL] |= termios.ISIG
        self._running[_CHARACTERS][termios.VINTR] = CTRL_C
        termios.tcsetattr(self.board_end, termios.TCSANOW, self._running)
        self.raw = False
        """Whether a program talks to the prompt in the raw manner."""
        self._to_board = b""
        self._to_host = b""
        self._said = b""
        self._heard_s = -ATTACHED_S

    def __enter__(self) -> "Terminal":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for end in (self._host, self._host_end, self._board, self.board_end):
            os.close(end)

    @property
    def attached(self) -> bool:
        """Whether somebody has talked just now."""
        return monotonic() - self._heard_s < ATTACHED_S

    def begin(self, soft: bool) -> None:
        """The board starts again; after a soft start the raw prompt goes on."""
        termios.tcsetattr(self.board_end, termios.TCSANOW, self._running)
        if soft:
            self._to_host += _SOFT
        if soft and self.raw:
            self._to_board += CTRL_A
        self.raw = False

    def lose(self) -> None:
        """The board has no power: what was said to it is lost."""
        self._to_board = b""
        termios.tcflush(self.board_end, termios.TCIFLUSH)

    def carry(self, timeout_s: float) -> bool:
        """Carry bytes both ways, waiting so long at most; True where any came from the host."""
        reads = [self._host] if len(self._to_board) < ROOM_BYTES else []
        reads += [self._board] if len(self._to_host) < ROOM_BYTES else []
        writes = [self._board] if self._to_board else []
        writes += [self._host] if self._to_host else []
        readable, writable, _ = select.select(reads, writes, [], timeout_s)
        if self._host in readable:
            typed = os.read(self._host, ROOM_BYTES)
            self._to_board += typed
            self._heard_s = monotonic()
            self.raw = self.raw and not typed.endswith(CTRL_B)
        if self._board in readable:
            said = os.read(self._board, ROOM_BYTES)
            self._to_host += said
            self._said = (self._said + said)[-2 * len(_RAW) :]
            if _RAW in self._said:
                self.raw, self._said = True, b""
        if self._to_board:
            self._to_board = _rest(self._board, self._to_board)
        if self._to_host:
            self._to_host = _rest(self._host, self._to_host)
        return self._host in readable


def _rest(end: int, data: bytes) -> bytes:
    """Write what goes; returns what does not."""
    try:
        return data[os.write(end, data) :]
    except BlockingIOError:
        return data
