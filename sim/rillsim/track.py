"""The stretch of time that the plant knows at the moment: one step, or one rest."""

from rillsim.ledger import METERED
from rillsim.pace import Pace
from rillsim.rig import Rig
from rillsim.stepper import State

REST_TICKS_MAX = 36000
"""A rest is looked at anew every hour."""
REST_SPAN_TICKS = 10

Span = tuple[int, int, float, float, float, float, float, float]
"""First tick and length; then outlet pressure, board voltage and pump current at the first
tick, each with its slope per tick."""

NO_SPAN: Span = (0, -1, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


class Track:
    """From ``start`` to ``end``; ``idle`` where a closed form leads from one to the other."""

    def __init__(self, rig: Rig, begin: State) -> None:
        self._rig = rig
        self.pace = Pace(rig.stepper)
        self.start = self.end = begin
        self.idle = False

    def extend(self, room: int, one_tick: bool, gliding: bool = False) -> None:
        """Take the next step or rest, at most ``room`` ticks long."""
        start = self.start = self.end
        self.idle = not one_tick and self._rig.stepper.calm(start)
        if self.idle:
            self.pace.begin()
            room = min(room, REST_TICKS_MAX - start.n % REST_TICKS_MAX)
            self.end = self._rig.stepper.rest(start, room)
        else:
            self.end = self.pace.advance(start, room, one_tick, gliding)

    def cut(self, n: int) -> None:
        """Go back to the start and come only as far as tick ``n``."""
        start_n = self.start.n
        if n < start_n:
            raise ValueError(f"tick {n} is over: the plant stands at tick {start_n} or later")
        if n == self.end.n:
            return
        if n == start_n:
            self.end = self.start
        elif self.idle:
            self.end = self._rig.stepper.rest(self.start, n - start_n)
        else:
            self.end = self.pace.up_to(self.start, n - start_n)

    def look_again(self) -> None:
        """The end under changed conditions; what was read of it stays as it was."""
        fresh = self.end.copy()
        self._rig.stepper.settle_shut(fresh)
        self.end = self._rig.stepper.look(fresh, self.end.point)

    def disturb(self) -> None:
        """Something has changed at the end: what follows begins with short steps."""
        self.idle = False
        self.pace.begin()

    def metered_m3(self, n: int) -> float:
        """What a flow meter has followed until tick ``n``: straight in a step, and at rest, where
        what runs runs evenly."""
        start, end = self.start, self.end
        before_m3, after_m3 = start.totals[METERED], end.totals[METERED]
        if n == end.n:
            return after_m3
        return before_m3 + (after_m3 - before_m3) * (n - start.n) / (end.n - start.n)

    def rest_at(self, n: int) -> Span:
        """A second at rest from ``n`` on, in which what is read stays as it is."""
        start = self.start
        if n > start.n:
            start = self._rig.stepper.rest(start, n - start.n)
        length = min(REST_SPAN_TICKS, self.end.n - n)
        current_a = start.point.current_a
        return n, length, start.pressure_pa, 0.0, start.board_v, 0.0, current_a, 0.0

    def span_at(self, n: int) -> Span:
        """The ticks around ``n`` between which readings are straight lines.

        A step of the moving plant is one; at rest it is a second of the closed form, or no
        more than the second's first tick, which is all that a board wants that looks and naps.
        """
        start, end = self.start, self.end
        last_n = end.n
        if self.idle:
            rest = self._rig.stepper.rest
            first_n = n - n % REST_SPAN_TICKS
            after = rest(start, first_n + REST_SPAN_TICKS - start.n) if n > first_n else None
            if first_n > start.n:
                start = rest(start, first_n - start.n)
            end = after or start
        elif n == end.n:
            start = end
        length = end.n - start.n
        per_tick = 1.0 / length if length else 0.0
        current = start.point.current_a
        return (
            start.n,
            min(length, last_n - start.n),
            start.pressure_pa,
            (end.pressure_pa - start.pressure_pa) * per_tick,
            start.board_v,
            (end.board_v - start.board_v) * per_tick,
            current,
            (end.point.current_a - current) * per_tick,
        )
