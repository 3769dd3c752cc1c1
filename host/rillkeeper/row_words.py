"""What the rows of the board's tables mean: the words beside them in the firmware.

They stand as comments where a reader of a table looks. The board, which has no use for them, is
without them: its bytecode holds no comment.
"""

import inspect
import re
from functools import cache
from types import ModuleType

from keeper import facts, settings

_ROW = re.compile(r"^    +\((.*)\), *# (.+)$", re.MULTILINE)
_CELL = re.compile(r'"([^"]*)"')
_SET = re.compile(r"^set\d_")

Row = tuple[str | int | None, ...]


@cache
def _words(table: ModuleType) -> dict[tuple[str, str], str]:
    """By the first two cells of a row that are text."""
    found = {}
    for row, words in _ROW.findall(inspect.getsource(table)):
        first, second, *_ = _CELL.findall(row)
        found[first, second] = words
    return found


def of_setting(row: Row) -> str:
    """The sentence that says what a setting is; a row of ``settings.SCHEMA``.

    >>> of_setting(("dead_head_pa", "Pa", 1000, 1600000, None))
    'Above this the line is shut.'
    >>> of_setting(("set2_runs", "times", 1, 8, 1))
    'Split into this many runs.'
    """
    return _words(settings)[_SET.sub("", str(row[0])), str(row[1])]


def of_order(pair: tuple[str, str]) -> str:
    """Why the first of two settings must be below the second; a row of ``settings.ORDER``.

    >>> of_order(("cutout_mv", "reconnect_mv"))
    'a flat battery must not count as charged'
    """
    return _words(settings)[pair]


def of_fact(row: Row) -> str:
    """What a fact of the board is; a row of ``facts.FACTS``."""
    return _words(facts)[str(row[facts.NAME]), str(row[facts.EACH])]


def problems(values: dict[str, int]) -> list[str]:
    """Every reason why a board would refuse these settings, one sentence each.

    The board says the same; why two settings must agree is known here only.

    >>> problems({"dry_pa": 50000, "primed_pa": 40000})[-1]
    'dry_pa (50000) must be below primed_pa (40000): a primed pump must not count as dry'
    """
    return [_with_why(found) for found in settings.problems(values)]


def _with_why(problem: str) -> str:
    for smaller, larger in settings.ORDER:
        if re.fullmatch(rf"{smaller} \(-?\d+\) must be below {larger} \(-?\d+\)", problem):
            return f"{problem}: {of_order((smaller, larger))}"
    return problem
