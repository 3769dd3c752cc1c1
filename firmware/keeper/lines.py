"""One record, one line of text, and back: what a terminal shows and a host reads.

    417 2026-07-09 22:30:04 ok primed prime_ms=2100 pressure_pa=148200 battery_mv=12064 ~D6BE

The sequence number comes first, then the board's date and time and whether its clock could be
believed ("ok" or "??"), the kind, its numbers with their units, and a CRC-16 (CCITT, initial
value FFFF) of everything before the blank and the tilde.
"""

from .crc import sealed, unsealed
from .records import FIELDS_MAX, FIRST, KIND, KINDS

_TRUST = ("??", "ok")


class BadLine(ValueError):
    """A line that is torn, damaged or of a later version; the message says which."""


def format_line(row) -> str:
    """The text of one record, without a line end."""
    kind, names = KINDS[row[KIND]]
    parts = [str(row[0]), date_text(row[1]), time_text(row[2]), _TRUST[row[3]], kind]
    for place, name in enumerate(names):
        parts.append(name + "=" + str(row[FIRST + place]))
    return sealed(" ".join(parts))


def parse_line(line: str) -> list:
    """The record in a line: a list of whole numbers in the places that records.py names.

    Raises BadLine when the check does not fit or a word is not known.
    """
    text = unsealed(line.strip())
    if text is None:
        raise BadLine("torn or damaged line: " + line.strip())
    row = None
    try:
        row = _row(text.split(" "))
    except (ValueError, IndexError):
        pass
    if row is None:
        raise BadLine("a record of another version: " + text)
    return row


def _row(words: list) -> list:
    """The numbers in the words of a line; ValueError or IndexError where they do not fit."""
    kind = [word for word, _ in KINDS].index(words[4])
    names = KINDS[kind][1]
    if len(words) != 5 + len(names):
        raise ValueError
    row = [int(words[0]), day_number(words[1]), _seconds(words[2]), _TRUST.index(words[3]), kind]
    for name, word in zip(names, words[5:]):
        key, _, value = word.partition("=")
        if key != name:
            raise ValueError
        row.append(int(value))
    return row + [0] * (FIRST + FIELDS_MAX - len(row))


def date_text(day: int) -> str:
    """ISO 8601 date of a day number (days since 1970-01-01), proleptic Gregorian."""
    # Years from March, in eras of 400 years (146097 days): leap days fall at the end.
    shifted = day + 719468
    era = shifted // 146097
    of_era = shifted - era * 146097
    year_of_era = (of_era - of_era // 1460 + of_era // 36524 - of_era // 146096) // 365
    of_year = of_era - (365 * year_of_era + year_of_era // 4 - year_of_era // 100)
    month_index = (5 * of_year + 2) // 153
    month = month_index + 3 if month_index < 10 else month_index - 9
    year = year_of_era + era * 400 + (1 if month <= 2 else 0)
    return (
        _padded(year, 4)
        + "-"
        + _padded(month, 2)
        + "-"
        + _padded(of_year - (153 * month_index + 2) // 5 + 1, 2)
    )


def day_number(text: str) -> int:
    """The day number of an ISO 8601 date: the inverse of ``date_text``."""
    words = text.split("-")
    if len(words) != 3:
        raise ValueError("no date: " + text)
    return day_of(int(words[0]), int(words[1]), int(words[2]))


def day_of(year: int, month: int, day: int) -> int:
    """The day number of a date in numbers; allocates nothing."""
    if month <= 2:
        year -= 1
    era = year // 400
    of_year = (153 * (month - 3 if month > 2 else month + 9) + 2) // 5 + day - 1
    year_of_era = year - era * 400
    of_era = year_of_era * 365 + year_of_era // 4 - year_of_era // 100 + of_year
    return era * 146097 + of_era - 719468


def time_text(second: int) -> str:
    """hh:mm:ss of a second of the day."""
    minutes = second // 60
    return (
        _padded(minutes // 60, 2) + ":" + _padded(minutes % 60, 2) + ":" + _padded(second % 60, 2)
    )


def _seconds(text: str) -> int:
    hours, minutes, seconds = [int(word) for word in text.split(":")]
    return hours * 3600 + minutes * 60 + seconds


def _padded(number: int, width: int) -> str:
    text = str(number)
    return "0" * (width - len(text)) + text
