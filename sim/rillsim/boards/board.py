"""The board of a replay: the control package, what it remembers, and what it writes.

It imports nothing but the control package: the tests run this very file in the board's own
interpreters too.
"""

from keeper import Keeper, Settings, lines, memory
from keeper.hand import CLEAR
from keeper.records import POWER_BACK, POWER_UP, SEQ
from keeper.ticks import MASK

TICK_MS = 100
METER = 6
"""Place of the meter's pulses among the counts of a tick: all that have come so far."""


class Board:
    """One board; it forgets what ``keeper.memory`` does not keep."""

    def __init__(self, settings: Settings, first_ms: int = 0) -> None:
        """``first_ms``: what its millisecond counter shows at tick 0."""
        self.settings = settings
        self.log: list[str] = []
        self.dropped = 0
        self.steps = 0
        self.clock_set: tuple[int, int] | None = None
        """Nobody sets the clock of this one."""
        self._first_ms = first_ms
        self.kept: str | None = None
        """What it would find on its flash after a start."""
        self._seen = 0
        self.pulses = -1
        """All of the meter's pulses when it looked last; -1: it has just started."""
        self.keeper = Keeper(settings, POWER_UP)

    def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
        """One tick with power; returns the level of the relay pin."""
        keeper = self.keeper
        if len(counts) > METER:
            keeper.pulses = self._new_pulses(counts[METER])
            counts = counts[:METER]
        day, second, known = clock
        now_ms = (n * TICK_MS + self._first_ms) & MASK
        level = keeper.step(now_ms, day, second, 1 if known else 0, *counts)
        self.steps += 1
        if keeper.journal.waiting:
            self._write()
        if keeper.changed != self._seen:
            self._seen = keeper.changed
            self.kept = memory.save(keeper)
        return int(level)

    def nap_ticks(self) -> int:
        """How many ticks it may be left alone if no pin changes."""
        return max(1, -(-self.keeper.nap_ms // TICK_MS))

    def dark(self, n: int) -> int:
        """A tick without power; returns how many ticks it may be left alone."""
        return MASK

    def clear(self) -> None:
        """A person clears a lockout, or leaves a board that has none alone."""
        if self.keeper.locked():
            self.keeper.command(CLEAR, 0)

    def power_back(self) -> None:
        """Power is there again after a loss: start with what was remembered."""
        self._start(self.settings)

    def apply(self, settings: Settings, trial: bool = False) -> None:
        """Go on with other settings; those on trial are gone with the next start."""
        before = self.keeper
        self.kept = memory.save(before)
        self._start(settings)
        self.keeper.take_over(before, trial)
        if not trial:
            self.settings = settings

    def _start(self, settings: Settings) -> None:
        self.keeper = Keeper(settings, POWER_BACK)
        self._seen = 0
        self.pulses = -1
        if self.kept is not None:
            memory.load(self.keeper, self.kept)
        if self.log:
            # As on flash: the log itself says where its numbers go on.
            self.keeper.journal.seq = lines.parse_line(self.log[-1])[SEQ] + 1

    def _new_pulses(self, pulses: int) -> int:
        """Those that have come since the last look: none has before the first."""
        before, self.pulses = self.pulses, pulses
        return pulses - before if before >= 0 else 0

    def _write(self) -> None:
        journal = self.keeper.journal
        while journal.waiting:
            self.log.append(lines.format_line(journal.take()))
        self.dropped = journal.dropped
