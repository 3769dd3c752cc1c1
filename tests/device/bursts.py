"""Every burst of errors up to 16 bits, at every place of a sealed line.

A burst that starts at some bit is an odd number of 16 bits, shifted there: 32,768 patterns. What
each makes of the line is worked out for all at once: a byte that does not print has the line
passed over, anything else must fail the mark. Only where a line end appears in the middle, so
that one line becomes two, and for a sample of all, is the board's own parser asked.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keeper.crc import MARK_LENGTH, crc16
from tests.device.line import Line

Bytes = NDArray[np.uint8]

PATTERNS = np.arange(1, 1 << 16, 2, dtype=np.uint32)
_ENDS = (10, 13)
_DIGITS = np.frombuffer(b"0123456789ABCDEF", dtype=np.uint8)
_CRC_OF_BYTE = np.array([crc16(bytes([byte]), 0) for byte in range(256)], dtype=np.uint16)


@dataclass
class Tally:
    """What became of the lines."""

    tried: int = 0
    passed_over: int = 0
    marks_wrong: int = 0
    split: int = 0
    accepted: int = 0
    """Changed lines whose mark fits: there must be none."""
    parsed: int = 0
    """Lines given to the board's own parser."""


def crc_of(lines: Bytes) -> NDArray[np.uint16]:
    """CRC-16 of each row, a column after the other."""
    crc = np.full(len(lines), 0xFFFF, dtype=np.uint16)
    for column in lines.T:
        crc = (crc << np.uint16(8)) ^ _CRC_OF_BYTE[(crc >> np.uint16(8)).astype(np.uint8) ^ column]
    return crc


def marks_fit(lines: Bytes) -> NDArray[np.bool_]:
    """Whether the end of each row is the mark of what stands before it."""
    crc = crc_of(lines[:, :-MARK_LENGTH])
    fits = (lines[:, -6] == ord(" ")) & (lines[:, -5] == ord("~"))
    for place, shift in zip((-4, -3, -2, -1), (12, 8, 4, 0), strict=True):
        fits &= lines[:, place] == _DIGITS[crc >> np.uint16(shift) & 15]
    return fits


def bursts_at(good: bytes, bit: int) -> Bytes:
    """The line with each burst whose last bit is this one, counted from the end."""
    byte, rest = divmod(bit, 8)
    room = 8 * len(good) - bit
    inside = PATTERNS[PATTERNS < 1 << room] if room < 16 else PATTERNS
    spread = inside << np.uint32(rest)
    lines = np.tile(np.frombuffer(good, dtype=np.uint8), (len(inside), 1))
    for place in range(3):
        at = len(good) - 1 - byte - place
        if at >= 0:
            lines[:, at] ^= (spread >> np.uint32(8 * place) & 0xFF).astype(np.uint8)
    return lines


def sweep(line: Line, change: str, sample: int, split_sample: int = 1) -> Tally:
    """All bursts of a change's line; the parser sees one in ``sample``, and of the split ones
    one in ``split_sample``."""
    good = line.sealed(change).encode()
    tally = Tally()
    for bit in range(8 * len(good)):
        lines = bursts_at(good, bit)
        ends = np.isin(lines, _ENDS).any(axis=1)
        prints = ((lines >= 32) & (lines <= 126)).all(axis=1)
        fits = prints & marks_fit(lines)
        tally.tried += len(lines)
        tally.split += int(ends.sum())
        tally.passed_over += int((~prints & ~ends).sum())
        tally.marks_wrong += int((prints & ~fits).sum())
        tally.accepted += int(fits.sum())
        chosen = np.concatenate([lines[bit % sample :: sample], lines[ends][::split_sample]])
        for row in chosen:
            line.put(row.tobytes() + b"\n\n")
        tally.parsed += len(chosen)
    return tally
