"""Is the clock to be believed? It is held against the tick counter.

A board whose battery is carried away may lose its clock. A clock that was never set, went
back, stands still or runs apart from the ticks starts nothing; the button still works.

One reading that does not fit is no verdict: the time that the ticks make of the last good one
("reckoned") stands in for it until the next look, a tick later. The reckoned time also goes on
while the clock is bad, so that nights end and missed sets are told.

    verdict                      ends by itself                          ends by a person
    not set, since power came    -                                       who sets it
    not set, but known before    when it fits the reckoned time for      who sets it
                                 three minutes together
    went back, stopped, apart    the same                                who sets it

So a loose plug and a disturbed bus heal; a clock that has jumped, or stood still and gone on,
does not, since nothing says which is right. (With each day since the last good reading the
ticks are given as much room again.) New settings heal nothing. A loss of power forgets
the verdict: a chip that then vouches for its time is believed.
"""

from .facts import CLOCK
from .ticks import const

GOOD, NOT_SET, WENT_BACK, STOPPED, APART = range(5)
VERDICTS = ("good", "not set", "went back", "stopped", "apart from the ticks")

HEAL_MS = 180000
"""So long must a bad clock fit: three looks of a sleeping board (common practice, no source)."""

_DAY_S = const(86400)
_DAYS_MAX = const(3000)


class ClockWatch:
    """``clock_bad`` of the facts is 0 for a good clock, else the reason.

    ``day`` and ``second``: the time to go by.

    ``known``: whether that time is known, by the clock or reckoned. ``doubt``: whether the last
    reading did not fit, and the next tick must tell.
    """

    def __init__(self, settings, facts) -> None:
        self.facts = facts
        self.off_s_max = settings.clock_off_s
        self.off_s = 0
        self.known = False
        self.doubt = False
        self.day = 0
        self.second = 0
        self.days_unknown = 0
        """Whole days without a known time, until somebody takes note and puts it back to 0."""
        self._anchor_day = 0
        self._anchor_second = 0
        self._ticks_s = 0
        self._ticks_ms = 0
        self._clock_s = 0
        self._fits_ms = 0

    def set_again(self) -> None:
        """The clock has been set: compare from now on."""
        self.facts.end(CLOCK)
        self.known = self.doubt = False
        self.facts.clock_bad = GOOD
        self._ticks_s = 0

    def go_on(self, before) -> None:
        """Go on with the reckoning of a keeper with other settings."""
        self.known = before.known
        self.doubt = before.doubt
        self.day = before.day
        self.second = before.second
        self._anchor_day = before._anchor_day
        self._anchor_second = before._anchor_second
        self._ticks_s = before._ticks_s
        self._ticks_ms = before._ticks_ms
        self._clock_s = before._clock_s

    def look(self, dt_ms: int, day: int, second: int, clock_ok: int) -> int:
        """Judge the clock, ``dt_ms`` after the last look; returns what is wrong."""
        ticks_ms = self._ticks_ms + dt_ms
        self._ticks_s += ticks_ms // 1000
        self._ticks_ms = ticks_ms % 1000
        if not self.known:
            self._begin(day, second, clock_ok)
            return self.facts.clock_bad
        wrong = self._judge(day, second) if clock_ok else NOT_SET
        if wrong:
            self._fits_ms = 0
            if self.doubt:
                self.facts.clock_bad = self.facts.clock_bad or wrong
            self.doubt = not self.facts.clock_bad
        else:
            self.doubt = False
            # The first look counts for a millisecond: it only starts the hold.
            self._fits_ms = min(self._fits_ms + (dt_ms if self._fits_ms else 1), HEAL_MS + 1)
            if self.facts.clock_bad and self._fits_ms > HEAL_MS:
                self.facts.clock_bad = GOOD
                self._anchor(day, second)
            elif not self.facts.clock_bad and self._ticks_s >= _DAY_S:
                self._anchor(day, second)
        if wrong or self.facts.clock_bad:
            second = self._anchor_second + self._ticks_s
            day = self._anchor_day + second // _DAY_S
            second %= _DAY_S
        self.day = day
        self.second = second
        return self.facts.clock_bad

    def _begin(self, day: int, second: int, clock_ok: int) -> None:
        """No time is known: what the clock says, if it vouches for it, is all there is."""
        if clock_ok:
            self.facts.clock_bad = GOOD
            self.known = True
            self.day = day
            self.second = second
            self._anchor(day, second)
        else:
            self.facts.clock_bad = NOT_SET
            self.days_unknown += self._ticks_s // _DAY_S
            self._ticks_s %= _DAY_S

    def _anchor(self, day: int, second: int) -> None:
        self._anchor_day = day
        self._anchor_second = second
        self._ticks_s = 0
        self._ticks_ms = 0
        self._clock_s = 0
        self.off_s = 0

    def _judge(self, day: int, second: int) -> int:
        """What is wrong with this reading, by the ticks since the anchor."""
        days = day - self._anchor_day
        if days > _DAYS_MAX or days < -_DAYS_MAX:
            days = _DAYS_MAX if days > 0 else -_DAYS_MAX
        clock_s = days * _DAY_S + second - self._anchor_second
        self.off_s = off_s = clock_s - self._ticks_s
        off_s_max = self.off_s_max * (1 + self._ticks_s // _DAY_S)
        if clock_s < self._clock_s:
            return WENT_BACK
        if off_s > off_s_max:
            return APART
        if off_s < -off_s_max:
            return STOPPED if clock_s == self._clock_s else APART
        self._clock_s = clock_s
        return GOOD
