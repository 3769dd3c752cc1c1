"""A virtual board on the desk: its inputs are set by hand, its serial line is a terminal."""

import os
import pty
import select
import tty
from pathlib import Path
from types import TracebackType

from keeper import crc
from keeper.relay import BOTH, FIRST
from rillsim.boards.virtualboard import VirtualBoard
from tests.interpreters import rigs
from tests.patience import CEILING_S

NOON = (20643, 43200)
QUIET = [2790, 410, 0, 0, 900, 5]
"""A charged battery, no pressure, nothing closed, a mild day: counts of the walks' settings."""
_MOMENT_S = 0.002
"""A terminal takes a moment to hand bytes over."""


class Desk:
    """One board; ``ticks`` lets time pass, ``say`` talks to it."""

    def __init__(
        self,
        micropython: Path,
        folder: Path,
        settings: dict[str, int] | None,
        usb: bool = True,
        chip: bool = True,
        firmware: Path = rigs.FIRMWARE,
    ) -> None:
        self.host, self.port = pty.openpty()
        tty.setraw(self.port)
        os.set_blocking(self.host, False)
        self.board = VirtualBoard(
            micropython, firmware, folder, settings, serial=self.port, clock_chip=chip
        )
        self.board.usb_power = usb
        self.counts = list(QUIET)
        self.n = 0
        self.level = 0
        self.whole = BOTH if settings and settings.get("second_relay_fitted") else FIRST
        self.stuck = 0
        """Bits of the relays that stay closed."""
        self.pressure_n = 0
        """What the transducer shows while the pump runs, where that is not as usual."""
        self.heard = b""
        self._day, self._second = NOON

    def __enter__(self) -> "Desk":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.board.__exit__(kind, error, trace)
        os.close(self.host)
        os.close(self.port)

    def ticks(self, number: int) -> list[int]:
        """Let ticks pass; returns the levels of the relay pin."""
        levels = []
        for _ in range(number):
            days, second = divmod(self._second + self.n // 10, 86400)
            self._pump()
            self.level = self.board.step(self.n, (self._day + days, second, True), self.counts)
            if self.board.clock_set is not None:
                self._day, second = self.board.clock_set
                self._second = second - self.n // 10
            levels.append(self.level)
            self.n += 1
            self._read()
        return levels

    def _pump(self) -> None:
        """The pump follows the relay: it sags, makes pressure and shows on the load side."""
        on = int(self.level | self.stuck == self.whole)
        self.counts[0] = 2720 if on else QUIET[0]
        self.counts[1] = (self.pressure_n or 1000) + self.n % 5 if on else QUIET[1]
        self.counts[2] = on
        self.counts[5] = 600 + self.n % 3 if on else QUIET[5]

    def put(self, data: bytes) -> None:
        """Send bytes as they are; returns when the board can read them."""
        os.write(self.host, data)
        assert select.select([self.port], [], [], CEILING_S)[0]

    def say(self, text: str, ticks: int = 1000) -> list[str]:
        """Send a line; returns the answer, without marks."""
        self._read()
        self.heard = b""
        self.put(text.encode() + b"\n")
        for _ in range(ticks):
            self.ticks(1)
            self.listen()
            lines = self.heard.decode().split("\r\n")
            if len(lines) > 1 and lines[-2].startswith(("ok", "no")):
                return [crc.unsealed(line) or line for line in lines[:-1]]
        raise AssertionError(f"no answer to {text!r}: {self.heard!r}")

    def asked_to_send(self, change: str) -> str:
        """The line that makes a change, as the board wants it."""
        return str(crc.sealed(self.say(f"seal {change}")[0]))

    def make(self, change: str) -> str:
        """Make a change; returns the answer."""
        return self.say(self.asked_to_send(change))[0]

    def fresh(self) -> int:
        """The number that the next change needs."""
        return int(self.say("fresh")[-1].partition("=")[2])

    def status(self) -> dict[str, str]:
        """The words of its status."""
        words = " ".join(self.say("status")).split(" ")
        return dict(word.split("=", 1) for word in words if "=" in word)

    def listen(self) -> None:
        """Take what the board has just said."""
        select.select([self.host], [], [], _MOMENT_S)
        self._read()

    def _read(self) -> None:
        try:
            self.heard += os.read(self.host, 65536)
        except BlockingIOError:
            pass
