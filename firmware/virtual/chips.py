"""What stands for ``machine`` and ``time`` on the virtual board.

Time, converter counts and pin levels come over a pipe from the simulator, which is told the
level of the relay pin and how long the board means to sleep. Time passes in sleep only, so the
board and the plant go in lock-step, as fast as both can or as slowly as the simulator answers.
At the prompt the plant goes on by itself, and what is typed asks for the present when it needs it.
"""

import select
import struct
import sys
from time import time as desktop_time

from keeper.lines import date_text, day_number
from keeper.ticks import MASK

try:
    from micropython import heap_lock, heap_unlock
except ImportError:  # The tests take these chips to the desktop's Python too.

    def heap_lock() -> int:
        """There is no heap to lock."""
        return 0

    heap_unlock = heap_lock

TICK_MS = 100
DAY_S = 86400

INPUTS = "<IIIBB4hI"
"""ms, day, second, whether that is known, pins (LOAD_ON ...), counts of the four channels, and all
pulses of the flow meter until now, of which those before the first word are none of this board."""
OUTPUTS = "<BIII"
"""RELAY and SECOND_RELAY where their pins are high, and DOG where the watchdog is armed; ms to
sleep, or AT_PROMPT, RESET; day and second that the clock was set to, or NOT_SET. Each sleep is
answered once."""

RELAY, DOG, SECOND_RELAY = 1, 2, 4
AT_PROMPT = 0xFFFFFFFE
"""In place of a sleep: the program has ended."""
RESET = 0xFFFFFFFF
"""In place of a sleep: start the board anew."""
NOT_SET = 0xFFFFFFFF

_STALE_S = 0.05
"""At the prompt, what was heard so long ago, in real time, is not the present."""

LOAD_ON, RAIN, BUTTON, USB_POWER = 1, 2, 4, 8

_RELAY_PINS = {18: RELAY, 4: SECOND_RELAY}
_INPUT_PINS = {19: LOAD_ON, 20: RAIN, 21: BUTTON, 24: USB_POWER}
_TO_GROUND = RAIN | BUTTON
_FLOW_PIN = 22
_CHANNEL_PINS = {26: 0, 27: 1, 28: 2, 29: 3}
"""How the virtual board is wired. It does not ask the firmware's table of pins."""


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
        self._told_s = 0.0
        self._waits = False
        self._come: "select.poll | None" = None
        """Looks for answers that Ctrl-C has kept from being taken; there since the first."""
        self.prompt = False
        self.unique_id = b"virtual"
        self.timers: list = []
        self.dog: WDT | None = None
        self.day = self.second = self.known = self.pins = 0
        self._set_day = NOT_SET
        self._set_second = 0
        self.counts = [-1] * 4
        self.flow_pin: Pin | None = None
        """The one that counts pulses, from when its interrupt is set on."""
        self._pulses = -1

    def take(self) -> None:
        """Wait for the simulator's word; the end of the pipe is the end of the supply."""
        if self._receive.readinto(self._in) != len(self._in):
            sys.exit(0)
        row = struct.unpack(INPUTS, self._in)
        self.now_ms = self._told_ms = row[0]
        self.day, self.second, self.known, self.pins = row[1:5]
        for channel in range(4):
            self.counts[channel] = row[5 + channel]
        new = (row[9] - self._pulses) & MASK if self._pulses >= 0 else 0
        self._pulses = row[9]
        if new and self.flow_pin:
            self.flow_pin.interrupt(new)
        if self.prompt:
            self._told_s = desktop_time()

    def set_clock(self, day: int, second: int) -> None:
        """Set the clock at the other end, with the next word; it goes on from there."""
        self.day = self._set_day = day
        self.second = self._set_second = second
        self.known = 1
        if self.prompt:
            self.tell(AT_PROMPT)

    def sleep(self, ms: int) -> None:
        """Pass time. Less than a tick passes here; more, with the simulator."""
        passed_ms = ((self.now_ms - self._told_ms) & MASK) + ms
        if passed_ms < TICK_MS:
            self.now_ms = (self.now_ms + ms) & MASK
        else:
            self._ask(passed_ms)
        for timer in self.timers:
            timer.call()

    def look(self) -> None:
        """At the prompt: hear the present."""
        if desktop_time() - self._told_s > _STALE_S:
            self._ask(0)

    def drive(self, bit: int, level: int) -> None:
        """A relay pin has this level from now on."""
        self.relay = self.relay | bit if level else self.relay & ~bit
        if self.prompt:
            self.tell(AT_PROMPT)

    def leave(self) -> None:
        """The program has ended: tell how it left the relay pins."""
        self.prompt = True
        self.tell(AT_PROMPT)

    def tell(self, ms: int) -> None:
        """Send a word to the simulator."""
        flags = self.relay | (DOG if self.dog else 0)
        struct.pack_into(OUTPUTS, self._out, 0, flags, ms, self._set_day, self._set_second)
        self._set_day = NOT_SET
        self._send.write(self._out)

    def _ask(self, ms: int) -> None:
        if self._waits and self._come is None:
            # Ctrl-C has ended the wait for an answer; it may have come, or be still to come.
            self._come = select.poll()
            self._come.register(self._receive, select.POLLIN)
        while self._come and self._come.poll(0):
            self.take()
        self._waits = True
        self.tell(ms)
        self.take()
        self._waits = False


LINK = Link(None, None)


