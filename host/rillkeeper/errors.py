"""What can go wrong, each with the status that the command leaves behind.

RillkeeperError        1  the work could not be done
+-- UsageMistake       2  the command line makes no sense
+-- NoBoard            3  no board found, or its port is busy
+-- BoardStopped       4  the board reports a trip or a lockout
+-- VerifyDiffers      5  what was read back is not what was written
+-- SiteError          6  the site file has mistakes
+-- NoSafeLimit        6  the site leaves no room for a limit of the board
"""

import json
from dataclasses import dataclass

INTERRUPTED = 130
"""128 + SIGINT, as shells report it."""


class RillkeeperError(Exception):
    """Root of all errors that a user may meet; the text is one clear sentence."""

    exit_code = 1


class UsageMistake(RillkeeperError):
    exit_code = 2


class NoBoard(RillkeeperError):
    exit_code = 3


class BoardStopped(RillkeeperError):
    exit_code = 4


class VerifyDiffers(RillkeeperError):
    exit_code = 5


class NoSafeLimit(RillkeeperError):
    """The site leaves no room between what is normal and what does harm."""

    exit_code = 6


@dataclass(frozen=True)
class Mistake:
    """One mistake in a site file."""

    path: str
    """Where: "suction.bore", or "set[2].start" (lists count from 1)."""
    read: str
    """What stood there, as it would be written in TOML; empty where nothing did."""
    problem: str
    allowed: str = ""
    nearest: str = ""
    """The valid name that is closest to a misspelt one."""
    line: int = 0
    """Of the file, from 1; 0 where it is not known, or where nothing is written."""
    default: str = ""
    """What the key is, in TOML, where the file does not say and its default counts."""

    def __str__(self) -> str:
        line = f"line {self.line}: " if self.line else ""
        line += f"{self.path} = {self.read}" if self.read else self.path
        if self.default:
            line += f" = {self.default} (the default: the file does not say)"
        line += f": {self.problem}"
        if self.allowed:
            line += f"; allowed: {self.allowed}"
        if self.nearest:
            line += f"; nearest: {self.nearest}"
        return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in line)


class SiteError(RillkeeperError):
    """All mistakes of one site file at once."""

    exit_code = 6

    def __init__(self, source: str, mistakes: list[Mistake]) -> None:
        self.source = source
        self.mistakes = tuple(mistakes)
        super().__init__(source, self.mistakes)

    def __str__(self) -> str:
        count = len(self.mistakes)
        heading = f"{self.source}: {count} mistake{'s' if count > 1 else ''}"
        return "\n  ".join([heading, *map(str, self.mistakes)])


def as_toml(value: object) -> str:
    """A value read from TOML, written back for a message, and never too long for a line."""
    if isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, str):
        text = json.dumps(value, ensure_ascii=False)
    elif isinstance(value, dict):
        text = "{...}" if value else "{}"
    elif isinstance(value, list):
        text = "[...]" if value else "[]"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
