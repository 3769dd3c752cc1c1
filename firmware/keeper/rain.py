"""The rain contact: closed means rain."""

from .facts import GAP_MS_MAX
from .records import RAIN

CONTACT = 1
"""Its bit in the contacts that a step is given."""

HOLD_MS = 60000
"""Rain must last this long to end a set: a splash of the sprinkler is not rain."""


class Rain:
    """How long it has rained, and how long ago it stopped."""

    def __init__(self, settings, facts) -> None:
        self.facts = facts
        self.fitted = settings.rain_fitted
        self.skip_ms = settings.rain_skip_s * 1000

    def feel(self, dt_ms: int, contacts: int, journal) -> None:
        """Take the contact as it is now, ``dt_ms`` after the last time."""
        if not self.fitted:
            return
        facts = self.facts
        closed = contacts & CONTACT
        if closed != facts.rain_closed:
            facts.rain_closed = closed
            journal.add(RAIN, closed)
        elif closed:
            facts.wet_ms = min(facts.wet_ms + dt_ms, GAP_MS_MAX)
        if closed:
            facts.dry_ms = 0
        else:
            facts.wet_ms = 0
            facts.dry_ms = min(facts.dry_ms + dt_ms, GAP_MS_MAX)

    def ends_set(self) -> bool:
        """Whether it has rained long enough to end the set that is being given."""
        return self.facts.wet_ms >= HOLD_MS

    def skips_set(self) -> bool:
        """Whether a set that is due now is not needed."""
        return self.fitted and self.facts.dry_ms < self.skip_ms
