"""Is the clock to be believed? It is held against the tick counter.

A board whose battery is carried away may lose its clock. A clock that was never set, went
back, stands still or runs apart from the ticks starts nothing; the button still works.
"""

from .facts import CLOCK

GOOD, NOT_SET, WENT_BACK, STOPPED, APART = range(5)
VERDICTS = ("good", "not set", "went back", "stopped", "apart from the ticks")

_DAY_S = 86400
_DAYS_MAX = 3000


class ClockWatch:
    """``clock_bad`` of the facts: 0 for a good clock, else the reason, until it is set again."""

    def __init__(self, settings, facts) -> None:
        self.facts = facts
        self.off_s_max = settings.clock_off_s
        self.off_s = 0
        self._anchored = False
        self._anchor_day = 0
        self._anchor_second = 0
        self._ticks_s = 0
        self._ticks_ms = 0
        self._clock_s = 0

    def set_again(self) -> None:
        """The clock has been set: compare from now on."""
        self.facts.end(CLOCK)
        self._anchored = False
        self.facts.clock_bad = GOOD

    def look(self, dt_ms: int, day: int, second: int, clock_ok: int) -> int:
        """Judge the clock, ``dt_ms`` after the last look; returns what is wrong."""
        if not clock_ok:
            self._anchored = False
            self.facts.clock_bad = NOT_SET
            return self.facts.clock_bad
        if self.facts.clock_bad == NOT_SET:
            self.set_again()
        if self.facts.clock_bad:
            return self.facts.clock_bad
        if not self._anchored:
            self._anchor(day, second)
            return self.facts.clock_bad
        self._pass_time(dt_ms)
        days = day - self._anchor_day
        if days < 0 or days > _DAYS_MAX:
            self.facts.clock_bad = WENT_BACK if days < 0 else APART
            return self.facts.clock_bad
        clock_s = days * _DAY_S + second - self._anchor_second
        self._judge(clock_s)
        if not self.facts.clock_bad and self._ticks_s >= _DAY_S:
            self._anchor(day, second)
        return self.facts.clock_bad

    def _anchor(self, day: int, second: int) -> None:
        self._anchored = True
        self._anchor_day = day
        self._anchor_second = second
        self._ticks_s = 0
        self._ticks_ms = 0
        self._clock_s = 0
        self.off_s = 0

    def _pass_time(self, dt_ms: int) -> None:
        self._ticks_ms += dt_ms
        self._ticks_s += self._ticks_ms // 1000
        self._ticks_ms %= 1000

    def _judge(self, clock_s: int) -> None:
        self.off_s = off_s = clock_s - self._ticks_s
        if clock_s < self._clock_s:
            self.facts.clock_bad = WENT_BACK
        elif off_s > self.off_s_max:
            self.facts.clock_bad = APART
        elif off_s < -self.off_s_max:
            self.facts.clock_bad = STOPPED if clock_s == self._clock_s else APART
        self._clock_s = clock_s
