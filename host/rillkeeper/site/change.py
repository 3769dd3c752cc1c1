"""A site with one value changed, named as in the site file: "suction.bore", "set[1].run"."""

import re
from dataclasses import fields, replace
from typing import Any

from rillkeeper.display_units import counted
from rillkeeper.errors import Mistake, SiteError
from rillkeeper.site.checks import cross_checks
from rillkeeper.site.keys import TABLES
from rillkeeper.site.schema import Row, Table
from rillkeeper.site.value import ValueProblem, nearest_name, read_value
from rillsim.site import Site

SINGLE = tuple(table for table in TABLES if not table.many)
KEYS = tuple(f"{table.name}.{row.key}" for table in SINGLE for row in table.rows)
SET = next(table for table in TABLES if table.name == "set")
SET_KEYS = tuple(f"set[1].{row.key}" for row in SET.rows)
_SET_KEY = re.compile(r"set\[([1-9][0-9]{0,3})\]\.(\w+)")


class UnknownKey(ValueError):
    """No such key in a site file; the text says which is near."""


def find_row(key: str) -> tuple[Table, Row]:
    """The table and the row of a key. Raises UnknownKey."""
    for table in SINGLE:
        for row in table.rows:
            if key == f"{table.name}.{row.key}":
                return table, row
    in_set = _SET_KEY.fullmatch(key)
    set_row = SET.row(in_set[2]) if in_set else None
    if set_row:
        return SET, set_row
    if key.startswith("set"):
        raise UnknownKey(f'no key "{key}"; a set has {", ".join(SET_KEYS)}')
    near = nearest_name(key, KEYS)
    offer = f"; did you mean {near}?" if near else "; as in a site file: table.key"
    raise UnknownKey(f'no key "{key}"{offer}')


def parse_value(key: str, text: str, system: str) -> Any:
    """A value as it would stand in the site file, without its quotes. Raises ValueProblem."""
    _, row = find_row(key)
    text = text.strip()
    value: object = text
    if row.kind == "yes or no":
        value = {"true": True, "false": False}.get(text.lower(), text)
    elif row.kind in ("number", "whole"):
        value = _number(text)
    return read_value(row, value, system)


def value_of(site: Site, key: str) -> Any:
    """The value that a site has, in the field's own unit."""
    _, row = find_row(key)
    return getattr(_record(site, key), row.field)


def shown_value(site: Site, key: str) -> str:
    """The same as a person would write it."""
    _, row = find_row(key)
    return row.show(value_of(site, key), site.units, 3)


def with_value(site: Site, key: str, value: Any) -> Site:
    """The site with another value, which is in the field's own unit.

    A battery of another rating is one in the same state: what was measured grows with it.
    """
    if key == "battery.capacity":
        return replace(site, battery=site.battery.rated(value))
    table, row = find_row(key)
    record = _record(site, key)
    if any(field.name == row.field and field.type is int for field in fields(record)):
        value = round(value)
    changed = {row.field: value}
    if row.key in table.one_of:
        changed["unit"] = table.one_of[row.key]
    record = replace(record, **changed)
    if table is SET:
        place = _set_place(key)
        record = (*site.sets[:place], record, *site.sets[place + 1 :])
    return replace(site, **{table.field: record})


def check_set(site: Site, key: str) -> None:
    """Raises UnknownKey where a key names a set that the site has not."""
    if _SET_KEY.fullmatch(key) and _set_place(key) >= len(site.sets):
        raise UnknownKey(f"{key}: this site has {counted(len(site.sets), 'set')}")


def _record(site: Site, key: str) -> Any:
    """The record of a site that a key belongs to."""
    table, _ = find_row(key)
    return site.sets[_set_place(key)] if table is SET else getattr(site, table.field)


def _set_place(key: str) -> int:
    found = _SET_KEY.fullmatch(key)
    assert found
    return int(found[1]) - 1


def conflicts(site: Site) -> tuple[Mistake, ...]:
    """What does not go together in a changed site."""
    return tuple(cross_checks(site, frozenset(), site.units))


def parse_values(option: str, key: str, texts: list[str], site: Site) -> list[Any]:
    """All values of an option. Raises SiteError with every mistake at once."""
    mistakes, values = [], []
    for text in texts:
        try:
            values.append(parse_value(key, text, site.units))
        except ValueProblem as problem:
            mistakes.append(problem.at(key, text.strip()))
    if mistakes:
        raise SiteError(option, mistakes)
    return values


def _number(text: str) -> object:
    """A whole number, a decimal one, or the text itself where it is neither."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text
