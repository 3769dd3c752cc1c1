"""CRC-16/CCITT-FALSE: polynomial 1021, initial value FFFF, not reflected.

Check value: the ASCII digits 1 to 9 give 29B1 (catalogue of parametrised CRC algorithms).
Half a byte at a time: sixteen table entries are enough and small on a board.
"""

_POLYNOMIAL = 0x1021


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
