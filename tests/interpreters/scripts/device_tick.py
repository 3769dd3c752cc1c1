"""Takes the board's whole tick, clock to watchdog, with the heap locked, through every state.

Reads ``case.json`` (settings). A garden of troubles passes through the states; in each of them the
counter is made to wrap a few ticks later. Once with the clock chip, which is read under the lock
too, past midnight; once with the board's own time, which is written down each minute, and so is
read outside the tick. Prints what was seen; whether the lock does catch; and what the relay does
when nobody renews it.
"""

import json
import sys

from device import board, clock, lamp, output, pins, watchdog
from garden import Garden
from keeper import Keeper, Settings
from keeper.cycle import STATES, UNSET
from keeper.lines import day_of
from keeper.relay import RENEW_MS
from keeper.ticks import MASK
from micropython import heap_lock, heap_unlock
from virtual import chips

TICKS = 11500
UNSET_TICKS = 60
WRAP_IN = 5
DAY_1 = day_of(2024, 10, 1)
LINK = chips.LINK
QUIET = tuple([STATES.index(name) for name in ("idle", "done", "flat", "lockout")])


class Time:
    """The board's counter."""

    def ticks_ms(self):
        return LINK.now_ms


class Dog:
    """Counts how often it is fed."""

    def __init__(self, timeout=0):
        self.feeds = 0

    def feed(self):
        self.feeds += 1


class Bus:
    """The clock chip on its bus; the day goes on from a date in the middle of a month."""

    def readfrom_mem_into(self, address, register, buffer):
        if register:
            buffer[0] = 0 if LINK.known else 0x80
            return
        second = LINK.second
        buffer[0] = bcd(second % 60)
        buffer[1] = bcd(second // 60 % 60)
        buffer[2] = bcd(second // 3600)
        buffer[4] = bcd(LINK.day % 28 + 1)
        buffer[5] = bcd(10)
        buffer[6] = bcd(24 + LINK.day // 28 % 60)


class OwnTime:
    """The board's own clock: each reading and setting is a new tuple."""

    def datetime(self, new=None):
        second = LINK.second
        return (2024, 10, LINK.day % 28 + 1, 0, second // 3600, second // 60 % 60, second % 60, 0)


def bcd(number):
    return number // 10 << 4 | number % 10


class Parts(board.Board):
    """The parts of a tick, without flash and serial line."""

    def __init__(self, settings, own_clock):
        row = pins.TABLE["linux"]
        self.time = Time()
        self.inputs = pins.inputs(chips, row)
        self.clock = (
            clock.OwnClock(OwnTime(), self.time.ticks_ms) if own_clock else clock.ChipClock(Bus())
        )
        self.dog = watchdog.Watchdog(Dog)
        self.lamp = lamp.Lamp(chips.Pin(row["lamp"], chips.Pin.OUT, value=0))
        self.relay = output.relays(chips, row)
        self.keeper = Keeper(settings)
        self.slow_ms = self._ticked_ms = 0
        self.dog.arm()


class Walk:
    """One board in one garden."""

    def __init__(self, settings, own_clock):
        self.parts = Parts(settings, own_clock)
        self.own_clock = own_clock
        self.garden = Garden(0, 1, QUIET)
        self.seen = [0] * len(STATES)
        self.wraps = [0] * len(STATES)
        self.midnights = 0
        self.allocated = []

    def go(self, ticks):
        """So many ticks, each under the lock."""
        for _ in range(ticks):
            parts = self.parts
            keeper = parts.keeper
            state = keeper.state
            if self.seen[state] == 2:
                self._wrap_soon()
            before_ms = self.garden.now_ms
            day = self.garden.day
            self._advance()
            self.seen[state] += 1
            self.wraps[state] += self.garden.now_ms < before_ms
            self.midnights += self.garden.day != day
            if self.own_clock:
                self._read_own()
            if not self._tick() and len(self.allocated) < 5:
                self.allocated.append([STATES[state], self.garden.now_ms])
            while keeper.journal.waiting:
                keeper.journal.take()

    def _read_own(self):
        """The own time, which each jump of the garden's takes with it, as if it had been set."""
        own = self.parts.clock
        own.read()
        if own.day != LINK.day % 28 + DAY_1 or own.second != LINK.second:
            own.set(2024, 10, LINK.day % 28 + 1, LINK.second)
        own.ok = LINK.known

    def _tick(self):
        parts = self.parts
        own_clock = self.own_clock
        heap_lock()
        try:
            if not own_clock:
                parts.clock.read()
            parts.tick()
        except MemoryError:
            return False
        finally:
            heap_unlock()
        return True

    def _advance(self):
        garden = self.garden
        keeper = self.parts.keeper
        garden.advance(LINK.relay, keeper.state)
        if garden.wish:
            keeper.command(garden.wish, garden.wish_value)
        LINK.now_ms = garden.now_ms
        LINK.day = garden.day
        LINK.second = garden.second
        LINK.known = garden.clock_ok
        LINK.pins = chips.LOAD_ON if garden.load_on else 0
        LINK.pins |= (garden.contacts & 1) * chips.RAIN + (garden.contacts >> 1) * chips.BUTTON
        LINK.counts[0] = garden.battery_n
        LINK.counts[1] = garden.pressure_n
        LINK.counts[2] = garden.frost_n
        LINK.counts[3] = garden.current_n

    def _wrap_soon(self):
        """Put the counter a few ticks before its end; all that looks back to it goes with it."""
        now_ms = MASK - WRAP_IN * 100 + 50
        self.garden.now_ms = self.parts._ticked_ms = now_ms
        if self.parts.keeper.state != UNSET:
            self.parts.keeper._last_ms = now_ms
        self.parts.relay._renewed_ms = now_ms

    def told(self):
        """What it came to."""
        return {
            "seen": {STATES[i]: n for i, n in enumerate(self.seen) if n},
            "wrapped_in": [STATES[i] for i, n in enumerate(self.wraps) if n],
            "midnights": self.midnights,
            "allocated": self.allocated,
            "fed": self.parts.dog._wdt.feeds,
        }


def dropped():
    """Whether the timer drops a relay that was not renewed, and how, with the heap locked."""
    LINK.timers.clear()
    relay = output.relays(chips, pins.TABLE["linux"])
    relay.watch(chips.Timer, -1, Time().ticks_ms)
    LINK.now_ms = MASK - 100
    relay.drive(1, LINK.now_ms)
    levels = [LINK.relay]
    for ms in (RENEW_MS, 1):
        LINK.now_ms = (LINK.now_ms + ms) & MASK
        for timer in LINK.timers:
            timer.call()
        levels.append(LINK.relay)
    LINK.timers.clear()
    return levels, relay.timer


def caught():
    """Whether the lock shows an allocation."""
    heap_lock()
    try:
        [LINK]
    except MemoryError:
        return True
    finally:
        heap_unlock()
    return False


def main():
    with open("case.json") as file:
        settings = json.load(file)["settings"]
    walks = [Walk(Settings(settings), False), Walk(Settings(settings), True), Walk(None, False)]
    told = []
    for walk in walks:
        walk.go(TICKS if walk.parts.keeper.settings else UNSET_TICKS)
        told.append(walk.told())
    bits = 31 if sys.maxsize < 1 << 32 else 63
    said = {"walks": told, "caught": caught(), "small_int_bits": bits}
    said["levels"], said["timer"] = dropped()
    print(json.dumps(said))


main()
