"""What stands for ``machine`` and ``time`` on the virtual board.

Time, converter counts and pin levels come over a pipe from the simulator, which is told the
level of the relay pin and how long the board means to sleep. Time passes in sleep only, so the
board and the plant go in lock-step, as fast as both can or as slowly as the simulator answers.
"""

import struct
import sys

from keeper.lines import date_text, day_number
from keeper.ticks import MASK

TICK_MS = 100
DAY_S = 86400

INPUTS = "<IIIBB4h"
"""ms, day, second, whether that is known, pins (LOAD_ON ...), counts of the four channels."""
OUTPUTS = "<BI"
"""Level of the relay pin, and ms to sleep."""

LOAD_ON, RAIN, BUTTON, USB_POWER = 1, 2, 4, 8

RELAY_PIN = 18
_INPUT_PINS = {19: LOAD_ON, 20: RAIN, 21: BUTTON, 24: USB_POWER}
_TO_GROUND = RAIN | BUTTON
_CHANNEL_PINS = {26: 0, 27: 1, 28: 2, 29: 3}
"""How the virtual board is wired. It does not ask the firmware's table of pins."""

RESET_EXIT = 75
"""Exit status of a board that resets itself."""


class Link:
    """The pipe to the simulator, and what it said last."""

    def __init__(self, receive, send) -> None:
        self._receive = receive
        self._send = send
        self._in = bytearray(struct.calcsize(INPUTS))
        self._out = bytearray(struct.calcsize(OUTPUTS))
        self.relay = 0
        self.now_ms = 0
        self._told_ms = 0
        self.timers: list = []
        self.dog = None
        self.day = self.second = self.known = self.pins = 0
        self._set_ms = -1
        self.counts = [-1] * 4

    def take(self) -> None:
        """Wait for the simulator's word; the end of the pipe is the end of the supply."""
        if self._receive.readinto(self._in) != len(self._in):
            sys.exit(0)
        row = struct.unpack(INPUTS, self._in)
        self.now_ms = self._told_ms = row[0]
        if self._set_ms < 0:
            self.day, self.second, self.known = row[1:4]
        self.pins = row[4]
        for channel in range(4):
            self.counts[channel] = row[5 + channel]

    def set_clock(self, day: int, second: int) -> None:
        """From now on the clock goes by the ticks; until the next start of the board."""
        self.day = day
        self.second = second
        self.known = 1
        self._set_ms = self.now_ms

    def read_clock(self) -> None:
        """Let a clock that was set come up to now."""
        if self._set_ms < 0:
            return
        passed_s = ((self.now_ms - self._set_ms) & MASK) // 1000
        self._set_ms = (self._set_ms + passed_s * 1000) & MASK
        second = self.second + passed_s
        self.day += second // DAY_S
        self.second = second % DAY_S

    def sleep(self, ms: int) -> None:
        """Pass time. Less than a tick passes here; more, with the simulator."""
        passed_ms = ((self.now_ms - self._told_ms) & MASK) + ms
        if passed_ms < TICK_MS:
            self.now_ms = (self.now_ms + ms) & MASK
        else:
            struct.pack_into(OUTPUTS, self._out, 0, self.relay, passed_ms)
            self._send.write(self._out)
            self.take()
        for timer in self.timers:
            timer.callback(timer)

    def leave(self) -> None:
        """The program has ended: tell how it left the relay pin."""
        struct.pack_into(OUTPUTS, self._out, 0, self.relay, 0)
        self._send.write(self._out)


LINK = Link(None, None)


def join(receive, send) -> None:
    """Join the pipe, and take the first word."""
    LINK._receive = receive
    LINK._send = send
    LINK.take()


class Pin:
    """A pin: the relay's level goes to the simulator, the inputs' levels come from it."""

    IN, OUT, PULL_UP, PULL_DOWN = range(4)

    def __init__(self, number, mode=-1, pull=-1, value=None) -> None:
        self.number = number
        self._bit = _INPUT_PINS.get(number, 0)
        self._level = 0
        if value is not None:
            self.value(value)

    def value(self, level=None):
        """Read the pin, or drive it."""
        if level is not None:
            self._level = level
            if self.number == RELAY_PIN:
                LINK.relay = level
            return None
        if self.number == RELAY_PIN:
            return LINK.relay
        if not self._bit:
            return self._level
        high = 1 if LINK.pins & self._bit else 0
        return 1 - high if self._bit & _TO_GROUND else high


