"""What the firmware takes of the heap once it is up, and how long a whole tick takes.

Reads ``case.json`` (settings, ticks). All of the board is there: keeper, log, slots, commands and
serial line, on stand-ins for chips and files. Prints bytes before, after the import and with the
board made, what is free, and microseconds of the mean and the longest tick.
"""

# ruff: noqa: E402
import gc
import json
import time

gc.collect()
# Collected here.
before = gc.mem_alloc()

from device import board, clock, commands, lamp, output, pins, seldom, watchdog
from device.commands import Commands
from device.flashlog import FlashLog
from device.serial import SerialLine
from device.store import TwoSlots
from keeper import Keeper

gc.collect()
# Collected here.
imported = gc.mem_alloc()

from virtual import chips

LINK = chips.LINK


class Nothing:
    """Files, port and chips of which only that they are there counts."""

    def __init__(self, *_, **__):
        pass

    def names(self, folder):
        return []

    def feed(self):
        pass

    def urandom(self, size):
        return bytes(size)

    def ticks_ms(self):
        return LINK.now_ms

    def readfrom_mem_into(self, address, register, buffer):
        for place in range(len(buffer)):
            buffer[place] = 0x01 if register == 0 else 0


class Board(board.Board):
    """Made without a flash."""

    def __init__(self, settings):
        row = pins.TABLE["linux"]
        self.row = row
        self.machine = chips
        self.time = Nothing()
        self.files = files = Nothing()
        self.inputs = pins.inputs(chips, row)
        self.clock = clock.ChipClock(Nothing())
        self.dog = watchdog.Watchdog(Nothing)
        self.lamp = lamp.Lamp(chips.Pin(row["lamp"], chips.Pin.OUT, value=0))
        self.relay = output.relays(chips, row)
        self.log = FlashLog(files)
        self.settings_slots = TwoSlots(files, "settings")
        self._memory_slots = TwoSlots(files, "memory")
        commands.os = files  # the 32-bit build has no chance of its own
        self.commands = Commands(self)
        self.serial = SerialLine(files, files, files, self.commands.answer, 1)
        self.keeper = Keeper(seldom.settings_of(settings))
        self.slow_ms = self._ticked_ms = 0
        self.dog.arm()


def ticks_us(made, ticks):
    """Mean and longest of so many ticks."""
    total = longest = 0
    for tick in range(ticks):
        LINK.now_ms = tick * 100
        begun = time.ticks_us()
        made.clock.read()
        made.tick()
        took = time.ticks_diff(time.ticks_us(), begun)
        total += took
        longest = max(longest, took)
    return total // ticks, longest


with open("case.json") as file:
    case = json.load(file)
LINK.known = 1
LINK.counts[:] = [2790, 410, 900, 5]
gc.collect()
# Collected here.
start = gc.mem_alloc()
made = Board(case["settings"])
gc.collect()
# Collected here.
told = {"import": imported - before, "board": gc.mem_alloc() - start, "free": gc.mem_free()}
told["tick_us"], told["longest_us"] = ticks_us(made, case["ticks"])
print(json.dumps(told))
