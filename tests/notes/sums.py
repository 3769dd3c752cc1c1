"""Reads the ``sums`` blocks of the notes: given values, and arithmetic with its result.

name_unit = 4096                     given
name_unit = other / 4096 = 4.47      worked out; right to the digits that are shown
"""

import re
from dataclasses import dataclass
from math import pi
from pathlib import Path

NOTES = Path(__file__).parents[2] / "hardware_notes"
PAGES = (
    "parts.md",
    "wiring.md",
    "relay.md",
    "sensing.md",
    "power.md",
    "enclosure.md",
    "battery.md",
    "water.md",
    "commissioning.md",
    "failures.md",
    "sums.md",
    "gravity.md",
    "frost.md",
    "solar.md",
    "build.md",
    "wires.md",
)
_BLOCK = re.compile(r"^```sums\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_EXPRESSION = re.compile(r"[\w\s.+*/()-]+")
_NUMBER = re.compile(r"-?\d+(\.\d+)?")


@dataclass(frozen=True)
class Sum:
    """One line of a block."""

    page: str
    name: str
    expression: str
    """Empty where the value is given."""
    value: float
    half_digit: float
    """Half of the last digit that the page shows."""


def read_line(page: str, line: str) -> Sum:
    """One line; raises ValueError for one that is neither of the two kinds."""
    parts = [part.strip() for part in line.split("=")]
    if len(parts) not in (2, 3) or not _NUMBER.fullmatch(parts[-1]):
        raise ValueError(f"{page}: {line!r} is no sum")
    expression = parts[1] if len(parts) == 3 else ""
    if expression and not _EXPRESSION.fullmatch(expression):
        raise ValueError(f"{page}: {expression!r} is no arithmetic")
    decimals = len(parts[-1].partition(".")[2])
    return Sum(page, parts[0], expression, float(parts[-1]), 0.5 * 10.0**-decimals)


def blocks(page: str) -> list[list[Sum]]:
    """The blocks of a page."""
    text = (NOTES / page).read_text(encoding="utf-8")
    return [
        [read_line(page, line) for line in block.splitlines() if line.strip()]
        for block in _BLOCK.findall(text)
    ]


def work_out(lines: list[Sum]) -> list[tuple[Sum, float]]:
    """Each line with what it comes to, from the shown values above it in its block."""
    known: dict[str, float] = {"pi": pi}
    results = []
    for line in lines:
        value = line.value
        if line.expression:
            value = eval(line.expression, {"__builtins__": {}}, known)
        # A sum goes on with all its digits, as on a calculator.
        known[line.name] = value
        results.append((line, value))
    return results
