"""Read a site file: TOML for people, with a unit on every quantity, into `rillsim.site.Site`.

All mistakes are found before any is reported. What is left out takes its default, except for
what is fitted on the board, which must be said. A quantity may be a range, "1.2 m to 1.8 m":
its middle is the value that the week and the limits work with, and the range is kept beside it
for the sizing, which says how sure it is.
"""

import dataclasses
import re
import tomllib
from functools import partial
from pathlib import Path
from typing import Any

from rillkeeper.errors import Mistake, RillkeeperError, SiteError, as_toml
from rillkeeper.site.checks import cross_checks
from rillkeeper.site.keys import HEADING, SHEET_ROW, TABLES
from rillkeeper.site.places import line_of, unquoted
from rillkeeper.site.schema import Row, Table
from rillkeeper.site.value import ValueProblem, nearest_name, read_range, read_value
from rillsim.site import InputRange, SheetRow, Site, WaterSource, WeatherSpec
from rillsim.water.season import water_c

LARGEST_FILE = 1_000_000
"""Bytes. A site is some hundred lines; anything far longer is another file by mistake."""
RANGED_LISTS = ("set",)
"""Lists whose quantities may be ranges: what happens on a day happens as it is written."""
FOUR_FIGURES = ("open_flow", "open_current", "shutoff", "max_current")
"""What a pump's table says in their place."""
LEAST_ROWS = 3
DEMO = Path(__file__).parents[1] / "demo" / "site.toml"


def load_site(path: Path | str) -> Site:
    """Read a file; `SiteError` lists all its mistakes."""
    source = Path(path)
    try:
        content = source.read_bytes()
    except OSError as error:
        raise RillkeeperError(f"{source}: cannot be read: {error.strerror}") from None
    if len(content) > LARGEST_FILE:
        raise SiteError(source.name, [Mistake("file", "", "far too long for a site")])
    try:
        return read_site(content.decode("utf-8-sig"), source.name)
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        mistake = Mistake(f"line {line}", "", "not UTF-8 text", "save the file as UTF-8")
        raise SiteError(source.name, [mistake]) from None


def demo_site() -> Site:
    """The demonstration site that comes with the package."""
    return load_site(DEMO)


def read_site(text: str, source: str = "site") -> Site:
    """Read the text of a site file; `SiteError` lists all its mistakes."""
    return _Reader(source).read(text)


