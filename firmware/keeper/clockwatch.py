"""Is the clock to be believed? It is held against the tick counter.

A board whose battery is carried away may lose its clock. A clock that was never set, went
back, stands still or runs apart from the ticks starts nothing; the button still works.
"""

GOOD, NOT_SET, WENT_BACK, STOPPED, APART = range(5)
VERDICTS = ("good", "not set", "went back", "stopped", "apart from the ticks")

_DAY_S = 86400
_DAYS_MAX = 3000


class ClockWatch:
    """``bad`` is 0 for a good clock, else the reason. It stays until the clock is set again."""

    def __init__(self, settings) -> None:
        self.off_s_max = settings.clock_off_s
        self.bad = NOT_SET
        self.off_s = 0
        self._anchored = False
        self._anchor_day = 0
        self._anchor_second = 0
        self._ticks_s = 0
        self._ticks_ms = 0
        self._clock_s = 0

    def set_again(self) -> None:
        """The clock has been set: compare from now on."""
        self._anchored = False
        self.bad = GOOD

    def look(self, dt_ms: int, day: int, second: int, clock_ok: int) -> int:
        """Judge the clock, ``dt_ms`` after the last look; returns ``bad``."""
        if not clock_ok:
            self._anchored = False
            self.bad = NOT_SET
            return self.bad
        if self.bad == NOT_SET:
            self.set_again()
        if self.bad:
            return self.bad
        if not self._anchored:
            self._anchor(day, second)
            return self.bad
        self._pass_time(dt_ms)
        days = day - self._anchor_day
        if days < 0 or days > _DAYS_MAX:
            self.bad = WENT_BACK if days < 0 else APART
            return self.bad
        clock_s = days * _DAY_S + second - self._anchor_second
        self._judge(clock_s)
        if not self.bad and self._ticks_s >= _DAY_S:
            self._anchor(day, second)
        return self.bad

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
            self.bad = WENT_BACK
        elif off_s > self.off_s_max:
            self.bad = APART
        elif off_s < -self.off_s_max:
            self.bad = STOPPED if clock_s == self._clock_s else APART
        self._clock_s = clock_s
