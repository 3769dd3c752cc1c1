"""A virtual board under a replay that is held to the pace of a clock on the wall.

At the prompt somebody types, or copies files: there its time goes no faster than theirs, so that
an armed watchdog leaves as many seconds as on a real board.
"""

from collections.abc import Callable
from time import monotonic

from rillkeeper.board.virtual.pseudo_terminal import Terminal
from rillsim.boards.virtualboard import VirtualBoard
from rillsim.replay import TICKS_PER_S

SLICE_S = 0.05
"""Whoever begins to talk to a napping board waits no longer than this."""
FLUSHED_S = 1.0
"""A board puts its lines on flash when that disturbs nothing: mostly within so long."""
SELDOM_S = 5.0
"""Between two looks at a log in which nothing is known to be new."""
LATE_S = 0.5
"""Later than this, the pace is taken up from now on instead of being made good."""


class PacedBoard:
    """What a replay asks of a board; each tick waits for its time and carries bytes meanwhile."""

    def __init__(
        self,
        board: VirtualBoard,
        terminal: Terminal,
        speed: float,
        ahead_ticks: int = 0,
        *,
        ready: Callable[[], None] = lambda: None,
        wrote: Callable[[list[str]], None] | None = None,
        clock_s: Callable[[], float] = monotonic,
    ) -> None:
        """A board and its pace.

        Parameters
        ----------
        board, terminal
            What runs, and its serial line
        speed : float
            Simulated seconds in one second
        ahead_ticks : int
            So many ticks at the beginning do not wait
        ready : callable
            Told once, when the firmware runs, its time is that of the pace, and it answers
        wrote : callable, optional
            Told the lines of its log that are new, soon after the pump has started or stopped
        clock_s : callable
            The clock on the wall, s
        """
        self.steps = 0
        self._board = board
        self._terminal = terminal
        self._ticks_per_s = speed * TICKS_PER_S
        self._ahead_ticks = ahead_ticks
        self._first_n = -1
        self._at_prompt = False
        self._first_s = 0.0
        self._ready: Callable[[], None] | None = ready
        self._clock_s = clock_s
        self._wrote = wrote
        self._seen = 0
        self._level = 0
        self._look_s = 0.0

    @property
    def log(self) -> list[str]:
        """The lines on its flash."""
        return self._board.log

    def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
        """One tick, when its time has come."""
        if n >= self._ahead_ticks:
            self._wait(n)
        self._board.usb_power = self._terminal.attached
        self.steps += 1
        level = self._board.step(n, clock, counts)
        if self._ready is not None and n >= self._ahead_ticks:
            self._ready()
            self._ready = None
        if self._ready is None and self._wrote is not None:
            self._tell(level, self._wrote)
        return level

    def _tell(self, level: int, wrote: Callable[[list[str]], None]) -> None:
        """What is new in its log, when that is likely to be on its flash, or now and then."""
        now = self._clock_s()
        if level != self._level:
            self._level = level
            self._look_s = now + FLUSHED_S
        if now < self._look_s:
            return
        self._look_s = now + SELDOM_S
        lines = self._board.log
        if len(lines) < self._seen:  # Its flash was wiped.
            self._seen = 0
        wrote(lines[self._seen :])
        self._seen = len(lines)

    @property
    def clock_set(self) -> tuple[int, int] | None:
        """Day and second that its clock was set to in the last step."""
        return self._board.clock_set

    def nap_ticks(self) -> int:
        """How many ticks it may be left alone; never so long that a talk would have to wait."""
        slice_ticks = max(1, int(SLICE_S * self._ticks_per_s))
        return min(self._board.nap_ticks(), slice_ticks)

    def dark(self, n: int) -> int:
        """A tick without power: nobody answers on the line, and the pace goes on."""
        self._terminal.lose()
        if n >= self._ahead_ticks:
            self._wait(n)  # Who begins to talk has plugged a cable in: that is still heard.
        self._board.dark(n)
        return max(1, int(SLICE_S * self._ticks_per_s))

    def power_back(self) -> None:
        """Power is there again after a loss."""
        self._board.power_back()

    def _wait(self, n: int) -> None:
        now = self._clock_s()
        at_prompt = self._board.at_prompt
        if self._first_n < 0 or at_prompt != self._at_prompt:
            self._first_n, self._first_s = n, now
            self._at_prompt = at_prompt
        pace = min(self._ticks_per_s, float(TICKS_PER_S)) if at_prompt else self._ticks_per_s
        due_s = self._first_s + (n - self._first_n) / pace
        if now - due_s > LATE_S:
            self._first_s += now - due_s
            due_s = now
        self._terminal.carry(0.0)
        while (left_s := due_s - self._clock_s()) > 0.0:
            if self._terminal.carry(left_s):
                self._board.usb_power = True
