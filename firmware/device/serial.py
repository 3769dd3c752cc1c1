"""The serial line: bytes in, whole lines to the commands, answers out; nothing ever waits.

Input goes into one buffer of fixed size. A line that is too long, or holds anything but printing
ASCII, is passed over as a whole. Output is written only while the port takes it: a host that
opens the port and does not read delays nothing. A new line ends the answer to the one before.
"""

from keeper.ticks import const

LINE_MAX = 120

_CR, _LF = 13, 10
_BLANK, _TILDE = 32, 126
_READS_AT_ONCE = const(128)
_WRITES_AT_ONCE = const(64)
ATTACHED_MS = 60000
"""A host counts as attached this long after its last byte."""


class SerialLine:
    """One port. ``answer`` gives an iterator of text lines for a line received."""

    def __init__(self, receive, send, poll, answer, write_bytes: int) -> None:
        """``receive`` and ``send``: the two streams; ``poll``: a Poll over them."""
        self._receive = receive
        self._send = send
        self._poll = poll
        self._answer = answer
        self._write_bytes = write_bytes
        self._buffer = bytearray(LINE_MAX)
        self._length = 0
        self._noise = False
        self._lines = iter("")
        self.busy = False
        """Whether an answer is not all sent."""
        self._out = b""
        self._sent = 0
        self.passed_over = 0
        """Lines that were too long, or noise."""
        self.heard = False
        """Whether a byte has come since this was last put back to False."""

    def attend(self) -> bool:
        """Take what has come, up to a line; give what the port takes, of a line at most.

        So one call is short, whatever the host does. True where anything moved.
        """
        moved = False
        for _ in range(_READS_AT_ONCE):
            if not self._poll.readable():
                break
            byte = self._receive.read(1)
            if not byte:
                break
            moved = True
            if self._take(byte[0]):
                break
        if self.busy and not self._out:
            self.busy = self._next_line()
            moved = True
        for _ in range(_WRITES_AT_ONCE):
            if not self._out or not self._poll.writable() or not self._give():
                break
            moved = True
        return moved

    def _take(self, byte: int) -> bool:
        """Put a byte where it belongs; True when a line was whole."""
        self.heard = True
        if byte == _LF or byte == _CR:
            length = self._length
            noise = self._noise
            self._length = 0
            self._noise = False
            if noise:
                self.passed_over += 1
            elif length:
                # What is cut off in the middle gets its line end; the mark shows it torn.
                self._out = b"\r\n" if self._out else b""
                self._sent = 0
                self.busy = True
                self._lines = self._answer(self._buffer[:length].decode())
                return True
        elif not _BLANK <= byte <= _TILDE or self._length == LINE_MAX:
            self._noise = True
        else:
            self._buffer[self._length] = byte
            self._length += 1
        return False

    def _give(self) -> bool:
        """Write the next few bytes of the line; False where the port took none."""
        end = min(self._sent + self._write_bytes, len(self._out))
        wrote = self._send.write(self._out[self._sent : end])
        self._sent += wrote or 0
        if self._sent >= len(self._out):
            self._out = b""
        return bool(wrote)

    def _next_line(self) -> bool:
        for line in self._lines:
            self._out = (line + "\r\n").encode()
            self._sent = 0
            return True
        return False


class Poll:
    """Whether the two streams of the port can be read and written without waiting."""

    def __init__(self, select, receive, send) -> None:
        self._in = select.poll()
        self._in.register(receive, select.POLLIN)
        self._out = select.poll()
        self._out.register(send, select.POLLOUT)

    def readable(self) -> bool:
        """A byte can be read at once."""
        for _ in self._in.ipoll(0):
            return True
        return False

    def writable(self) -> bool:
        """A byte can be written at once."""
        for _ in self._out.ipoll(0):
            return True
        return False
