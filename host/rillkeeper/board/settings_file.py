"""A board's settings as a file: JSON as `rillkeeper limits -o` writes it, or TOML to read."""

import json
import tomllib
from pathlib import Path
from typing import Any

from keeper.settings import SCHEMA
from rillkeeper import row_words
from rillkeeper.errors import RillkeeperError
from rillkeeper.site.value import nearest_name

JSON_SCHEMA = 1
KEYS = tuple(row[0] for row in SCHEMA)


class BadSettings(RillkeeperError):
    """A file of settings that cannot be used; every reason is listed."""

    exit_code = 6

    def __init__(self, source: str, reasons: list[str]) -> None:
        heading = f"{source}: {len(reasons)} mistake{'s' if len(reasons) > 1 else ''}"
        super().__init__("\n  ".join([heading, *reasons]))


def read(path: Path) -> dict[str, int]:
    """The settings in a file. Raises BadSettings with all that is wrong with it."""
    try:
        text = path.read_text(encoding="utf-8")
        found: Any = tomllib.loads(text) if path.suffix == ".toml" else json.loads(text)
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be read: {error.strerror}") from None
    except ValueError as error:
        raise BadSettings(str(path), [f"not a settings file: {error}"]) from None
    values = found.get("settings") if isinstance(found, dict) else None
    if not isinstance(values, dict) or not values:
        raise BadSettings(str(path), ['nothing under "settings"'])
    reasons = [_unknown(key) for key in values if key not in KEYS]
    reasons += [
        f"{key}: {value!r} is not a whole number"
        for key, value in values.items()
        if key in KEYS and (not isinstance(value, int) or isinstance(value, bool))
    ]
    if reasons:
        raise BadSettings(str(path), reasons)
    return dict(values)


def check(source: str, values: dict[str, int]) -> None:
    """Raise BadSettings with all reasons why a board would refuse these values."""
    reasons = row_words.problems(values)
    if reasons:
        raise BadSettings(source, reasons)


def write(path: Path, values: dict[str, int], board: str) -> None:
    """Write all of a board's settings; TOML has the meaning of each beside it."""
    if path.suffix == ".toml":
        text = _toml(values, board)
    else:
        document = {"schema": JSON_SCHEMA, "board": board, "settings": values}
        text = json.dumps(document, sort_keys=True, indent=2) + "\n"
    try:
        path.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be written: {error.strerror}") from None


def _toml(values: dict[str, int], board: str) -> str:
    lines = [f'board = "{board}"', "", "[settings]"]
    lines += [
        f"{row[0]} = {values[row[0]]}  # {row[1]}: {row_words.of_setting(row)}"
        for row in SCHEMA
        if row[0] in values
    ]
    return "\n".join(lines) + "\n"


def _unknown(key: str) -> str:
    near = nearest_name(key, KEYS)
    return f"{key}: no such setting" + (f"; nearest: {near}" if near else "")
