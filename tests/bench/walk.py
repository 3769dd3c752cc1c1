"""A million steps on 32 bits with the heap locked: the walks of the tests, further."""

import tempfile
from pathlib import Path

from tests import outside
from tests.bench.table import Row
from tests.interpreters import walks

FIGURE = "control steps with the heap locked, wasm, 32 bits"
CHANCES = range(100, 108)
"""Seeds that no test has."""


def cases(steps: int) -> walks.Walks:
    """A fifth of them through the garden's troubles in turn, the rest with chance on top."""
    garden = {"garden": "garden", "start_ms": 0, "seed": 7, "steps": steps // 5}
    part = steps * 4 // 5 // len(CHANCES)
    chaos = {"garden": "chaos", "start_ms": 2**29, "steps": part}
    return [garden, *({**chaos, "seed": seed} for seed in CHANCES)]


def rows(steps: int = 1_000_000) -> list[Row]:
    """How many went without an allocation, and whether CPython did the same."""
    for program in ("node", "wasm"):
        if outside.find(program) is None:
            return [Row(FIGURE, f"{program} is missing: {outside.HOW_TO_GET[program]}")]
    asked = cases(steps)
    with tempfile.TemporaryDirectory() as name:
        here = walks.walked("cpython", Path(name), asked)
        there = walks.walked("wasm", Path(name), asked)
    found = walks.pairs(there)
    taken = sum(walk["steps"] for walk in there)
    free = not walks.wrong(asked, there) and taken == sum(case["steps"] for case in asked)
    passed = f"{found['moves']} pairs of event and state, {found['acts']} of rule and state"
    verdict = ("no" if free else "some") + " allocation, "
    verdict += "as CPython" if there == here else "other than CPython"
    return [
        Row(
            FIGURE,
            f"{taken:,} steps through {passed}",
            result=verdict,
            goal="no allocation, as CPython",
            met=free and there == here,
        )
    ]
