"""Times the steps of two control packages on the same recorded readings, some at a time in turn.

The packages are called ``before`` and ``after``; ``case.json`` and ``week.bin`` are those of
``time_steps.py``. Prints a list of the microseconds of each, for every piece in which both ran.
"""

import gc
import json
import struct
import sys
import time

sys.path.append("")

import after
import before

ROW = "<3i7h"
ROW_BYTES = struct.calcsize(ROW)
PIECE_ROWS = 1024
TICK_MS = 100
MASK = 0x3FFFFFFF


def rows(data):
    """What a step is given, of each row of a piece."""
    found = []
    for offset in range(0, len(data), ROW_BYTES):
        row = struct.unpack_from(ROW, data, offset)
        found.append((row[0] * TICK_MS & MASK, row[1], row[2], row[3] & 1) + row[4:])
    return found


def steps_us(keeper, piece):
    """How long the steps of a piece take."""
    begun = time.ticks_us()
    for row in piece:
        keeper.step(*row)
    return time.ticks_diff(time.ticks_us(), begun)


def keeper_of(kept, settings):
    """A keeper of this package; an older one has no use for settings that are new."""
    __import__(kept.__name__ + ".settings")
    known = [row[0] for row in kept.settings.SCHEMA]
    return kept.Keeper(kept.Settings({key: settings[key] for key in settings if key in known}))


def main():
    """Go through the recording once."""
    with open("case.json") as file:
        settings = json.load(file)["settings"]
    keepers = [keeper_of(kept, settings) for kept in (before, after)]
    found = []
    turn = 0
    with open("week.bin", "rb") as file:
        data = file.read(PIECE_ROWS * ROW_BYTES)
        while data:
            piece = rows(data)
            gc.collect()
            pumping = all(keeper.relay.level for keeper in keepers)
            taken = [0, 0]
            for place in (turn, 1 - turn):
                taken[place] = steps_us(keepers[place], piece)
            turn = 1 - turn
            if pumping and all(keeper.relay.level for keeper in keepers):
                found.append(taken)
            data = file.read(PIECE_ROWS * ROW_BYTES)
    print(json.dumps(found))


if __name__ == "__main__":
    main()
