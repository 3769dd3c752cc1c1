"""Replays a recorded week on the board's control package.

Reads ``case.json`` (settings, the counter at the start) and ``week.bin`` (see week.py). Prints,
after every piece of the week, a digest of all outputs and records up to there, then the log.
"""

import hashlib
import json
import struct
import sys

sys.path.append("")
from board import Board
from keeper import Settings

ROW = "<3i7h"
ROW_BYTES = struct.calcsize(ROW)
PIECE_ROWS = 4096
OUT = "<2Bi2H"
OUT_BYTES = struct.calcsize(OUT)


def replay(board, rows, got, out):
    """Take the steps of one piece; the outputs of each go to ``out``."""
    counts = [0] * 6
    place = 0
    for offset in range(0, got, ROW_BYTES):
        row = struct.unpack_from(ROW, rows, offset)
        if row[3] & 2:
            board.power_back()
        for channel in range(6):
            counts[channel] = row[4 + channel]
        level = board.step(row[0], (row[1], row[2], row[3] & 1), counts)
        keeper = board.keeper
        struct.pack_into(
            OUT,
            out,
            place,
            level,
            keeper.state,
            keeper.nap_ms,
            keeper.changed & 0xFFFF,
            keeper.journal.seq & 0xFFFF,
        )
        place += OUT_BYTES
    return place


def main():
    with open("case.json") as file:
        case = json.load(file)
    board = Board(Settings(case["settings"]), case["first_ms"])
    chain = b""
    rows = bytearray(PIECE_ROWS * ROW_BYTES)
    out = bytearray(PIECE_ROWS * OUT_BYTES)
    steps = 0
    told = 0
    with open("week.bin", "rb") as file:
        while True:
            got = file.readinto(rows)
            if not got:
                break
            used = replay(board, rows, got, out)
            digest = hashlib.sha256(chain)
            digest.update(bytes(out[:used]))
            while told < len(board.log):
                digest.update(board.log[told].encode())
                told += 1
            chain = digest.digest()
            steps += got // ROW_BYTES
            print(steps, "".join(["%02x" % byte for byte in chain]))
    for line in board.log:
        print(line)


main()
