"""Takes the board's whole tick, inputs to watchdog, with the heap locked, across the wrap.

Reads ``case.json`` (settings). A run by button, with water; prints the states seen under the
lock, the ticks, and whether each was allocation-free; then that the lock does catch.
"""

import json
import sys

from device import board, clock, lamp, output, pins, watchdog
from keeper import Keeper, Settings
from keeper.cycle import PRIME, RUN, STATES
from micropython import heap_lock, heap_unlock
from virtual import chips

TICKS = 900
WRAP_AFTER = 300
LINK = chips.LINK


class Parts(board.Board):
    """The parts of a tick, without flash and serial line."""

    def __init__(self, settings):
        row = pins.TABLE["linux"]
        self.time = chips
        self.inputs = pins.inputs(chips, row)
        self.clock = clock.find(chips, row)
        self.dog = watchdog.Watchdog(chips.WDT)
        self.lamp = lamp.Lamp(chips.Pin(row["lamp"], chips.Pin.OUT, value=0))
        self.relay = output.RelayOutput(chips.Pin(row["relay"], chips.Pin.OUT, value=0))
        self.keeper = Keeper(settings)
        self.slow_ms = self._ticked_ms = 0


def surroundings(tick, state):
    """What the inputs show at this tick."""
    on = LINK.relay
    wet = state == RUN or (state == PRIME and tick % 64 > 40)
    LINK.now_ms = (chips.MASK + 1 - WRAP_AFTER * 100 + tick * 100) & chips.MASK
    LINK.day = 20643
    LINK.second = 43200 + tick // 10
    LINK.known = 1
    pressed = 20 <= tick < 25
    LINK.pins = (chips.LOAD_ON if on else 0) | (chips.BUTTON if pressed else 0)
    LINK.counts[0] = (2720 if on else 2790) + tick % 3
    LINK.counts[1] = (1000 if wet and on else 410) + tick % 5
    LINK.counts[2] = 900
    LINK.counts[3] = (600 if on else 5) + tick % 2


def main():
    with open("case.json") as file:
        settings = Settings(json.load(file)["settings"])
    parts = Parts(settings)
    surroundings(0, 0)
    parts.dog.arm()
    parts.tick()
    seen = [0] * len(STATES)
    free = True
    tick = 1
    while tick < TICKS:
        state = parts.keeper.state
        surroundings(tick, state)
        seen[state] += 1
        heap_lock()
        try:
            parts.tick()
        except MemoryError:
            free = False
        finally:
            heap_unlock()
        tick += 1
        while parts.keeper.journal.waiting:
            parts.keeper.journal.take()
    caught = False
    heap_lock()
    try:
        tick = [tick]
    except MemoryError:
        caught = True
    finally:
        heap_unlock()
    print(
        json.dumps(
            {
                "seen": {STATES[i]: n for i, n in enumerate(seen) if n},
                "free": free,
                "fed": parts.dog._wdt.feeds,
                "caught": caught,
                "small_int_bits": 31 if sys.maxsize < 1 << 32 else 63,
            }
        )
    )


main()
