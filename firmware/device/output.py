"""The relay pin: written in one place, kept twice, read back, and dropped when not renewed.

The keeper's own ``Relay`` decides; this is what stands between it and the pin. A wish is kept as
it is and inverted, so that a flipped bit in memory is not taken for a wish.

The timer's callback may come between any two steps of ``drive``. It does nothing while the wish
is OFF, nor within RENEW_MS of a renewal: so a renewal is noted before either copy of the wish
changes, and a wish that ends is stored before its inverse.
"""

from keeper.relay import RENEW_MS
from keeper.ticks import elapsed_ms

OFF = 0x55
ON = 0x2A
_BOTH = 0x7F
"""A wish and its inverse differ in each of seven bits."""

_PERIOD_MS = 100


class RelayOutput:
    """``drive`` is told each tick; ``off`` works at any time and from anywhere."""

    def __init__(self, pin) -> None:
        self._pin = pin
        self._renewed_ms = 0
        self.failed = False
        self.timer = "none"
        self.off()

    def off(self) -> None:
        """Open the relay."""
        self._pin.value(0)
        self._wish = OFF
        self._inverse = ON

    def watch(self, timer, number: int, ticks_ms) -> None:
        """Let a hardware timer drop the relay when the loop does not renew it.

        ``self.timer`` tells how: "hard", called from the interrupt itself, whatever the
        interpreter does; or "soft", called by the interpreter, where the port has no other: a
        hang outside of it is then left to the watchdog.
        """
        self._ticks_ms = ticks_ms
        self._timer = clockwork = timer(number)
        expire = self._expire
        try:
            clockwork.init(mode=timer.PERIODIC, period=_PERIOD_MS, callback=expire, hard=True)
            self.timer = "hard"
        except (TypeError, ValueError):  # The port does not know the word, or has only soft ones.
            clockwork.init(mode=timer.PERIODIC, period=_PERIOD_MS, callback=expire)
            self.timer = "soft"

    def drive(self, level: int, now_ms: int) -> bool:
        """Set the pin to what the keeper wants; False when memory cannot be trusted.

        A pin that does not follow is left off until the next start, and ``failed`` says so.
        """
        self._renewed_ms = now_ms
        if self._wish ^ self._inverse != _BOTH:
            self._pin.value(0)
            return False
        if level and not self.failed:
            self._wish = ON
            self._inverse = OFF
        else:
            self._wish = OFF
            self._inverse = ON
        closed = 1 if self._wish == ON and self._inverse == OFF else 0
        self._pin.value(closed)
        if self._pin.value() != closed:
            self.failed = True
            self.off()
        return True

    @property
    def level(self) -> int:
        """What the pin was told last."""
        return 1 if self._wish == ON else 0

    def _expire(self, _timer) -> None:
        """In an interrupt: allocates nothing."""
        if self._wish != OFF and elapsed_ms(self._ticks_ms(), self._renewed_ms) > RENEW_MS:
            self.off()
