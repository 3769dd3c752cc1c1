"""Where a key stands in the text of a site file, and what in it only lacks its quotes."""

import re
from collections.abc import Iterator

from rillkeeper.errors import Mistake

_TABLE = re.compile(r"\s*(\[\[?)\s*(?P<name>\w+)\s*\]\]?\s*(#.*)?")
_KEY = re.compile(r"\s*(?P<key>\w+)\s*=")
_PATH = re.compile(r"(?:(?P<table>\w+)(?:\[(?P<number>\d+)\])?\.)?(?P<key>\w+)")
_BARE = re.compile(
    r"""\s*(?P<key>\w+)\s*=\s*(?P<value>[^"'\[\]{}\#\s][^"\[\]{}\#]*?["']?)\s*(?P<rest>\#.*)?"""
)
_TOML_VALUE = re.compile(r"true|false|[+-]?(inf|nan|0x[0-9A-Fa-f_]+|[0-9_.]+([eE][+-]?[0-9]+)?)")
_YES = {"yes": "true", "no": "false", "on": "true", "off": "false"}
_BOTH_QUOTES = "'"


def line_of(text: str, path: str) -> int:
    """The line of a path such as "suction.bore" or "set[2].start", from 1; 0 where it is not
    written, or not in the plain way.

    >>> line_of('name = "x"\\n[water]\\nlift = "1 m"\\n', "water.lift")
    3
    """
    wanted = _PATH.fullmatch(path)
    if not wanted:
        return 0
    table, counted = "", 0
    for number, line in enumerate(text.splitlines(), start=1):
        heading = _TABLE.fullmatch(line)
        if heading:
            table = heading["name"]
            counted += table == wanted["table"]
            if path in (table, f"{table}[{counted}]"):
                return number
            continue
        key = _KEY.match(line)
        here = table == (wanted["table"] or "") and counted in (
            0,
            int(wanted["number"] or counted),
        )
        if key and here and key["key"] == wanted["key"]:
            return number
    return 0


def unquoted(text: str) -> Iterator[Mistake]:
    """Values that people write without the quotes that TOML wants: ``lift = 2.4 m``, ``= yes``.

    >>> [str(one) for one in unquoted('lift = 2.4 m')]
    ['line 1: lift = 2.4 m: quotes are missing; write: lift = "2.4 m"']
    """
    for number, line in enumerate(text.splitlines(), start=1):
        found = _BARE.fullmatch(line)
        if not found or _TOML_VALUE.fullmatch(found["value"]):
            continue
        key, value = found["key"], found["value"]
        problem = "quotes are missing"
        if value.lower() in (*_YES, "true", "false"):
            right = _YES.get(value.lower(), value.lower())
            problem = "not a word of this file"
        elif '"' in value:
            right = f"{_BOTH_QUOTES}{value}{_BOTH_QUOTES}"
        else:
            right = f'"{value}"'
        yield Mistake(key, value, f"{problem}; write: {key} = {right}", line=number)
