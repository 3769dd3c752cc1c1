"""Faults on the command line: NAME@NIGHT+OFFSET[:SEVERITY][/TIME].

As in outlet_shut@3+20min:1.0, and strainer_blocking@2:0.8/5d for one that grows to its
severity over five days.
"""

import re
from typing import Any

from rillkeeper.errors import UsageMistake
from rillkeeper.site.checks import ONE_SIDED
from rillkeeper.site.keys import FAULT
from rillkeeper.site.value import ValueProblem, nearest_name, read_value
from rillsim.faults.catalogue import find
from rillsim.site import FaultSpec

SHAPE = "NAME@NIGHT+OFFSET[:SEVERITY][/TIME]"
EXAMPLE = "outlet_shut@3+20min:1.0"
GROWING = "strainer_blocking@2:0.8/5d"
_SPEC = re.compile(
    r"(?P<name>[^@]+)@(?P<night>[0-9]{1,6})"
    r"(?:(?P<sign>[+-])(?P<offset>[^:/]+))?(?::(?P<severity>[^/]+))?(?:/(?P<grows>.+))?"
)


def fault_names() -> tuple[str, ...]:
    """Names of the catalogue, in its order."""
    row = FAULT.row("name")
    assert row is not None
    return row.names()


def parse_fault(text: str) -> FaultSpec:
    """Read one fault; nights count from 1, and the offset from the night's first set.

    The offset may be left out (0) or be negative ("rain@2-6h"); the severity may be left
    out (1, full), and so may the time in which it grows. Raises `UsageMistake` with the
    nearest name where a name is misspelt.
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
    fault = FaultSpec(
        name=name,
        night=_part(text, "night", int(found["night"])),
        offset_s=_part(text, "offset", f"{found['sign'] or '+'}{found['offset'] or '0 min'}"),
        severity=_part(text, "severity", _severity(text, found["severity"] or "1")),
        grows_s=_part(text, "grows", found["grows"] or "0 min"),
    )
    if fault.severity < 0.0 and not find(name).both_ways:
        raise UsageMistake(f'fault "{text}": {ONE_SIDED}')
    return fault


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
