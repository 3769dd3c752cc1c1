"""A commented site file, written from the schema."""

import dataclasses
import textwrap

from rillkeeper.errors import as_toml
from rillkeeper.site.keys import HEADING, TABLES
from rillkeeper.site.schema import Row, Table

WIDTH = 88

_OPENING = """\
# A site for rillkeeper.
#
# Every quantity is a text with its unit, metric or US customary: "18 m", "3/4 in",
# "5.5 gal/min", "2.5 mm2", "12 AWG", "35 psi", "70 F".
#
# What is not known better may be a range, "1.2 m to 1.8 m": `rillkeeper size` then says how sure
# it is, and all else works with the middle.
#
# A line such as #key = "18 m" shows the default. To change it, take away the # and write
# your own. The range after a sentence is what is accepted.
#
# Water, electricity and batteries hurt people. Put the fuse within 18 cm of the battery's
# positive clamp, never work on the wiring with the battery connected, charge a lead-acid
# battery where the gas can get out, and keep children away from open water.
"""


def commented_template(system: str = "metric") -> str:
    """The text of a new site file in one system of units, "metric" or "us".

    Everything in it is a default but for the channels of the board, which are left as "?":
    somebody has to look at the board and say what is fitted.
    """
    parts = [_OPENING, _lines(HEADING, system)]
    for table in TABLES:
        optional = table.many and table.name != "set"
        opening = f"[[{table.name}]]" if table.many else f"[{table.name}]"
        mark = "#" if optional else ""
        parts.append(f"# {table.says}\n{mark}{opening}\n{_lines(table, system)}")
    return "\n".join(parts)


def _lines(table: Table, system: str) -> str:
    return "".join(
        _comment(f"{row.says.rstrip('.')} ({row.allowed(system)}).")
        + f"\n{_assignment(table, row, system)}\n"
        for row in table.rows
    )


def _comment(sentence: str) -> str:
    return "\n".join(f"# {line}" for line in textwrap.wrap(sentence, WIDTH - 2))


def _assignment(table: Table, row: Row, system: str) -> str:
    if table is HEADING and row.key == "fixed":
        return "#fixed ="
    if table is HEADING:
        text = {"name": "my plot", "units": system}[row.key]
        return f"{row.key} = {as_toml(text)}"
    default = table.default(row)
    if row.kind == "fitted":
        return f'{row.key} = "?"'
    if row.key in table.one_of:
        return _amount(table, row, system)
    if default is dataclasses.MISSING:
        return f"#{row.key} ="
    shown = row.show(default, system)
    if row.kind not in ("whole", "number", "yes or no"):
        shown = as_toml(shown)
    return f"#{row.key} = {shown}"


def _amount(table: Table, row: Row, system: str) -> str:
    """The amount of a set stands under one of several keys; the default under its own."""
    record = table.record()
    if table.one_of[row.key] != record.unit:
        return f"#{row.key} ="
    return f"#{row.key} = {as_toml(row.show(record.amount, system))}"
