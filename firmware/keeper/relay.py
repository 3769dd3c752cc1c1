"""The pump's relays have one writer, and close only for as long as they are renewed.

The rules stop the pump long before anything here does. This is the last line: a wish that is
not renewed falls away, and a counter of its own opens the relay whatever the cycle says.

Where a second relay is fitted, in series, the pump works while both are closed. Which of them is
closed alone, and when: second_relay.py.
"""

from .ticks import const

FIRST, SECOND = 1, 2
"""Bits of a level. The first relay makes and breaks the pump's current."""
BOTH = FIRST | SECOND

RENEW_MS = const(500)
"""An energised relay that is not renewed within this time drops (common practice, no source)."""


class Relay:
    """What the relay pins are told: ``level`` has the bits of those that are closed.

    ``closed`` is the level at which the pump works, ``alone`` has the relay that is closed while
    it is told to stand: of two in series only (second_relay.py).
    """

    def __init__(self, on_ms_max: int) -> None:
        self.on_ms_max = on_ms_max
        self.closed = FIRST
        self.alone = 0
        self.level = 0
        self.on_ms = 0
        self._spent = False

    def pass_time(self, dt_ms: int) -> int:
        """Time has passed since the last tick; drop what was held too long. Returns ``on_ms``.

        ``on_ms`` takes what led to the drop, so that the rules see why the relay opened.
        """
        on_ms = self.on_ms
        if self.level:
            self.on_ms = on_ms = on_ms + (dt_ms if dt_ms < RENEW_MS else RENEW_MS)
            if dt_ms > RENEW_MS or on_ms > self.on_ms_max:
                self.level = 0
                self._spent = True
        return on_ms

    def renew(self) -> None:
        """Close, or stay closed for another RENEW_MS. In vain once dropped: release first."""
        if not self._spent:
            if self.level != self.closed:
                self.on_ms = 0
            self.level = self.closed

    def release(self) -> None:
        """Let the pump stand: open, but for the one that is closed alone."""
        self.level = self.alone
        self._spent = False


def second_of(keeper):
    """The second relay, or None where there is none: its code then takes no room on the heap."""
    if not keeper.settings.second_relay_fitted:
        return None
    from .second_relay import SecondRelay

    return SecondRelay(keeper)
