"""Read one value of a site file by its row, or say what is wrong with it."""

import difflib
from datetime import time
from typing import Any

from rillkeeper import units
from rillkeeper.errors import Mistake, as_toml
from rillkeeper.site.schema import FITTED, LONGEST_TEXT, Row

_TYPE_NAMES = {
    str: "a text",
    bool: "true or false",
    int: "a number",
    float: "a number",
    dict: "a table",
    list: "a list",
}


class ValueProblem(Exception):
    """What is wrong with a value, what is allowed, and the nearest valid one."""

    def __init__(self, problem: str, allowed: str, nearest: str = "") -> None:
        super().__init__(problem)
        self.problem, self.allowed, self.nearest = problem, allowed, nearest

    def at(self, path: str, value: object) -> Mistake:
        return Mistake(path, as_toml(value), self.problem, self.allowed, self.nearest)


def read_value(row: Row, value: object, system: str) -> Any:
    """The field's value in the field's own unit; ranges are told in the site's units."""
    if row.in_units:
        return _quantity(row, value, system)
    if row.kind in ("number", "whole"):
        return _plain_number(row, value, system)
    if row.kind in ("yes or no", "fitted") and _yes_or_no(value) is not None:
        return _yes_or_no(value)
    if row.kind == "yes or no":
        raise _wrong_type(row, value, system)
    if row.kind == "clock" and isinstance(value, time) and not value.second:
        return (value.hour * 60 + value.minute) * 60
    if not isinstance(value, str):
        raise _wrong_type(row, value, system)
    if row.kind == "clock":
        try:
            return units.parse_clock(value)
        except units.UnitError as error:
            raise ValueProblem(error.problem, error.allowed) from None
    if row.kind == "text":
        if not 1 <= len(value.strip()) <= LONGEST_TEXT or not value.isprintable():
            raise ValueProblem("not a name", row.allowed(system))
        return value
    if row.kind == "fitted":
        return bool(FITTED.index(_one_of(row, value, FITTED, system)))
    return _one_of(row, value, row.names(), system)


def read_range(row: Row, value: object, system: str) -> tuple[float, float] | None:
    """Both ends of a value such as "1.2 m to 1.8 m", or none where it is no range.

    Raises ValueProblem where one of the ends is out of bounds.
    """
    if not isinstance(value, str) or " to " not in value:
        return None
    if row.in_units:
        try:
            found = units.parse_range(value, row.kind)
        except units.UnitError as error:
            raise ValueProblem(error.problem, error.allowed, error.nearest) from None
        if found is None:
            return None
        low, high = (end / row.per for end in found)
    elif row.kind in ("number", "whole"):
        kind = int if row.kind == "whole" else float
        try:
            low, high = sorted(kind(end) for end in value.split(" to "))
        except ValueError:
            raise ValueProblem(
                "not a range", f'two numbers, such as "{row.low} to {row.high}"'
            ) from None
    else:
        return None
    for end in (low, high):
        _in_range(row, end, system)
    return low, high


def nearest_name(name: str, names: tuple[str, ...]) -> str:
    """The closest of some names, or nothing where none is close."""
    by_lower = {known.lower(): known for known in names}
    near = difflib.get_close_matches(name.lower().replace(" ", "_"), by_lower, n=1)
    near = near or difflib.get_close_matches(name.lower(), by_lower, n=1)
    return by_lower[near[0]] if near else ""


_YES = {
    **dict.fromkeys(("yes", "true", "fitted"), True),
    **dict.fromkeys(("no", "false", "not fitted"), False),
}


def _yes_or_no(value: object) -> bool | None:
    """As people write it; None for anything else."""
    if isinstance(value, bool):
        return value
    return _YES.get(value.strip().lower()) if isinstance(value, str) else None


def _one_of(row: Row, value: str, names: tuple[str, ...], system: str) -> str:
    if value in names:
        return value
    near = nearest_name(value, names)
    allowed = row.allowed(system)
    if near and row.kind in ("crop", "fault"):  # A long list would hide the likely name.
        allowed = f"a {row.kind} of the list that `rillkeeper site new` prints"
    raise ValueProblem("not one of the names", allowed, near)


def _quantity(row: Row, value: object, system: str) -> float | int:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        example = row.show(_middle(row), system)
        raise ValueProblem("the unit is missing", f'a text with its unit, such as "{example}"')
    if not isinstance(value, str):
        raise _wrong_type(row, value, system)
    try:
        amount = units.parse(value, row.kind) / row.per
    except units.UnitError as error:
        raise ValueProblem(error.problem, error.allowed, error.nearest) from None
    _in_range(row, amount, system)
    return amount


def _plain_number(row: Row, value: object, system: str) -> float | int:
    whole = row.kind == "whole"
    if isinstance(value, bool) or not isinstance(value, int if whole else (int, float)):
        raise _wrong_type(row, value, system)
    amount = int(value) if whole else float(value)
    _in_range(row, amount, system)
    return amount


def _in_range(row: Row, amount: float, system: str) -> None:
    low, high = row.limit(row.low), row.limit(row.high)
    if low <= amount <= high:
        return
    if amount < 0 <= low and row.kind != "temperature":
        problem = "negative"
    elif amount < low:
        problem = "too small to be true"
    elif amount > high:
        problem = "too large to be true"
    else:
        problem = "not a number"
    raise ValueProblem(problem, row.allowed(system))


def _middle(row: Row) -> float:
    """A value for an example, well inside the range."""
    low, high = row.limit(row.low), row.limit(row.high)
    middle = (max(low, high / 1000) * high) ** 0.5
    return float(f"{middle:.1g}")


def _wrong_type(row: Row, value: object, system: str) -> ValueProblem:
    got = _TYPE_NAMES.get(type(value), "a date or time")
    wanted = {"whole": "a whole number, ", "number": "a number, "}.get(row.kind, "")
    if row.in_units:
        wanted = "a text with its unit, "
    return ValueProblem(f"wrong type, {got}", wanted + row.allowed(system))
