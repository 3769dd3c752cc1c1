"""The mark at the end of a line that shows it whole: a blank, a tilde and four digits of CRC.

The same as at the end of a record (keeper/lines.py): CRC-16 of all that comes before the blank.
"""

from keeper.crc import crc16

_DIGITS = "0123456789ABCDEF"
_MARK = " ~"
MARK_LENGTH = 6


def sealed(text: str) -> str:
    """The line with its mark."""
    crc = crc16(text.encode())
    mark = _DIGITS[crc >> 12] + _DIGITS[crc >> 8 & 15] + _DIGITS[crc >> 4 & 15] + _DIGITS[crc & 15]
    return text + _MARK + mark


def unsealed(line: str):
    """What was sealed, or None for a line without a mark or with one that does not fit."""
    text = line[:-MARK_LENGTH]
    return text if len(line) > MARK_LENGTH and sealed(text) == line else None
