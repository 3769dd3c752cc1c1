"""A run on a flash whose every write stalls the loop: how late a tick and a trip come."""

from device import board
from keeper import lines
from keeper.checked import Settings
from keeper.records import FIELDS_MAX, MINUTE
from tests.power.ramboard import (
    EVENING_S,
    SETTINGS,
    TICK_MS,
    MemoryFile,
    MemoryFlash,
    RamBoard,
    Site,
    new_flash,
    no_port,
)

STALL_MS = 112
"""The worst flush of a log on an emulated RP2040."""
TICK_MS_MAX = TICK_MS + STALL_MS
"""From tick to tick while pumping, at the most. A stall begins right after a tick, so that most of
it falls into the pause before the next."""

_LIMITS = Settings(SETTINGS)
HOLDS_MS = {
    "high pressure": _LIMITS.rating_hold_ms,
    "dead head": _LIMITS.dead_head_hold_ms,
    "brown-out": _LIMITS.floor_hold_ms,
}
_PAGES = 4
_LINES = 125
"""As many lines fill them but for some minutes of a run."""


class StallingFlash(MemoryFlash):
    """Each change of a file takes its time, which ``take_ms`` gives and forgets."""

    def __init__(self, files: dict[str, bytes]) -> None:
        super().__init__(files)
        self._stalled_ms = 0
        self.changes = 0

    def open(self, path: str, mode: str) -> MemoryFile:
        if mode != "rb":
            self._stall()
        return super().open(path, mode)

    def remove(self, path: str) -> None:
        self._stall()
        super().remove(path)

    def take_ms(self) -> int:
        stalled_ms, self._stalled_ms = self._stalled_ms, 0
        return stalled_ms

    def _stall(self) -> None:
        self._stalled_ms += STALL_MS
        self.changes += 1


class SlowBoard(RamBoard):
    """A board on such a flash, with a log that is all but full."""

    def __init__(self) -> None:
        super().__init__(new_flash(), EVENING_S * 1000 - 2000, Site())
        self.flash = StallingFlash(self.files)
        self.board.files = self.flash
        self.board.log = log = board.FlashLog(self.flash, pages_max=_PAGES)
        for seq in range(_LINES):
            row = [seq, 20643, EVENING_S, 1, MINUTE] + [180000 + seq] * FIELDS_MAX
            log.add(lines.format_line(row))
            log.flush()
        self.keeper.journal.seq = _LINES
        self.board._memory_slots._files = self.flash
        self.due_ms = self.at_ms
        self.flash.take_ms()

    def settle(self) -> None:
        """As the loop waits: a tick that is late is followed by one in time."""
        self.board.look_after()
        stalled_ms = self.flash.take_ms()
        self.due_ms += max(self.board._nap_ms(), TICK_MS)
        self.at_ms = max(self.due_ms, self.at_ms + stalled_ms)


def slowest_ms(seconds: int) -> tuple[int, int, int]:
    """Pump so long: (the longest from tick to tick, changes of files, pages given up)."""
    with no_port():
        ram = SlowBoard()
        while not ram.tick():
            ram.settle()
        begun = ram.flash.changes
        for _ in range(seconds * 10):
            ram.settle()
            ram.tick()
        oldest = ram.board.log.oldest
        return ram.board.slow_ms, ram.flash.changes - begun, oldest


def trips_ms(fault: str, seconds: range) -> list[int]:
    """How long after the reading changed the relay opened, for faults that begin then."""
    found = []
    with no_port():
        ram = SlowBoard()
        while not ram.tick():
            ram.settle()
        begun_ms = ram.at_ms
        del ram
        for second in seconds:
            for tenth in range(0, 10, 3):
                found.append(_trip_ms(fault, begun_ms + second * 1000 + tenth * 100))
    return found


def _trip_ms(fault: str, from_ms: int) -> int:
    ram = SlowBoard()
    while ram.at_ms < from_ms:
        ram.tick()
        ram.settle()
    ram.site.fault = fault
    while ram.tick():
        ram.settle()
    return ram.at_ms - from_ms
