"""Records of a run log as CSV (RFC 4180): a row a record, a column a number, units in the names.

The times are the board's: local standard time, without an offset.
"""

import csv
from collections.abc import Iterable
from pathlib import Path

from keeper.lines import date_text, time_text
from keeper.records import KINDS
from rillkeeper.runlog.lines import Entry

NUMBERS = tuple(dict.fromkeys(name for _, names in KINDS for name in names))
"""Every number that some kind of record has, once."""


def write(entries: Iterable[Entry], path: Path) -> None:
    """Write the file."""
    with path.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file)
        rows.writerow(["seq", "time", "clock_ok", "kind", *NUMBERS])
        for entry in entries:
            head = [entry.seq, moment(entry), int(entry.trusted), entry.kind]
            rows.writerow([*head, *(entry.numbers.get(name, "") for name in NUMBERS)])


def moment(entry: Entry) -> str:
    """When it was written, by the board's clock (ISO 8601)."""
    return f"{date_text(entry.day)}T{time_text(entry.second)}"
