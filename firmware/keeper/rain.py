"""The rain contact: closed means rain, once it has been so for a while."""

from .facts import GAP_MS_MAX
from .records import RAIN

CONTACT = 1
"""Its bit in the contacts that a step is given."""

HOLD_MS = 60000
"""Rain must last this long to end a set, or to skip one: a splash of the sprinkler, a bird or a
loose wire is not rain."""

RECORDS_MAX = 20
"""So many a night: ten showers. A contact that comes and goes all night must not push what
matters out of the log."""


class Rain:
    """How long it has rained, and how long ago it stopped."""

    def __init__(self, settings, facts) -> None:
        self.facts = facts
        self.fitted = settings.rain_fitted
        self.skip_ms = settings.rain_skip_s * 1000

    def feel(self, dt_ms: int, contacts: int, journal) -> None:
        """Take the contact as it is now, ``dt_ms`` after the last time.

        A change of the contact ends a nap: until now it was as it was at the last look.
        """
        if not self.fitted:
            return
        facts = self.facts
        if facts.rain_closed:
            facts.wet_ms = min(facts.wet_ms + dt_ms, GAP_MS_MAX)
        rains = 1 if facts.wet_ms >= HOLD_MS else 0
        facts.dry_ms = 0 if rains else min(facts.dry_ms + dt_ms, GAP_MS_MAX)
        facts.rain_closed = contacts & CONTACT
        if not facts.rain_closed:
            facts.wet_ms = 0
        if rains != facts.rain_said and facts.rain_records < RECORDS_MAX:
            facts.rain_said = rains
            facts.rain_records += 1
            journal.add(RAIN, rains)

    def ends_set(self) -> bool:
        """Whether it has rained long enough to end the set that is being given."""
        return self.facts.wet_ms >= HOLD_MS

    def skips_set(self) -> bool:
        """Whether a set that is due now is not needed."""
        return self.fitted and self.facts.dry_ms < self.skip_ms

    def skips_for_s(self) -> int:
        """For how long, if it rains no more, sets that are due are not needed; 0: they are."""
        return (self.skip_ms - self.facts.dry_ms) // 1000 if self.skips_set() else 0