class ADC:
    """A converter channel: 12 bits, repeated at the lower end as on the RP2040."""

    def __init__(self, pin) -> None:
        self._channel = _CHANNEL_PINS[pin.number]

    def read_u16(self) -> int:
        """One conversion; an open channel cannot be read."""
        count = LINK.counts[self._channel]
        if count < 0:
            raise OSError(5)
        return count << 4 | count >> 8


class I2C:
    """The bus with the clock chip; there is none where the simulator's board has none."""

    fitted = True

    def __init__(self, number, sda=None, scl=None) -> None:
        self._day = -1
        self._date = (1, 1, 1)

    def readfrom_mem_into(self, address, register, buffer) -> None:
        """Status, or the time from seconds to year."""
        if not I2C.fitted:
            raise OSError(19)
        if register == 0x0F:
            buffer[0] = 0 if LINK.known else 0x80
            return
        LINK.read_clock()
        if LINK.day != self._day:
            self._day = LINK.day
            year, month, date = [int(word) for word in date_text(LINK.day).split("-")]
            self._date = (_bcd(date), _bcd(month), _bcd(year - 2000))
        second = LINK.second
        buffer[0] = _bcd(second % 60)
        buffer[1] = _bcd(second // 60 % 60)
        buffer[2] = _bcd(second // 3600)
        buffer[4], buffer[5], buffer[6] = self._date

    def writeto_mem(self, address, register, buffer) -> None:
        """Set the time; the status that is written after it needs no keeping."""
        if not I2C.fitted:
            raise OSError(19)
        if register == 0:
            second, minute, hour, _, date, month, year = [_plain(byte) for byte in buffer]
            _set(2000 + year, month, date, (hour * 60 + minute) * 60 + second)


class RTC:
    """The board's own clock."""

    def datetime(self, new=None):
        """The time; the year 2021 where it was never set."""
        if new is not None:
            _set(new[0], new[1], new[2], (new[4] * 60 + new[5]) * 60 + new[6])
            return None
        LINK.read_clock()
        if not LINK.known:
            return (2021, 1, 1, 4, 0, 0, 0, 0)
        year, month, date = [int(word) for word in date_text(LINK.day).split("-")]
        second = LINK.second
        return (year, month, date, 0, second // 3600, second // 60 % 60, second % 60, 0)


class Timer:
    """Called back whenever time has passed."""

    PERIODIC = 1

    def __init__(self, number=-1) -> None:
        self.callback = None

    def init(self, mode=0, period=0, callback=None) -> None:
        """Begin."""
        self.callback = callback
        LINK.timers.append(self)


class WDT:
    """The watchdog. In light sleep it stands still, other than on a real board."""

    def __init__(self, timeout=0) -> None:
        self.feeds = 0

    def feed(self) -> None:
        """Count it."""
        self.feeds += 1


def _bcd(number: int) -> int:
    return number // 10 << 4 | number % 10


def _plain(bcd: int) -> int:
    return (bcd >> 4) * 10 + (bcd & 15)


def _set(year: int, month: int, date: int, second: int) -> None:
    LINK.set_clock(day_number("%d-%d-%d" % (year, month, date)), second)


def lightsleep(ms: int) -> None:
    """Sleep until an input changes or the time is over."""
    LINK.sleep(ms)


def reset() -> None:
    """End; the simulator starts the board again."""
    sys.exit(RESET_EXIT)


def unique_id() -> bytes:
    """A virtual board has no number of its own."""
    return b"virtual"


def ticks_ms() -> int:
    """The simulator's milliseconds."""
    return LINK.now_ms


def sleep_ms(ms: int) -> None:
    """Pass time."""
    LINK.sleep(ms)
