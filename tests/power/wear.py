"""How often each block of a board's flash is erased: the board's own loop on a real littlefs.

The flash is as large as a board's and holds the firmware. Each night has its set, and the loop
writes what it writes: log, memory, pages that give way.
"""

from dataclasses import dataclass

from device import board, output, pins
from tests.interpreters import rigs
from tests.power.ramboard import (
    EVENING_S,
    SET_S,
    TICK_MS,
    Dog,
    Site,
    Ticks,
    new_flash,
    no_port,
)
from tests.power.recordedflash import Flash
from virtual import chips

BLOCKS = 352
"""What the stock firmware leaves for files on a flash chip of 2 MB (firmware/virtual/flash.py)."""
RATED_ERASES = 100_000
"""W25Q16JV data sheet, section 1 (from memory)."""
NIGHTS = 3652
"""Ten years, each night with a set."""
DAY_MS = 86_400_000
PAGES_MAX = 8
"""A log that is soon full, so that its pages give way as they will for years."""


@dataclass(frozen=True)
class Wear:
    """Erases over some nights."""

    nights: int
    total: int
    worst: int
    records: int

    @property
    def worst_in_ten_years(self) -> int:
        """Of the most worn block."""
        return self.worst * NIGHTS // self.nights


def measure(nights: int, before: int = 2) -> Wear:
    """Let the board live so many nights, after some in which its flash settles."""
    flash = Flash(blocks=BLOCKS)
    _copy_firmware(flash)
    chips.LINK.relay = 0
    with no_port():
        row = dict(pins.TABLE["linux"])
        relay = output.relays(chips, row)
        site = Site()
        at_ms = EVENING_S * 1000 - SET_S * 1000
        site.show(at_ms)
        made = board.Board(chips, Ticks, row, relay, flash, "")
        made.log._pages_max = PAGES_MAX
        made.dog.arm()
        erases: list[int] = []
        for night in range(before + nights):
            if night == before:
                erases = list(flash.recorder.erases)
                first_seq = made.log.next_seq
            end_ms = at_ms + DAY_MS
            while at_ms < end_ms:
                site.show(at_ms)
                made.clock.read()
                made.tick()
                made.look_after()
                at_ms += max(made._nap_ms(), TICK_MS)
            flash.recorder.operations.clear()
    worn = [after - was for after, was in zip(flash.recorder.erases, erases, strict=True)]
    assert Dog.fed_ms
    return Wear(nights, sum(worn), max(worn), made.log.next_seq - first_seq)


def _copy_firmware(flash: Flash) -> None:
    """The firmware's own files take their blocks; then settings and list."""
    for source in sorted(rigs.FIRMWARE.glob("[kd]*/*.py")):
        folder = source.parent.name
        flash.make_folder(folder)
        with flash.open(f"{folder}/{source.name}", "wb") as file:
            file.write(source.read_bytes())
    for path, data in new_flash().items():
        with flash.open(path, "wb") as file:
            file.write(data)
