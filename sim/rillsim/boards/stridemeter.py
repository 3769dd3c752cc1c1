"""The flow meter in a stride (stride.py): its pulses are the plant's own, tick by tick.

Within one step of the plant they come evenly, so that each second's share is known, and with it
the litres that the steps would have counted.
"""

from collections.abc import Callable

from keeper import Keeper
from keeper.meter import MeteredLine
from keeper.quantities import DRY_S, METER_BAD, STILL_MS
from rillsim.boards.board import TICK_MS

Pulses = Callable[[int], int]
"""All pulses that have come some ticks after the last step."""
FAR = 2
"""Water is far from missing where enough of it passes in so small a part of the time for it."""
_S_PER_MIN = 60


class StrideMeter:
    """The pulses of one stride, and what the line of a board remembers of them."""

    def __init__(self, keeper: Keeper, seen: int, pulses: Pulses) -> None:
        """``seen``: all pulses that the board has counted; below 0 where it has counted none."""
        self._keeper = keeper
        line = keeper.watering.line
        assert isinstance(line, MeteredLine)
        self._line = line
        self._pulses = pulses
        self._begun = self._counted = seen if seen >= 0 else pulses(0)
        self._passed_n = self._still_ms = 0
        """At the end of what ``is_far`` has walked through."""

    def is_far(self, ticks: int) -> bool:
        """Whether in so many ticks enough water always comes in half of its time."""
        keeper, line = self._keeper, self._line
        if keeper.q[METER_BAD]:
            return False
        counted, passed_n, still_ms = self._begun, line._passed_n, keeper.q[STILL_MS]
        for tick in range(1, ticks + 1):
            total = max(self._pulses(tick), counted)
            passed_n += total - counted
            counted = total
            still_ms += TICK_MS
            if passed_n >= line._least_n:
                passed_n = still_ms = 0
            elif FAR * still_ms > keeper.settings.no_flow_ms:
                return False
        self._passed_n, self._still_ms = passed_n, still_ms
        return True

    def given_ml(self, ticks: int) -> float:
        """What passes in so many ticks, with what has not been counted yet [mL]."""
        new = self._pulses(ticks) - self._begun + self._line._second_n
        return new * int(self._keeper.settings.pulse_ul) / 1000

    def flow_ml_min(self, ticks: int, ms: int) -> int:
        """What Line.passed says of the time ``ms`` that ends so many ticks after the start."""
        self._count(ticks)
        pulses, self._line._second_n = self._line._second_n, 0
        return int(pulses * self._keeper.settings.pulse_ul * _S_PER_MIN // ms)

    def end(self, ticks: int) -> int:
        """What is left of the last second; returns all pulses that the board has counted then."""
        self._count(ticks)
        keeper, line = self._keeper, self._line
        line._passed_n = self._passed_n
        keeper.q[STILL_MS] = self._still_ms
        if not keeper.settings.pressure_fitted:
            # Until enough water has come together it may be none.
            keeper.facts.dry_run_ms = line._dry_before_ms + self._still_ms
            keeper.q[DRY_S] = keeper.facts.dry_run_ms // 1000
        return self._counted

    def _count(self, ticks: int) -> None:
        total = max(self._pulses(ticks), self._counted)
        self._line._second_n += total - self._counted
        self._counted = total