def join(receive, send) -> None:
    """Join the pipe, and take the first word."""
    LINK._receive = receive
    LINK._send = send
    LINK.take()


class Pin:
    """A pin: the relays' levels go to the simulator, the inputs' levels come from it."""

    IN, OUT, PULL_UP, PULL_DOWN = range(4)
    IRQ_FALLING = 4

    def __init__(self, number, mode=-1, pull=-1, value=None) -> None:
        self.number = number
        self._bit = _INPUT_PINS.get(number, 0)
        self._level = 0
        self._handler = lambda pin: None
        self._hard = False
        if value is not None:
            self.value(value)

    def value(self, level=None):
        """Read the pin, or drive it."""
        relay = _RELAY_PINS.get(self.number)
        if level is not None:
            self._level = level
            if relay:
                LINK.drive(relay, level)
            return None
        if relay:
            return 1 if LINK.relay & relay else 0
        if not self._bit:
            return self._level
        if LINK.prompt:
            LINK.look()
        high = 1 if LINK.pins & self._bit else 0
        return 1 - high if self._bit & _TO_GROUND else high

    def irq(self, handler=None, trigger=IRQ_FALLING, hard=False) -> None:
        """Call this on each pulse; a hard one with a locked heap."""
        self._handler = handler
        self._hard = hard
        if self.number == _FLOW_PIN:
            LINK.flow_pin = self

    def interrupt(self, pulses: int) -> None:
        """So many pulses have come."""
        if self._hard:
            heap_lock()
        try:
            for _ in range(pulses):
                self._handler(self)
        finally:
            if self._hard:
                heap_unlock()


class ADC:
    """A converter channel: 12 bits, repeated at the lower end as on the RP2040."""

    def __init__(self, pin) -> None:
        self._channel = _CHANNEL_PINS[pin.number]

    def read_u16(self) -> int:
        """One conversion; an open channel cannot be read."""
        if LINK.prompt:
            LINK.look()
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
        self._written: tuple = ()

    def readfrom_mem_into(self, address, register, buffer) -> None:
        """Status, or the time from seconds to year."""
        if not I2C.fitted:
            raise OSError(19)
        if register == 0x0F:
            buffer[0] = 0 if LINK.known else 0x80
            return
        if LINK.prompt:
            LINK.look()
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
        """Set the time. Where the flag is up, the time counts when it has been taken down."""
        if not I2C.fitted:
            raise OSError(19)
        if register == 0:
            second, minute, hour, _, date, month, year = [_plain(byte) for byte in buffer]
            self._written = (2000 + year, month, date, (hour * 60 + minute) * 60 + second)
        cleared = register == 0x0F and not buffer[0] & 0x80
        if self._written and (LINK.known or cleared):
            _set(*self._written)
            self._written = ()


class RTC:
    """The board's own clock. In light sleep it stands still, as the RP2040's does."""

    stops_asleep = True
    behind_ms = 0

    def datetime(self, new=None):
        """The time; the year 2021 where it was never set."""
        if new is not None:
            RTC.behind_ms = 0
            _set(new[0], new[1], new[2], (new[4] * 60 + new[5]) * 60 + new[6])
            return None
        if LINK.prompt:
            LINK.look()
        if not LINK.known:
            return (2021, 1, 1, 4, 0, 0, 0, 0)
        days, second = divmod(LINK.second - RTC.behind_ms // 1000, DAY_S)
        year, month, date = [int(word) for word in date_text(LINK.day + days).split("-")]
        return (year, month, date, 0, second // 3600, second // 60 % 60, second % 60, 0)


class Timer:
    """Called back whenever time has passed; a hard one with a locked heap, as in an interrupt."""

    PERIODIC = 1

    def __init__(self, number=-1) -> None:
        self.callback = lambda timer: None
        self._hard = False

    def init(self, mode=0, period=0, callback=None, hard=False) -> None:
        """Begin."""
        self.callback = callback
        self._hard = hard
        LINK.timers.append(self)

    def call(self) -> None:
        """Its time has come."""
        if not self._hard:
            self.callback(self)
            return
        heap_lock()
        try:
            self.callback(self)
        finally:
            heap_unlock()


class WDT:
    """The watchdog. In light sleep it stands still, other than on a real board."""

    def __init__(self, timeout=0) -> None:
        self.feeds = 0
        LINK.dog = self

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
    asleep_ms = LINK.now_ms
    LINK.sleep(ms)
    fall_behind((LINK.now_ms - asleep_ms) & MASK)


def fall_behind(ms: int) -> None:
    """So long has the board slept: its own clock has missed it, where it stops in sleep."""
    if RTC.stops_asleep:
        RTC.behind_ms += ms


def reset() -> None:
    """Wait to be started anew."""
    LINK.tell(RESET)
    LINK.take()


def unique_id() -> bytes:
    """The board's own number."""
    return LINK.unique_id


def ticks_ms() -> int:
    """The simulator's milliseconds."""
    if LINK.prompt:
        LINK.look()
    return LINK.now_ms


def sleep_ms(ms: int) -> None:
    """Pass time."""
    LINK.sleep(ms)


def sleep(seconds) -> None:
    """Pass time."""
    LINK.sleep(int(seconds * 1000))


def ticks_diff(later: int, earlier: int) -> int:
    """From one moment to another, across the wrap."""
    half = (MASK + 1) // 2
    return ((later - earlier + half) & MASK) - half
