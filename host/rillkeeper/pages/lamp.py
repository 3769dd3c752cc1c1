"""What the board's lamp shows: a state a character, in words, with what it asks of a person."""

from typing import NamedTuple


class LampWords(NamedTuple):
    """One state of the board as its lamp shows it."""

    character: str
    """One whole turn of it, in tenths of a second: lit or dark. A test holds it to
    ``device/lamp.py``."""
    shows: str
    means: str
    do: str

    @property
    def spans(self) -> list[tuple[bool, int]]:
        """Lit or dark, and for how many tenths of a second, in turn.

        >>> LAMP["soak"].spans
        [(True, 3), (False, 4), (True, 3), (False, 24)]
        """
        found: list[tuple[bool, int]] = []
        for tenth in self.character:
            lit = tenth == "*"
            if found and found[-1][0] == lit:
                found[-1] = (lit, found[-1][1] + 1)
            else:
                found.append((lit, 1))
        return found


def _flashes(number: int, dark: int) -> str:
    """Short flashes, and the dark after their gap, in tenths of a second."""
    return "***...." * number + "." * dark


LAMP: dict[str, LampWords] = {
    "unset": LampWords(
        "***...",
        "quick flashes, on and on",
        "no valid settings, or a damaged file: it does not pump",
        "`say` or `rillkeeper status` tells what is wrong. Send settings, or flash it again.",
    ),
    "idle": LampWords(
        _flashes(1, 40),
        "1 short flash",
        "it waits for a set, or for the button",
        "Nothing to do. A short press starts the pump.",
    ),
    "check": LampWords(
        "*" * 10 + "." * 10,
        "evenly a second on, a second off",
        "it looks at its readings before a start",
        "Hands off: the pump is about to start.",
    ),
    "prime": LampWords(
        "*" * 17 + "...",
        "on, with a short gap every two seconds",
        "the pump runs and has no pressure yet",
        "Nothing to do. A short press stops it.",
    ),
    "run": LampWords("*", "on", "the pump gives water", "Nothing to do. A short press stops it."),
    "soak": LampWords(
        _flashes(2, 20),
        "2 short flashes",
        "a pause between two runs of a set",
        "Hands off: the pump starts again by itself.",
    ),
    "rest": LampWords(
        _flashes(3, 20),
        "3 short flashes",
        "something stopped the pump; it tries again after a rest",
        "Hands off: the pump starts again by itself. `say` or `rillkeeper status` tells what it "
        "was.",
    ),
    "done": LampWords(
        _flashes(4, 20),
        "4 short flashes",
        "stopped for the night, until noon",
        "See what stopped it; then a long press lets the night go on. Nothing to do where it was "
        "you, or frost.",
    ),
    "flat": LampWords(
        _flashes(5, 20),
        "5 short flashes",
        "the battery is empty",
        "Take the battery home and charge it at once.",
    ),
    "lockout": LampWords(
        ("*" * 15 + "." * 5) * 2 + "." * 20,
        "2 long flashes",
        "locked out: going on could do harm",
        "Hand switch off. Look at pump, lines and relay: `say` or `rillkeeper status` tells what "
        "it was. Then hand switch on, and a long press clears it.",
    ),
}
"""By state; a test holds it to the board's list."""


def lamp_table() -> list[str]:
    """The rows of a page."""
    heads = ("state", "seconds lit, dark", "the lamp", "means", "what to do")
    rows = ["| " + " | ".join(heads) + " |", "|---" * len(heads) + "|"]
    for state, words in LAMP.items():
        turn = ", ".join(
            f"**{tenths / 10:g}**" if lit else f"{tenths / 10:g}" for lit, tenths in words.spans
        )
        turn = "always lit" if state == "run" else turn
        cells = (f"**{state}**", turn, words.shows, words.means, words.do)
        rows.append("| " + " | ".join(cells) + " |")
    return rows
