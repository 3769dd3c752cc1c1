"""Keys typed in the window of a virtual board, one at a time and without Enter."""

import os
import select
import termios
import tty
from collections.abc import Callable
from types import TracebackType
from typing import Any

from rillkeeper.board.virtual.site_hands import SiteHands

HELP = (
    "keys here: t the tap, h the hand switch, b the battery, u the button, l looks around; "
    "? lists all of them"
)


class WindowKeys:
    """The keys of a terminal in whose foreground this runs; elsewhere there are none."""

    def __init__(self, show: Callable[[str], None], end: int = 0) -> None:
        self._show = show
        self._end = end
        self._before: list[Any] = []
        self.there = _is_ours(end)
        """Whether anybody can type here."""

    def __enter__(self) -> "WindowKeys":
        if self.there:
            self._before = termios.tcgetattr(self._end)
            tty.setcbreak(self._end)  # Ctrl-C goes on to end the board.
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self.there and _is_ours(self._end):
            termios.tcsetattr(self._end, termios.TCSADRAIN, self._before)

    def poll(self, hands: SiteHands) -> None:
        """Do what the keys that were typed mean."""
        if not self.there or not select.select([self._end], [], [], 0.0)[0]:
            return
        if not _is_ours(self._end):  # In the background they are the shell's.
            return
        typed = os.read(self._end, 64)
        self.there = bool(typed)
        for key in typed.decode(errors="replace"):
            for line in hands.press_key(key):
                self._show(line)


def _is_ours(end: int) -> bool:
    """Whether this runs in the foreground of that terminal: to set another's stops a process."""
    try:
        return os.tcgetpgrp(end) == os.getpgrp()
    except OSError:
        return False