class _Reader:
    """Collects mistakes while it builds the records of one file."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.system = "metric"
        self.mistakes: list[Mistake] = []
        self.ranges: list[InputRange] = []

    def read(self, text: str) -> Site:
        data = self._toml(text)
        if data.get("units") == "us":
            self.system = "us"
        tables = {table.name: table for table in TABLES}
        heading = {key: value for key, value in data.items() if HEADING.row(key)}
        self._unknown_names(data, tables)
        parts: dict[str, Any] = self._fields(HEADING, "", heading)
        for name, table in tables.items():
            given = data.get(name)
            if table.many:
                parts.update(self._list(table, given))
            else:
                parts[table.field] = self._record(table, name, given if name in data else {})
        parts["water"] = _by_season(parts["water"], data, parts["weather"])
        self._table_of_the_sheet(parts, parts.pop(SHEET_ROW.field, ()), data.get("pump"))
        parts["ranges"] = tuple(self.ranges)
        site = Site(**{name: part for name, part in parts.items() if part is not None})
        wrong = frozenset(re.sub(r"\[\d+\]", "", mistake.path) for mistake in self.mistakes)
        for mistake in cross_checks(site, wrong, self.system, partial(_as_written, data)):
            self.mistakes.append(_read_from(data, mistake))
        if self.mistakes:
            raise SiteError(
                self.source,
                [dataclasses.replace(one, line=line_of(text, one.path)) for one in self.mistakes],
            )
        return site

    def _table_of_the_sheet(
        self, parts: dict[str, Any], rows: tuple[SheetRow, ...], given: object
    ) -> None:
        """Give the pump the rows of its table, in the place of the four figures."""
        if not rows or parts.get("pump") is None:
            return
        figures = [key for key in FOUR_FIGURES if isinstance(given, dict) and key in given]
        pressures = [row.pressure_pa for row in rows]
        problem = ""
        if figures:
            problem, wanted = f"beside {', '.join(figures)} of [pump]", "the table or the figures"
        elif len(rows) < LEAST_ROWS or len(set(pressures)) < len(rows):
            problem, wanted = "too few rows", f"{LEAST_ROWS} rows or more, each another pressure"
        elif min(pressures) > 0.0:
            problem, wanted = "no row with an open outlet", "a row at a pressure of 0"
        else:
            first = min(rows, key=lambda row: row.pressure_pa)
            last = max(rows, key=lambda row: row.pressure_pa)
            if first.flow_m3_s <= 0.0 or last.current_a <= first.current_a:
                problem, wanted = "not a pump's table", "current that rises with pressure"
        if problem:
            self.mistakes.append(Mistake(SHEET_ROW.name, "", problem, wanted))
            return
        parts["pump"] = parts["pump"].with_table(rows)

    def _toml(self, text: str) -> dict[str, Any]:
        try:
            data = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            bare = list(unquoted(text))
            wrong = bare or [_syntax_mistake(text, str(error))]
            raise SiteError(self.source, wrong) from None
        except RecursionError:
            raise SiteError(self.source, [Mistake("file", "", "nested far too deep")]) from None
        except ValueError as error:  # A date or number that TOML allows and Python cannot hold.
            raise SiteError(self.source, [Mistake("file", "", str(error))]) from None
        if not data:
            hint = "start from `rillkeeper site new`"
            raise SiteError(self.source, [Mistake("file", "", "nothing in it", hint)])
        return data

    def _unknown_names(self, data: dict[str, Any], tables: dict[str, Table]) -> None:
        known = (*tables, *(row.key for row in HEADING.rows))
        for name, value in data.items():
            if name in known:
                continue
            kind = "table" if isinstance(value, (dict, list)) else "key"
            near = nearest_name(name, known) or _elsewhere(name)
            allowed = ", ".join(known)
            self.mistakes.append(Mistake(name, as_toml(value), f"unknown {kind}", allowed, near))

    def _list(self, table: Table, given: object) -> dict[str, Any]:
        if given is None:
            return {}
        if not isinstance(given, list) or not all(isinstance(item, dict) for item in given):
            problem = "not a list of tables"
            wanted = f"write [[{table.name}]] over each"
            self.mistakes.append(Mistake(table.name, as_toml(given), problem, wanted))
            return {}
        records = [
            self._record(table, f"{table.name}[{number}]", item)
            for number, item in enumerate(given, 1)
        ]
        return {table.field: tuple(record for record in records if record is not None)}

    def _record(self, table: Table, path: str, given: object) -> Any:
        """The record of one table, with defaults where there were mistakes, or None."""
        if not isinstance(given, dict):
            problem = "not a table"
            wanted = f"write [{table.name}] on a line of its own"
            self.mistakes.append(Mistake(path, as_toml(given), problem, wanted))
            given = {}
            if any(table.default(row) is dataclasses.MISSING for row in table.rows):
                return None
        for key, value in given.items():
            if table.row(key) is None:
                keys = tuple(row.key for row in table.rows)
                near = nearest_name(key, keys) or _elsewhere(key)
                self.mistakes.append(
                    Mistake(f"{path}.{key}", as_toml(value), "unknown key", ", ".join(keys), near)
                )
        fields = self._fields(table, path, given)
        needed = {
            field.name
            for field in dataclasses.fields(table.record)
            if field.default is dataclasses.MISSING
        }
        return table.record(**fields) if needed <= fields.keys() else None

    def _fields(self, table: Table, path: str, given: dict[str, Any]) -> dict[str, Any]:
        whole = {field.name for field in dataclasses.fields(table.record) if field.type is int}
        fields: dict[str, Any] = {}
        for row in table.rows:
            place = f"{path}.{row.key}" if path else row.key
            if row.key not in given:
                self._must_be_given(table, row, place)
                continue
            try:
                value = self._value(table, row, place, given[row.key])
            except ValueProblem as problem:
                self.mistakes.append(problem.at(place, given[row.key]))
                continue
            fields[row.field] = round(value) if row.field in whole else value
        self._one_of(table, path, given, fields)
        return fields

    def _value(self, table: Table, row: Row, place: str, given: object) -> Any:
        """A value in the field's own unit; the middle of a range, which is kept beside it."""
        ends = read_range(row, given, self.system)
        if ends is None:
            return read_value(row, given, self.system)
        if table.many and table.name not in RANGED_LISTS:
            raise ValueProblem("a range, where one value belongs", row.allowed(self.system))
        low, high = ends
        if low < high:
            self.ranges.append(InputRange(place, low, high))
        return (low + high) / 2.0

    def _must_be_given(self, table: Table, row: Row, place: str) -> None:
        if table.default(row) is not dataclasses.MISSING:
            return
        problem = "must be said, and is not there"
        self.mistakes.append(Mistake(place, "", problem, row.allowed(self.system)))

    def _one_of(
        self, table: Table, path: str, given: dict[str, Any], fields: dict[str, Any]
    ) -> None:
        found = [key for key in table.one_of if key in given]
        if len(found) > 1:
            read = " and ".join(found)
            wanted = "one of " + ", ".join(table.one_of)
            self.mistakes.append(Mistake(path, read, "they exclude each other", wanted))
        elif found:
            fields["unit"] = table.one_of[found[0]]


