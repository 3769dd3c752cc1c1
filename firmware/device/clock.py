"""What time it is: from a clock chip with its own cell, or else from the board's tick counter.

The battery is carried away every few nights. A chip keeps the time meanwhile, and its flag says
when it did not. The board's own clock starts again at a date of long ago, which shows that it
was never set; and it may stand still in light sleep: MicroPython for the RP2040 stops it there
from 1.24 on (its ports/rp2/modmachine.c). The tick counter runs through a nap, so that is what
the time is kept by. Local standard time, day numbers from 1970-01-01; no time zone on the board.
"""

from keeper.lines import date_text, day_of
from keeper.ticks import MASK, const, elapsed_ms

CHIP_ADDRESS = 0x68
_SECONDS = const(0x00)
_STATUS = const(0x0F)
_STOPPED = const(0x80)
"""Registers and flag of the DS3231 and its kin (data sheet 19-5170, table 1; from memory)."""

_YEAR_FIRST = const(2024)
"""A clock that shows an earlier year was never set."""
_DAY_S = const(86400)
_WRITE_S = const(60)
_READS_MAX = const(4)
"""Two, one more where a second ends between them, and one for a disturbed bus."""


def _number(bcd: int) -> int:
    """The number in a byte; far too large where its digits are none."""
    tens = bcd >> 4
    ones = bcd & 15
    return tens * 10 + ones if tens < 10 and ones < 10 else 1000


def _bcd(number: int) -> int:
    return number // 10 << 4 | number % 10


def _days_in(year: int, month: int) -> int:
    following = day_of(year, month + 1, 1) if month < 12 else day_of(year + 1, 1, 1)
    return following - day_of(year, month, 1)


class ChipClock:
    """A clock chip on the I2C bus. ``read`` allocates nothing."""

    name = "chip"

    def __init__(self, i2c) -> None:
        self._i2c = i2c
        self._time = bytearray(7)
        self._before = bytearray(7)
        self._status = bytearray(1)
        self.day = 0
        self.second = 0
        self.ok = 0

    def read(self) -> None:
        """Fill ``day``, ``second`` and ``ok``; all 0 where the chip lost the time, or is gone, or
        shows what no clock can show: a bus that floats reads as FF, one that is held down as 0.
        """
        self.ok = 0
        self.day = self.second = 0
        try:
            self._i2c.readfrom_mem_into(CHIP_ADDRESS, _STATUS, self._status)
            if self._status[0] & _STOPPED or not self._seen_twice():
                return
        except OSError:
            return
        now = self._time
        second = _number(now[0])
        minute = _number(now[1])
        hour = _number(now[2])
        date = _number(now[4])
        month = _number(now[5] & 31)
        year = 2000 + _number(now[6])
        if second > 59 or minute > 59 or hour > 23 or not _YEAR_FIRST <= year < 2100:
            return
        if not 1 <= month <= 12 or not 1 <= date <= _days_in(year, month):
            return
        self.day = day_of(year, month, date)
        self.second = (hour * 60 + minute) * 60 + second
        self.ok = 1

    def _seen_twice(self) -> bool:
        """Read until it is what was read before: within a second that is the first reading."""
        for _ in range(_READS_MAX):
            now = self._before
            self._before = self._time
            self._time = now
            self._i2c.readfrom_mem_into(CHIP_ADDRESS, _SECONDS, now)
            if now == self._before:
                return True
        return False

    def set(self, year, month, date, second) -> None:
        """Set the chip and clear its flag. Raises OSError where it does not answer."""
        hours = second // 3600
        minutes = second // 60 % 60
        row = (second % 60, minutes, hours, 1, date, month, year - 2000)
        self._i2c.writeto_mem(CHIP_ADDRESS, _SECONDS, bytes([_bcd(number) for number in row]))
        self._i2c.readfrom_mem_into(CHIP_ADDRESS, _STATUS, self._status)
        self._status[0] &= ~_STOPPED & 0xFF
        self._i2c.writeto_mem(CHIP_ADDRESS, _STATUS, self._status)


class OwnClock:
    """The board's own time: its clock as it was at the start, and the ticks since.

    The clock itself is read once and then only written, each minute: a soft reset, which it
    outlives, finds it right. ``read`` allocates nothing but then. Two readings may lie as far
    apart as the tick counter goes before it wraps, which is 12.4 days.
    """

    name = "own"

    def __init__(self, rtc, ticks_ms) -> None:
        self._rtc = rtc
        self._ticks_ms = ticks_ms
        self._last_ms = ticks_ms() & MASK
        self._part_ms = 0
        self._written_s = 0
        self.day = 0
        self.second = 0
        self.ok = 0
        now = rtc.datetime()
        if now[0] >= _YEAR_FIRST:
            self.day = day_of(now[0], now[1], now[2])
            self.second = (now[4] * 60 + now[5]) * 60 + now[6]
            self.ok = 1

    def read(self) -> None:
        """Bring ``day`` and ``second`` up to the present; both stay 0 until the clock is set."""
        now_ms = self._ticks_ms() & MASK
        passed_ms = elapsed_ms(now_ms, self._last_ms) + self._part_ms
        self._last_ms = now_ms
        self._part_ms = passed_ms % 1000
        if not self.ok or passed_ms < 1000:
            return
        second = self.second + passed_ms // 1000
        self.day += second // _DAY_S
        self.second = second % _DAY_S
        self._written_s += passed_ms // 1000
        if self._written_s >= _WRITE_S:
            year, month, date = [int(word) for word in date_text(self.day).split("-")]
            self._write(year, month, date, self.second)

    def set(self, year, month, date, second) -> None:
        """Set the time, and the clock by it."""
        self._last_ms = self._ticks_ms() & MASK
        self._part_ms = 0
        self.day = day_of(year, month, date)
        self.second = second
        self.ok = 1
        self._write(year, month, date, second)

    def _write(self, year, month, date, second) -> None:
        self._written_s = 0
        hours = second // 3600
        self._rtc.datetime((year, month, date, 0, hours, second // 60 % 60, second % 60, 0))


def find(machine, row, ticks_ms):
    """The chip where one answers on the bus, else the board's own time."""
    try:
        i2c = machine.I2C(row["i2c"], sda=machine.Pin(row["sda"]), scl=machine.Pin(row["scl"]))
        i2c.readfrom_mem_into(CHIP_ADDRESS, _STATUS, bytearray(1))
        return ChipClock(i2c)
    except OSError:
        return OwnClock(machine.RTC(), ticks_ms)
