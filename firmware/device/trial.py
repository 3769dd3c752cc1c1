"""Settings on trial: used from memory, for a while, and gone with the next start or power loss.

A proof lowers a limit to see it trip. Whatever becomes of the desktop meanwhile, the board comes
back by itself to the settings on its flash.
"""

from keeper import Settings
from keeper.ticks import elapsed_ms

SECONDS_MAX = 3600
HELD_OFF_MS = 3 * 3600000
"""No set starts for so long after the last trial began, unless "try 0" says that the proof is
over: a battery taken off, or a person who ponders, must not let one start in its middle."""
HALT_MS_MAX = 2000
"""Longest that the loop may be told to stand still: well below the watchdog's patience."""


class Trial:
    """``settings`` is what is on trial, or None."""

    def __init__(self) -> None:
        self.settings: Settings | None = None
        self._begun_ms = 0
        self._for_ms = 0

    def begin(self, settings, now_ms: int, seconds: int) -> None:
        """From now on, for so long."""
        self.settings = settings
        self._begun_ms = now_ms
        self._for_ms = seconds * 1000

    def end(self) -> None:
        """Back to what is kept."""
        self.settings = None

    def is_over(self, now_ms: int) -> bool:
        """Whether the time of a trial has run out."""
        return self.settings is not None and self.left_s(now_ms) <= 0

    def left_s(self, now_ms: int) -> int:
        """Seconds that are left of it."""
        return (self._for_ms - elapsed_ms(now_ms, self._begun_ms)) // 1000
