"""What the board's lamp shows: a state a pattern, in words, with what it asks of a person."""

from typing import NamedTuple


class LampWords(NamedTuple):
    """One state of the board as its lamp shows it."""

    pattern: str
    """One second, ten parts of it: lit or dark. A test holds it to ``device/lamp.py``."""
    shows: str
    means: str
    do: str


LAMP: dict[str, LampWords] = {
    "unset": LampWords(
        "*.*.*.*.*.",
        "flickers",
        "no valid settings, or a damaged file: it does not pump",
        "`rillkeeper status` says what is wrong. Send settings, or flash the board again.",
    ),
    "idle": LampWords(
        "*.........",
        "one short flash",
        "it waits for a set, or for the button",
        "Nothing. A short press starts the pump.",
    ),
    "check": LampWords(
        "***.......",
        "one longer flash",
        "it looks at its readings before a start",
        "Hands off: the pump is about to start.",
    ),
    "prime": LampWords(
        "*****.....",
        "half on, half off",
        "the pump runs and has no pressure yet",
        "Nothing. A short press stops it.",
    ),
    "run": LampWords(
        "**********", "on", "the pump gives water", "Nothing. A short press stops it."
    ),
    "soak": LampWords(
        "**........",
        "one flash, twice as long as waiting",
        "a pause between two runs of a set",
        "Hands off: the pump starts again by itself.",
    ),
    "rest": LampWords(
        "*.*.......",
        "two flashes",
        "something stopped the pump; it tries again after a rest",
        "Hands off: the pump starts again by itself. `rillkeeper status` says what it was.",
    ),
    "done": LampWords(
        "*.*.*.....",
        "three flashes",
        "stopped for the night, until noon",
        "See what stopped it; then a long press lets the night go on. Nothing where it was you, "
        "or frost.",
    ),
    "flat": LampWords(
        "*.*.*.*...",
        "four flashes",
        "the battery is empty",
        "Take the battery home and charge it at once.",
    ),
    "lockout": LampWords(
        "***.***.**",
        "on, with two short gaps",
        "locked out: going on could do harm",
        "Look at pump, lines and relay first: `rillkeeper status` says what it was. Then a long "
        "press clears it.",
    ),
}
"""By state; a test holds it to the board's list."""


def lamp_table() -> list[str]:
    """The rows of a page."""
    rows = ["| state | in a second | the lamp | means | what to do |", "|---|---|---|---|---|"]
    for state, (pattern, *words) in LAMP.items():
        rows.append(f"| **{state}** | `{pattern}` | " + " | ".join(words) + " |")
    return rows
