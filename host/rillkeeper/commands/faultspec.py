"""Faults on the command line: NAME@NIGHT+OFFSET[:SEVERITY], as in outlet_shut@3+20min:1.0."""

import re
from typing import Any

from rillkeeper import units
from rillkeeper.errors import UsageMistake
from rillkeeper.site.tables import FAULT
from rillkeeper.site.value import ValueProblem, nearest_name, read_value
from rillsim.site import FaultSpec

SHAPE = "NAME@NIGHT+OFFSET[:SEVERITY]"
EXAMPLE = "outlet_shut@3+20min:1.0"
_SPEC = re.compile(
    r"(?P<name>[^@]+)@(?P<night>[0-9]{1,6})"
    r"(?:(?P<sign>[+-])(?P<offset>[^:]+))?(?::(?P<severity>.+))?"
)


def fault_names() -> tuple[str, ...]:
    """Names of the catalogue, in its order."""
    row = FAULT.row("name")
    assert row is not None
    return row.names()


def parse_fault(text: str) -> FaultSpec:
    """Read one fault; nights count from 1, and the offset from the night's first set.

    The offset may be left out (0) or be negative ("rain@2-6h"); the severity may be left
    out (1, full). Raises `UsageMistake` with the nearest name where a name is misspelt.
    """
    found = _SPEC.fullmatch(text.strip())
    if not found:
        raise UsageMistake(f'fault "{text}" is not written {SHAPE}; example: {EXAMPLE}')
    name = found["name"]
    names = fault_names()
    if name not in names:
        near = nearest_name(name, names)
        hint = f"nearest: {near}" if near else f"known: {', '.join(names)}"
        raise UsageMistake(f'no fault is called "{name}"; {hint}')
    return FaultSpec(
        name=name,
        night=_part(text, "night", int(found["night"])),
        offset_s=_part(text, "offset", f"{found['sign'] or '+'}{found['offset'] or '0 min'}"),
        severity=_part(text, "severity", _severity(text, found["severity"] or "1")),
    )


def format_fault(fault: FaultSpec) -> str:
    """The same fault as text; `parse_fault` reads it back."""
    offset = units.format(abs(fault.offset_s), "time", digits=15).replace(" ", "")
    sign = "-" if fault.offset_s < 0 else "+"
    return f"{fault.name}@{fault.night}{sign}{offset}:{fault.severity!r}"


def _part(text: str, key: str, value: object) -> Any:
    """One part of a fault, held to the same range as in a site file."""
    row = FAULT.row(key)
    assert row is not None
    try:
        return read_value(row, value, "metric")
    except ValueProblem as problem:
        mistake = problem.at(key, value)
        raise UsageMistake(f'fault "{text}": {mistake}') from None


def _severity(text: str, severity: str) -> float:
    try:
        return float(severity)
    except ValueError:
        raise UsageMistake(f'fault "{text}": severity "{severity}" is not a number') from None
