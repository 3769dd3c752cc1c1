"""The mark that shows a line whole: a blank, a tilde and the CRC-16 of all before the blank."""

from keeper.crc import crc16

MARK_LENGTH = 6


def sealed(text: str) -> str:
    """The line with its mark.

    >>> sealed("ok")
    'ok ~DBD6'
    """
    return f"{text} ~{crc16(text.encode('ascii', 'replace')):04X}"


def unsealed(line: str) -> str | None:
    """What was marked, or None for a line without a mark or with one that does not fit.

    >>> unsealed("ok ~DBD6"), unsealed("ok ~DBD7")
    ('ok', None)
    """
    text = line[:-MARK_LENGTH]
    return text if len(line) > MARK_LENGTH and sealed(text) == line else None
