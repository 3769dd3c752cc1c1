"""A host asks the board once a second how it is, for hours of the board's time, in one process.

Reads ``case.json`` (settings, hours). The board's own loop runs on the virtual board's chips, with
its files in the working folder; sleeping passes time. Prints ticks, how far apart they came, looks
and how late their answers were, and the heap in use after a sixth of the time and at the end.
"""

import gc
import json

from device import board, manifest, output, pins, store
from device.files import Files
from device.serial import SerialLine
from keeper.ticks import MASK
from virtual import chips, listed

LINK = chips.LINK
DAY = 20643
NOON_S = 43200
SECOND_MS = 1000


class Time:
    """Time passes in sleep only."""

    def ticks_ms(self):
        return LINK.now_ms

    def sleep_ms(self, ms):
        LINK.now_ms = (LINK.now_ms + ms) & MASK


class Host:
    """The other end of the line: "status", then "clock", each second on the second."""

    def __init__(self):
        self.due_ms = SECOND_MS
        self.left = b""
        self.asked = 0
        self.looks = 0
        self.late_ms = 0
        self.wrong = 0
        self._line = bytearray()

    def readable(self):
        if not self.left and not self.asked and LINK.now_ms >= self.due_ms:
            self.left = b"status\n"
            self.asked = 1
        return bool(self.left)

    def read(self, size):
        byte = self.left[:1]
        self.left = self.left[1:]
        return byte

    def writable(self):
        return True

    def write(self, data):
        for byte in data:
            if byte != 10:
                self._line.append(byte)
                continue
            line = bytes(self._line)
            self._line = bytearray()
            if line.startswith(b"ok"):
                self._answered()
            elif line.startswith(b"no"):
                self.wrong += 1
        return len(data)

    def _answered(self):
        if self.asked == 1:
            self.asked = 2
            self.left = b"clock\n"
            return
        self.asked = 0
        self.looks += 1
        self.late_ms = max(self.late_ms, LINK.now_ms - self.due_ms)
        self.due_ms += SECOND_MS


def surroundings():
    """A quiet site with a pump."""
    on = LINK.relay
    now_s = NOON_S + LINK.now_ms // SECOND_MS
    tick = LINK.now_ms // 100
    LINK.day = DAY + now_s // 86400
    LINK.second = now_s % 86400
    LINK.known = 1
    LINK.pins = chips.USB_POWER | (chips.LOAD_ON if on else 0)
    LINK.counts[0] = (2720 if on else 2790) + tick % 3
    LINK.counts[1] = (1000 if on else 410) + tick % 5
    LINK.counts[2] = 900
    LINK.counts[3] = (600 if on else 5) + tick % 2


def make(settings, host):
    """A board with its files in this folder."""
    files = Files("")
    with files.open("boot.py", "wb") as file:
        file.write(b"pass\n")
    text = listed.text_of(files, ["boot.py"])
    with files.open(manifest.PATH, "wb") as file:
        file.write(text.encode())
    store.TwoSlots(files, "settings").save(store.settings_text(settings))
    row = pins.TABLE["linux"]
    relay = output.relays(chips, row)
    made = board.Board(chips, Time(), row, relay, files, "")
    made.serial = SerialLine(host, host, host, made.commands.answer, row["write_bytes"])
    made.dog.arm()
    return made


def main():
    with open("case.json") as file:
        case = json.load(file)
    surroundings()
    host = Host()
    made = make(case["settings"], host)
    end_ms = case["hours"] * 3600 * SECOND_MS
    ticks = closed = 0
    apart_ms = [1000, 0]
    used = []
    last_ms = -100
    while LINK.now_ms < end_ms:
        surroundings()
        apart_ms[0] = min(apart_ms[0], LINK.now_ms - last_ms)
        apart_ms[1] = max(apart_ms[1], LINK.now_ms - last_ms)
        last_ms = LINK.now_ms
        made.clock.read()
        made.tick()
        made.look_after()
        made.wait()
        ticks += 1
        closed += LINK.relay
        if ticks in (end_ms // 600, end_ms // 100):
            gc.collect()
            used.append(gc.mem_alloc())
    told = {"ticks": ticks, "apart_ms": apart_ms, "used": used, "closed": closed}
    told["looks"] = host.looks
    told["late_ms"] = host.late_ms
    told["wrong"] = host.wrong
    told["trouble"] = made.trouble
    told["due_ms"] = host.due_ms
    told["waiting"] = made.log.waiting
    told["slow_ms"] = made.slow_ms
    print(json.dumps(told))


main()
