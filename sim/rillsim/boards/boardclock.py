"""The board's clock: it drifts, it forgets without power, and it can be wrong."""

from math import floor

from rillsim.noise import CLOCK, generator

DAY_S = 86400
TICKS_PER_S = 10

BACKED_DRIFT_PPM = 3.0
"""Spread of a temperature-compensated clock chip: common practice, no source."""
INTERNAL_DRIFT_PPM = 30.0
"""Spread of a board's own crystal: common practice, no source."""

FORGOTTEN = (0, 0)
"""Day and second of a clock that was never set."""


class BoardClock:
    """What the board takes for the time, tick by tick.

    A backed chip runs on its own cell while the battery is away; an internal clock starts
    again at day 0 and says that it was never set.
    """

    def __init__(self, backed: bool, start_day: int, start_s: int, seed: int) -> None:
        spread = BACKED_DRIFT_PPM if backed else INTERNAL_DRIFT_PPM
        self.backed = backed
        self.drift_ppm = float(generator(seed, CLOCK).normal(0.0, spread))
        self._start_s = start_day * DAY_S + start_s
        self._set_n = 0
        self._set_s = float(self._start_s)
        self._known = True
        self._stopped_s: float | None = None
        self.misread_s = 0.0
        """So far ahead is every reading of what the clock shows."""

    def true_s(self, n: int) -> float:
        """Seconds since midnight of day 0, by the sun."""
        return self._start_s + n / TICKS_PER_S

    def reading(self, n: int) -> tuple[int, int, bool]:
        """(day, second of the day, known) as the board sees them at tick ``n``."""
        if not self._known:
            return (*FORGOTTEN, False)
        day, second = divmod(floor(self._now_s(n) + self.misread_s), DAY_S)
        return day, second, True

    def set_to(self, n: int, day: int, second: int) -> None:
        """Somebody sets the clock."""
        self._rebase(n, float(day * DAY_S + second))
        self._known = True

    def power_lost(self) -> None:
        """The battery is gone: an internal clock forgets."""
        if not self.backed:
            self._known = False

    def lose(self) -> None:
        """The clock forgets although it is backed: its own cell is empty."""
        self._known = False

    def set_back(self, n: int, by_s: float) -> None:
        """The clock jumps back."""
        self._rebase(n, self._now_s(n) - by_s)

    def stop(self, n: int) -> None:
        """The clock shows the same second from now on."""
        self._stopped_s = self._now_s(n)

    def start(self, n: int) -> None:
        """A stopped clock goes on from where it stood."""
        if self._stopped_s is not None:
            stood = self._stopped_s
            self._stopped_s = None
            self._rebase(n, stood)

    def _rebase(self, n: int, now_s: float) -> None:
        self._set_n = n
        self._set_s = now_s
        if self._stopped_s is not None:
            self._stopped_s = now_s

    def _now_s(self, n: int) -> float:
        if self._stopped_s is not None:
            return self._stopped_s
        return self._set_s + (n - self._set_n) * (1.0 + self.drift_ppm * 1e-6) / TICKS_PER_S
