"""A serial line without a board: bytes go in, what was answered and asked for comes out."""

from typing import Any

from device import store
from device.commands import Commands
from device.flashlog import FlashLog
from device.serial import SerialLine
from device.trial import Trial
from keeper import Keeper, Settings
from keeper.hand import BATTERY
from tests.interpreters.board import BOARD
from tests.power.recordedflash import Flash, empty_image


class Receive:
    def __init__(self) -> None:
        self.data = b""
        self.at = 0

    def read(self, size: int) -> bytes:
        piece = self.data[self.at : self.at + size]
        self.at += len(piece)
        return piece


class Send:
    """Takes all, or, when ``room`` is given, only so much."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.room: int | None = None

    def write(self, data: bytes) -> int:
        self.data += data
        return len(data)


class Part:
    """Something with the attributes that are asked for."""

    def __init__(self, **attributes: Any) -> None:
        self.__dict__.update(attributes)


class Line:
    """The line, with a board behind it that only notes what it is told."""

    def __init__(self, write_bytes: int = 64) -> None:
        self.receive = Receive()
        self.send = Send()
        self.flash = Flash(empty_image())
        self.keeper = Keeper(Settings(BOARD))
        self.asked: list[tuple[int, int]] = []
        self.keeper.facts.clock_bad = 0
        self.full = False
        self.keeper.busy = lambda: self.full
        self.keeper.command = self._command
        self.restarts: list[bool] = []
        self.applied = 0
        self.clock_set: list[tuple[int, ...]] = []
        self.pumping = False
        self.board = Part(
            keeper=self.keeper,
            relay=Part(level=0, failed=False, timer="hard"),
            trouble="",
            inputs=Part(load_on=0, contacts=0),
            log=FlashLog(self.flash),
            settings_slots=store.TwoSlots(self.flash, "settings"),
            machine=Part(unique_id=lambda: b"\x01\xab"),
            files=self.flash,
            trial=Trial(),
            clock=Part(
                day=20643, second=81000, ok=1, name="chip", set=lambda *a: self.clock_set.append(a)
            ),
            slow_ms=0,
            pumping_soon=lambda: self.pumping,
            restart=self._restart,
            apply=self._apply,
        )
        self.commands = Commands(self.board)
        self.commands._fresh = 417  # A board draws its first number.
        self.serial = SerialLine(self.receive, self.send, self, self.commands.answer, write_bytes)
        self.board.serial = self.serial

    def readable(self) -> bool:
        return self.receive.at < len(self.receive.data)

    def writable(self) -> bool:
        return self.send.room is None or len(self.send.data) < self.send.room

    def _command(self, code: int, value: int) -> bool:
        if not self.full:
            self.asked.append((code, value))
            if code == BATTERY:
                self.keeper.facts.left_mah = value or self.keeper.settings.capacity_mah
        return not self.full

    def _restart(self, service: bool) -> bool:
        self.restarts.append(service)
        return True

    def _apply(self) -> None:
        self.applied += 1

    def put(self, data: bytes) -> bytes:
        """Send bytes; returns what was answered."""
        self.receive.data = data
        self.receive.at = 0
        self.send.data.clear()
        while self.serial.attend():
            pass
        return bytes(self.send.data)

    def say(self, text: str) -> list[str]:
        """Send a line; returns the lines of the answer."""
        return self.put(text.encode() + b"\n").decode().splitlines()

    def sealed(self, change: str) -> str:
        """The change as it must be sent."""
        return self.say("seal " + change)[0]

    def make(self, change: str) -> str:
        """Make a change; returns the one line of the answer."""
        return self.say(self.sealed(change))[0]

    def state(self) -> tuple[Any, ...]:
        """All that a change could have touched."""
        return (
            list(self.asked),
            list(self.restarts),
            self.applied,
            list(self.clock_set),
            self.commands._staged.copy(),
            len(self.flash.recorder.operations),
        )