def _by_season(water: WaterSource, data: dict[str, Any], weather: WeatherSpec) -> WaterSource:
    """Water that nobody has measured follows the weather, where that is said."""
    told, season = data.get("water", {}), data.get("weather", {})
    if not isinstance(season, dict) or not {"t_max", "t_min"} & season.keys():
        return water
    if not isinstance(told, dict) or "temperature" in told:
        return water
    mean_c = 0.5 * (weather.t_max_c + weather.t_min_c)
    return dataclasses.replace(water, temperature_c=water_c(mean_c))


def _as_written(data: dict[str, Any], path: str) -> str:
    """The value at a path as it stands in the file, or nothing where it took its default."""
    found = re.fullmatch(r"(?P<table>\w+)(?:\[(?P<number>\d+)\])?\.(?P<key>\w+)", path)
    if not found:
        return ""
    table = data.get(found["table"], {})
    if found["number"]:
        table = table[int(found["number"]) - 1]
    return as_toml(table[found["key"]]) if found["key"] in table else ""


def _read_from(data: dict[str, Any], mistake: Mistake) -> Mistake:
    """A mistake between keys, with its value as it is written, or as the default that it is."""
    written = _as_written(data, mistake.path)
    if written or "." not in mistake.path:
        return dataclasses.replace(mistake, read=written or mistake.read)
    return dataclasses.replace(mistake, read="", default=mistake.read)


def _elsewhere(key: str) -> str:
    """Where a key that is unknown here would be known."""
    for table in TABLES:
        if table.row(key):
            return f"{table.name}.{key}"
    return ""


def _syntax_mistake(text: str, error: str) -> Mistake:
    """A TOML error with the line it stands on."""
    found = re.fullmatch(r"(?P<what>.*) \(at (?:line (?P<line>\d+), column \d+|.*)\)", error, re.S)
    what = found["what"] if found else error
    lines = text.splitlines()
    number = int(found["line"]) if found and found["line"] else max(1, len(lines))
    seen = lines[number - 1].strip() if number <= len(lines) else ""
    problem = f"not TOML: {what[:1].lower()}{what[1:]}"
    if seen:
        problem += f', in "{seen[:60]}"'
    return Mistake(f"line {number}", "", problem)
