"""The rain contact: closed means rain."""

from .records import RAIN

CONTACT = 1
"""Its bit in the contacts that a step is given."""

HOLD_MS = 60000
"""Rain must last this long to end a set: a splash of the sprinkler is not rain."""

_LONG_MS = 1 << 28


class Rain:
    """How long it has rained, and how long ago it stopped."""

    def __init__(self, settings) -> None:
        self.fitted = settings.rain_fitted
        self.skip_ms = settings.rain_skip_s * 1000
        self.wet_ms = 0
        self.dry_ms = _LONG_MS
        self._closed = 0

    def feel(self, dt_ms: int, contacts: int, journal) -> None:
        """Take the contact as it is now, ``dt_ms`` after the last time."""
        if not self.fitted:
            return
        closed = contacts & CONTACT
        if closed != self._closed:
            self._closed = closed
            journal.add(RAIN, closed)
        elif closed:
            self.wet_ms = min(self.wet_ms + dt_ms, _LONG_MS)
        if closed:
            self.dry_ms = 0
        else:
            self.wet_ms = 0
            self.dry_ms = min(self.dry_ms + dt_ms, _LONG_MS)

    def ends_set(self) -> bool:
        """Whether it has rained long enough to end the set that is being given."""
        return self.wet_ms >= HOLD_MS

    def skips_set(self) -> bool:
        """Whether a set that is due now is not needed."""
        return self.fitted and self.dry_ms < self.skip_ms
