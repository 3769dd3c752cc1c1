"""Times the control steps of a recorded week, in any of the interpreters.

Reads ``case.json`` and ``week.bin`` as ``tests/interpreters/scripts/replay_week.py`` does.
Prints the number of steps and the microseconds they took; the file's reading is not in them.
"""

import json
import struct
import sys
import time

sys.path.append("")

ROW = "<3i7h"
ROW_BYTES = struct.calcsize(ROW)
PIECE_ROWS = 1024

if hasattr(time, "ticks_us"):
    now_us = time.ticks_us
    since_us = time.ticks_diff
else:

    def now_us():
        """Microseconds of some clock."""
        return time.perf_counter_ns() // 1000

    def since_us(later, earlier):
        """Microseconds from one to the other."""
        return later - earlier


def steps(board, rows):
    """Take the steps of one piece; returns how long they took."""
    start = now_us()
    for n, clock, back, counts in rows:
        if back:
            board.power_back()
        board.step(n, clock, counts)
    return since_us(now_us(), start)


def pieces(file):
    """The recorded rows, some at a time, ready for the board."""
    data = file.read(PIECE_ROWS * ROW_BYTES)
    while data:
        rows = []
        for offset in range(0, len(data), ROW_BYTES):
            row = struct.unpack_from(ROW, data, offset)
            rows.append((row[0], (row[1], row[2], row[3] & 1), row[3] & 2, list(row[4:])))
        yield rows
        data = file.read(PIECE_ROWS * ROW_BYTES)


def main():
    """Run the week once."""
    from board import Board

    from keeper import Settings

    with open("case.json") as file:
        case = json.load(file)
    board = Board(Settings(case["settings"]), case["first_ms"])
    taken_us = 0
    with open("week.bin", "rb") as file:
        for rows in pieces(file):
            taken_us += steps(board, rows)
    print(board.steps, taken_us)


if __name__ == "__main__":
    main()
