"""The mark that shows a line whole: a blank, a tilde and the CRC-16 of all before the blank.

CRC-16/CCITT-FALSE: polynomial 1021, initial value FFFF, not reflected.

Check value: the ASCII digits 1 to 9 give 29B1 (catalogue of parametrised CRC algorithms).
Half a byte at a time: sixteen table entries are enough and small on a board.
"""

from .ticks import const

MARK_LENGTH = 6

_POLYNOMIAL = const(0x1021)


def _entry(nibble: int) -> int:
    crc = nibble << 12
    for _ in range(4):
        crc = (crc << 1 ^ _POLYNOMIAL) if crc & 0x8000 else crc << 1
    return crc & 0xFFFF


_TABLE = tuple([_entry(nibble) for nibble in range(16)])


def crc16(data: bytes, crc: int = 0xFFFF) -> int:
    """The CRC of some bytes, continued from ``crc``."""
    for byte in data:
        crc = (crc << 4 & 0xFFFF) ^ _TABLE[crc >> 12 ^ byte >> 4]
        crc = (crc << 4 & 0xFFFF) ^ _TABLE[crc >> 12 ^ byte & 15]
    return crc


def sealed(text: str) -> str:
    """The line with its mark.

    >>> sealed("ok")
    'ok ~DBD6'
    """
    return "%s ~%04X" % (text, crc16(text.encode()))


def unsealed(line: str):
    """What was sealed, or None for a line without a mark or with one that does not fit.

    >>> unsealed("ok ~DBD6"), unsealed("ok ~DBD7")
    ('ok', None)
    """
    text = line[:-MARK_LENGTH]
    return text if len(line) > MARK_LENGTH and sealed(text) == line else None
