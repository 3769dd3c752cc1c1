"""Whole numbers that object when they leave what a board's small int holds.

A small int of the boards has 31 bits: -2**30 to 2**30 - 1. A result outside, even one that is
divided again at once, would allocate memory there. Anything worked out from a ``Small`` is a
``Small``, so the settings and readings of a test infect all that the control package computes.
"""

import operator
from collections.abc import Callable
from typing import Any

LOWEST, HIGHEST = -(1 << 30), (1 << 30) - 1


class OutOfRange(OverflowError):
    """An intermediate result that does not fit."""


class Small(int):
    def __new__(cls, value: int) -> "Small":
        if not LOWEST <= value <= HIGHEST:
            raise OutOfRange(str(value))
        return super().__new__(cls, value)


def _checked(name: str, swapped: bool) -> Callable[[int, int], Any]:
    function = getattr(operator, name)

    def method(self: int, other: int) -> Any:
        if not isinstance(other, int):
            return NotImplemented
        left, right = int(self), int(other)
        return Small(function(right, left) if swapped else function(left, right))

    return method


for _name in ("add", "sub", "mul", "floordiv", "mod", "and_", "or_", "xor", "lshift", "rshift"):
    _plain = _name.rstrip("_")
    setattr(Small, f"__{_plain}__", _checked(_name, False))
    setattr(Small, f"__r{_plain}__", _checked(_name, True))
Small.__neg__ = lambda self: Small(-int(self))
Small.__abs__ = lambda self: Small(abs(int(self)))


def numbers_in(thing: object, seen: set[int] | None = None) -> list[int]:
    """Every whole number held by an object, its attributes and lists, however deep."""
    seen = set() if seen is None else seen
    if isinstance(thing, int):
        return [int(thing)]
    if id(thing) in seen or isinstance(thing, str | bytes | type(None)):
        return []
    seen.add(id(thing))
    if isinstance(thing, list | tuple):
        parts: list[object] = list(thing)
    elif isinstance(thing, dict):
        parts = list(thing.values())
    else:
        parts = list(vars(thing).values())
    return [number for part in parts for number in numbers_in(part, seen)]
