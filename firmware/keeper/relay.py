"""The pump relay has one writer, and closes only for as long as it is renewed.

The rules stop the pump long before anything here does. This is the last line: a wish that is
not renewed falls away, and a counter of its own opens the relay whatever the cycle says.
"""

RENEW_MS = 500
"""An energised relay that is not renewed within this time drops (common practice, no source)."""


class Relay:
    """What the relay pin is told. ``level`` is 1 for closed, 0 for open."""

    def __init__(self, on_ms_max: int) -> None:
        self.on_ms_max = on_ms_max
        self.level = 0
        self.on_ms = 0
        self._spent = False

    def pass_time(self, dt_ms: int) -> None:
        """Time has passed since the last tick; drop what was held too long.

        ``on_ms`` takes what led to the drop, so that the rules see why the relay opened.
        """
        if self.level:
            self.on_ms += dt_ms if dt_ms < RENEW_MS else RENEW_MS
            if dt_ms > RENEW_MS or self.on_ms > self.on_ms_max:
                self.level = 0
                self._spent = True

    def renew(self) -> None:
        """Close, or stay closed for another RENEW_MS. In vain once dropped: release first."""
        if not self._spent:
            if not self.level:
                self.on_ms = 0
            self.level = 1

    def release(self) -> None:
        """Open."""
        self.level = 0
        self._spent = False
