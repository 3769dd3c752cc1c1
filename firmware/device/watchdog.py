"""The watchdog: once armed it resets the board unless ticks go on proving themselves.

A tick passes three posts in order: inputs read, keeper asked, relay driven. One that misses
a post, or takes them in another order, does not feed. A reset lets the relay pin float, and
the relay opens.
"""

READ, JUDGED, DRIVEN = range(3)
POSTS = 3

SLOWEST_TICK_MS = 500
"""The slowest housekeeping: a log page rolled over."""
TIMEOUT_MS = 4000
"""Well over the longest nap and the slowest tick together, so that it never runs out in a nap: an
RP2040 may then hang at its start (MicroPython issue 17228, mended in June 2026). Under the 8.3 s
that the timer of the RP2040 can count."""


class Watchdog:
    """``wdt`` is the machine's class; nothing is armed before ``arm``."""

    def __init__(self, wdt) -> None:
        self._wdt = wdt
        self.armed = False
        self._next = READ

    def arm(self) -> None:
        """From now on only ticks keep the board from being reset."""
        if not self.armed:
            self._wdt = self._wdt(timeout=TIMEOUT_MS)
            self.armed = True

    def passed(self, post: int) -> None:
        """The tick has come to this post."""
        if self._next == post:
            self._next += 1
        else:
            self._next = POSTS + 1

    def feed(self) -> None:
        """The tick is over; it counts only if it passed every post."""
        if self._next == POSTS and self.armed:
            self._wdt.feed()
        self._next = READ
