"""The relay pins: written in one place, kept twice, read back, and dropped when not renewed.

The keeper's own ``Relay`` decides; this is what stands between it and the pins, of which the
second does something only where a second relay is fitted. A wish, which is a level, is kept as it
is and inverted, so that a flipped bit in memory is not taken for a wish.

The timer's callback may come between any two steps of ``drive``. It does nothing while the wish
is OFF, nor within RENEW_MS of a renewal: so a renewal is noted before either copy of the wish
changes, and a wish that ends is stored before its inverse.
"""

from keeper.relay import FIRST, RENEW_MS
from keeper.ticks import const, elapsed_ms

OFF = 0
_INVERSE = const(0x7F)
"""A wish and its inverse differ in each of seven bits."""

_PERIOD_MS = const(100)


class RelayOutput:
    """``drive`` is told each tick; ``off`` works at any time and from anywhere."""

    def __init__(self, first, second) -> None:
        self._first = first
        self._second = second
        self._renewed_ms = 0
        self.failed = False
        self.timer = "none"
        self.off()

    def off(self) -> None:
        """Open both relays."""
        self._first.value(0)
        self._second.value(0)
        self._wish = OFF
        self._inverse = _INVERSE

    def watch(self, timer, number: int, ticks_ms) -> None:
        """Let a hardware timer drop the relays when the loop does not renew it.

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
        """Set the pins to what the keeper wants; False when memory cannot be trusted.

        Where a pin does not follow both are left off until the next start, and ``failed`` says so.
        """
        self._renewed_ms = now_ms
        first = self._first
        second = self._second
        if self._wish ^ self._inverse != _INVERSE:
            first.value(0)
            second.value(0)
            return False
        if self.failed:
            level = OFF
        self._wish = level
        self._inverse = level ^ _INVERSE
        first.value(level & FIRST)
        second.value(level >> 1)
        if first.value() | second.value() << 1 != level:
            self.failed = True
            self.off()
        return True

    @property
    def level(self) -> int:
        """What the pins were told last: a bit for each relay that is closed (keeper/relay.py)."""
        return self._wish

    def _expire(self, _timer) -> None:
        """In an interrupt: allocates nothing."""
        if self._wish != OFF and elapsed_ms(self._ticks_ms(), self._renewed_ms) > RENEW_MS:
            self.off()


def relays(machine, row) -> RelayOutput:
    """The output of a board, by its row of the table of pins; both relays are off."""
    out = machine.Pin.OUT
    first = machine.Pin(row["relay"], out, value=0)
    return RelayOutput(first, machine.Pin(row["second_relay"], out, value=0))
