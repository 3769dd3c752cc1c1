"""How one key of a site file is described: its name, its field, its unit, its range.

The rows themselves are in `keys`; the reader, the template and the checks all work
from them, so that a new key is one new row.
"""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rillkeeper import units

LONGEST_TEXT = 80
FITTED = ("not fitted", "fitted")
PLAIN_KINDS = (
    *("text", "whole", "number", "yes or no"),
    *("choice", "crop", "fault", "fitted", "clock"),
)
"""Kinds of value that have no unit; any other kind is a dimension of `units`."""


@dataclass(frozen=True)
class Row:
    """One key of a table."""

    key: str
    field: str
    """Field of the record in `rillsim.site`."""
    kind: str
    low: str = ""
    high: str = ""
    says: str = ""
    """One sentence for the template."""
    per: float = 1.0
    """SI value of one unit of the field, where the field is not in SI (3600 for Ah)."""
    choices: tuple[str, ...] = ()

    @property
    def in_units(self) -> bool:
        """Whether the value is a quantity with a unit."""
        return self.kind not in PLAIN_KINDS

    def limit(self, text: str) -> float:
        """A limit of the range in the field's own unit."""
        return units.parse(text, self.kind) / self.per if self.in_units else float(text)

    def show(self, value: Any, system: str, digits: int = 4) -> str:
        """A value of the field as a person would write it, without quotes."""
        if self.kind == "clock":
            return units.format_clock(value)
        if self.kind == "fitted":
            return FITTED[bool(value)]
        if self.kind == "yes or no":
            return str(bool(value)).lower()
        if self.in_units:
            return units.format(value * self.per, self.kind, system, digits)
        return str(value)

    def names(self) -> tuple[str, ...]:
        """The names to choose from; the simulator's catalogues are read only when asked."""
        if self.kind == "crop":
            from rillsim.garden.crops import CROPS

            return tuple(CROPS)
        if self.kind == "fault":
            from rillsim.faults.catalogue import CATALOGUE

            return tuple(fault.name for fault in CATALOGUE)
        return self.choices

    def allowed(self, system: str) -> str:
        """What may stand here, for the template and for messages."""
        if self.kind == "fitted":
            return " or ".join(f'"{word}"' for word in reversed(FITTED))
        if self.kind in ("choice", "crop", "fault"):
            return ", ".join(f'"{word}"' for word in self.names())
        if self.kind == "yes or no":
            return "true or false"
        if self.kind == "clock":
            return '"00:00" to "23:59"'
        if self.kind == "text":
            return f"a text of 1 to {LONGEST_TEXT} characters on one line"
        if not self.in_units:
            return f"{self.low} to {self.high}"
        low, high = (self.show(self.limit(text), system, 3) for text in (self.low, self.high))
        return f"{low} to {high}"


@dataclass(frozen=True)
class Table:
    """One table of the file, or one kind of list item."""

    name: str
    field: str
    """Field of `Site` that the record goes to."""
    record: type
    says: str
    rows: tuple[Row, ...]
    many: bool = False
    """Written as [[name]], any number of times."""
    one_of: Mapping[str, str] = dataclasses.field(default_factory=dict)
    """Keys of which at most one is given -> the value that field `unit` then has."""

    def row(self, key: str) -> Row | None:
        return next((row for row in self.rows if row.key == key), None)

    def default(self, row: Row) -> Any:
        """Default of a row's field, or `dataclasses.MISSING` where it must be given."""
        found = next(f for f in dataclasses.fields(self.record) if f.name == row.field)
        if row.kind == "fitted":
            return dataclasses.MISSING
        return found.default
