"""Read a weather table: a row a day, tolerant about its shape and strict about its numbers.

Columns are parted by commas, semicolons or tabs, as the heading row has them; numbers have a
decimal point, or a decimal comma where commas do not part the columns. Days may come in any
order and may be missing. An empty cell, "-" or "NA" is not known.
"""

import csv
import re
from datetime import date
from io import StringIO
from math import isfinite
from pathlib import Path

from rillkeeper.errors import RillkeeperError
from rillkeeper.morning.weather.columns import DATE, LISTED, Heading, HeadingMistake, heading_of

Day = dict[str, float]
"""What is known of a day: values by the name of their column, in the column's own unit."""
Days = dict[int, Day]
"""By day number, counted from 1970-01-01."""

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
UNKNOWN = ("", "-", "na", "n/a", "nan", "null")
LARGEST_FILE = 20_000_000
MISTAKES_MAX = 20
_EPOCH = date(1970, 1, 1)


class WeatherMistakes(RillkeeperError):
    """All that is wrong with a weather table, a line for each."""

    def __init__(self, source: str, mistakes: list[str]) -> None:
        self.mistakes = tuple(mistakes)
        shown = mistakes[:MISTAKES_MAX]
        more = len(mistakes) - len(shown)
        shown += [f"and {more} more"] if more else []
        if len(shown) == 1:
            super().__init__(f"{source}: {shown[0]}")
        else:
            super().__init__("\n  ".join([f"{source}: {len(mistakes)} mistakes", *shown]))


def read_file(path: Path) -> Days:
    """The days of a file."""
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise RillkeeperError(f"{path}: far too large for a table of daily weather")
        content = path.read_bytes()
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be read: {error.strerror}") from None
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = content.decode("utf-16", errors="replace")
    else:
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:  # Older spreadsheets write the degree sign so.
            text = content.decode("cp1252", errors="replace")
    return read_text(text, path.name)


def read_text(text: str, source: str = "weather") -> Days:
    """The days of a table.

    >>> read_text("date;t_max [C];rain [mm]\\n2026-07-09;27,5;0\\n")
    {20643: {'t_max': 27.5, 'rain': 0.0}}
    """
    lines = text.lstrip("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    separator = max(SEPARATORS, key=first.count)
    reader = csv.reader(
        StringIO(text.lstrip("\ufeff"), newline=""), delimiter=separator, strict=True
    )
    rows: list[tuple[int, list[str]]] = []
    try:
        rows = [(reader.line_num, cells) for cells in reader if any(map(str.strip, cells))]
    except csv.Error as error:
        raise WeatherMistakes(
            source, [f"line {reader.line_num}: not a CSV table: {error}"]
        ) from None
    if not rows:
        raise WeatherMistakes(source, [f"is empty; its first line names the columns: {LISTED}"])
    table = _Table(separator)
    table.headings(*rows[0])
    if not table.mistakes:
        for line, cells in rows[1:]:
            table.row(line, cells)
        if len(rows) < 2:
            table.mistakes.append("has headings and no days; give a row a day")
    if table.mistakes:
        raise WeatherMistakes(source, table.mistakes)
    return dict(sorted(table.days.items()))


class _Table:
    """Days and mistakes while the rows come in."""

    def __init__(self, separator: str) -> None:
        self.separator = separator
        self.columns: list[Heading | None] = []
        self.days: Days = {}
        self.lines: dict[int, int] = {}
        self.mistakes: list[str] = []

    def headings(self, line: int, cells: list[str]) -> None:
        """The first row."""
        seen: set[str] = set()
        for cell in cells:
            try:
                heading = heading_of(cell)
            except HeadingMistake as mistake:
                self.mistakes.append(f'line {line}: column "{cell.strip()}" {mistake}')
                continue
            if heading is not None:
                name = heading.column.name if heading.column else DATE
                if name in seen:
                    self.mistakes.append(f"line {line}: two columns for {name}; keep one")
                seen.add(name)
            self.columns.append(heading)
        if self.mistakes:
            return
        if DATE not in seen:
            self.mistakes.append(f"line {line}: no column date; columns may be: {LISTED}")
        elif len(seen) == 1:
            self.mistakes.append(f"line {line}: no column that is known; they may be: {LISTED}")

    def row(self, line: int, cells: list[str]) -> None:
        """A day."""
        if len(cells) != len(self.columns):
            self.mistakes.append(
                f"line {line}: {len(cells)} cells for {len(self.columns)} columns, parted by "
                f"{SEPARATORS[self.separator]}{self._comma_hint(len(cells))}"
            )
            return
        day, values = None, {}
        before = len(self.mistakes)
        for heading, cell in zip(self.columns, cells, strict=True):
            if heading is None:
                continue
            if heading.column is None:
                day = self._date(line, cell)
            elif cell.strip().lower() not in UNKNOWN:
                value = self._value(line, heading, cell)
                if value is not None:
                    values[heading.column.name] = value
        if day is None or len(self.mistakes) > before:
            return
        self._between(line, values)
        if day in self.days:
            self.mistakes.append(
                f"line {line}, date: this day stands in line {self.lines[day]} already"
            )
        self.days[day], self.lines[day] = values, line

    def _comma_hint(self, cells: int) -> str:
        """Commas that were meant for decimals part cells in two."""
        split = self.separator == "," and cells > len(self.columns)
        return "; decimal commas need semicolons between the columns" if split else ""

    def _date(self, line: int, cell: str) -> int | None:
        text = cell.strip().split("T")[0].split(" ")[0]
        dotted = re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", text)
        try:
            if dotted:
                day, month, year = map(int, dotted.groups())
                return (date(year, month, day) - _EPOCH).days
            return (date.fromisoformat(text) - _EPOCH).days
        except ValueError:
            self.mistakes.append(
                f'line {line}, date: "{cell.strip()[:40]}" is not a day; allowed: 2026-07-09 or '
                "9.7.2026"
            )
            return None

    def _value(self, line: int, heading: Heading, cell: str) -> float | None:
        assert heading.column is not None
        where = f"line {line}, {heading.written.strip()}"
        text = cell.strip()
        if self.separator != ",":
            text = text.replace(",", ".", 1)
        try:
            value = heading.value(float(text))
        except ValueError:
            self.mistakes.append(
                f'{where}: "{cell.strip()[:40]}" is not a number; allowed: '
                f"{heading.column.allowed}"
            )
            return None
        if not isfinite(value) or not heading.column.low <= value <= heading.column.high:
            self.mistakes.append(
                f'{where}: "{cell.strip()[:40]}" cannot be; allowed: {heading.column.allowed}'
            )
            return None
        return value

    def _between(self, line: int, values: Day) -> None:
        for low, high in (("t_min", "t_max"), ("humidity_min", "humidity_max")):
            if low in values and high in values and values[low] > values[high]:
                self.mistakes.append(
                    f"line {line}: {low} {values[low]:g} is above {high} {values[high]:g}"
                )
