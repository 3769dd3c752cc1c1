"""The board's loop on a modelled serial line at 115200 baud, with a host that reads the log.

Time is the model's: each byte takes its time on the wire, and what the processor does costs what
a slow board would need for it. So the loop's real waiting, its chunks and its ticks decide how
fast the log comes, not the desktop that runs this.
"""

from types import SimpleNamespace

from device import board, output, pins
from device.commands import CHUNK_LINES_MAX
from device.serial import SerialLine
from keeper import crc, lines
from keeper.records import FIELDS_MAX, MINUTE
from tests.power.ramboard import EVENING_S, MemoryFile, MemoryFlash, Site, new_flash, no_port
from virtual import chips

BYTE_US = 10 * 1_000_000 / 115200
"""Eight data bits, a start and a stop bit (EIA/TIA-232 framing)."""
PORT_BYTES = 256
"""Buffer of the port's sending side, as the stock RP2040 firmware has it (from memory)."""
TICK_US = 5000
READ_US = 10000
WRITE_US = 60
ATTEND_US = 200
"""A tick, opening and reading a page, one short write, one look at the line: each at least twice
what an emulated RP2040 took."""
HOST_US = 2000
"""From the end of an answer on the wire until the host has sent its next question."""


class Wire:
    """Both directions of the line, and the host at its end, which reads the log.

    ``now_us`` is the model's time. ``attend`` of the serial line asks this for bytes, so that the
    host answers when it would, not when a tick is over.
    """

    def __init__(self, write_bytes: int) -> None:
        self.now_us = EVENING_S * 1e6
        self.records: list[str] = []
        self.over = False
        self._write_bytes = write_bytes
        self._sent = bytearray()
        self._free_us = self.now_us
        """When the last byte handed over has left the port."""
        self._question = b""
        self._due_us: list[float] = []
        self._ask(f"log 0 {CHUNK_LINES_MAX}")

    def read(self, size: int) -> bytes:
        data, self._question = self._question[:1], self._question[1:]
        self._due_us.pop(0)
        return data

    def readable(self) -> bool:
        self._take()
        return bool(self._due_us) and self._due_us[0] <= self.now_us

    def writable(self) -> bool:
        return (self._free_us - self.now_us) / BYTE_US < PORT_BYTES - self._write_bytes

    def write(self, data: bytes) -> int:
        self.now_us += WRITE_US
        self._free_us = max(self._free_us, self.now_us) + len(data) * BYTE_US
        self._sent += data
        return len(data)

    def _ask(self, line: str) -> None:
        """Send a line, a byte after the other, when all that was sent has arrived."""
        self._question = line.encode() + b"\n"
        start_us = max(self.now_us, self._free_us) + HOST_US
        self._due_us = [start_us + (n + 1) * BYTE_US for n in range(len(self._question))]

    def _take(self) -> None:
        """What the host does with what has been sent."""
        *whole, rest = bytes(self._sent).split(b"\r\n")
        self._sent = bytearray(rest)
        for line in whole:
            text = line.decode()
            assert crc.unsealed(text) is not None, f"torn: {text}"
            if not text.startswith("ok "):
                self.records.append(text)
                continue
            words = dict(word.split("=") for word in text.split(" ") if "=" in word)
            self.over = words["next"] == words["end"]
            if not self.over:
                self._ask(f"log {words['next']} {CHUNK_LINES_MAX}")


class SlowFlash(MemoryFlash):
    """A flash that takes its time to read."""

    def __init__(self, files: dict[str, bytes], wire: Wire) -> None:
        super().__init__(files)
        self._wire = wire

    def open(self, path: str, mode: str) -> MemoryFile:
        self._wire.now_us += READ_US
        return super().open(path, mode)


def full_log(records: int) -> dict[str, bytes]:
    """A flash with so many records of the longest usual kind."""
    files = new_flash()
    log = board.FlashLog(MemoryFlash(files))
    for seq in range(records):
        row = [seq, 20643, EVENING_S, 1, MINUTE] + [180000 + seq] * FIELDS_MAX
        log.add(lines.format_line(row))
        log.flush()
    return files


class Reading:
    """One reading of the whole log from a board whose port is written as ``port`` says."""

    def __init__(self, port: str, records: int) -> None:
        row = dict(pins.TABLE["linux"], write_bytes=pins.TABLE[port]["write_bytes"])
        self.wire = wire = Wire(row["write_bytes"])
        self.late_ms = 0.0
        """The latest tick."""
        with no_port():
            relay = output.relays(chips, row)
            time = SimpleNamespace(ticks_ms=self._ticks_ms, sleep_ms=self._sleep_ms)
            flash = SlowFlash(full_log(records), wire)
            self.board = board.Board(chips, time, row, relay, flash, "")
        self.board._usb = SimpleNamespace(value=lambda: 1)
        serial = SerialLine(wire, wire, wire, self.board.commands.answer, row["write_bytes"])
        self.board.serial = serial
        self._attend = serial.attend
        serial.attend = self._attend_slowly  # type: ignore[method-assign]

    def run(self) -> float:
        """Read all; returns the share of the line's rate at which the records came."""
        wire = self.wire
        site = Site()
        begun_us = due_us = wire.now_us
        while not wire.over:
            self.late_ms = max(self.late_ms, (wire.now_us - due_us) / 1000.0)
            site.show(self._ticks_ms())
            self.board.clock.read()
            self.board.tick()
            wire.now_us += TICK_US
            self.board.look_after()
            self.board.wait()
            due_us += board.TICK_MS * 1000
        taken_us = wire._free_us - begun_us
        return sum(len(record) + 2 for record in wire.records) * BYTE_US / taken_us

    def _attend_slowly(self) -> bool:
        self.wire.now_us += ATTEND_US
        return self._attend()

    def _ticks_ms(self) -> int:
        return int(self.wire.now_us // 1000)

    def _sleep_ms(self, ms: int) -> None:
        self.wire.now_us += ms * 1000.0
