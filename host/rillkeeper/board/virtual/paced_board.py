"""A virtual board under a replay that is held to the pace of a clock on the wall.

At the prompt somebody types, or copies files: there its time goes no faster than theirs, so that
an armed watchdog leaves as many seconds as on a real board.
"""

from time import monotonic

from rillkeeper.board.virtual.terminal import Terminal
from rillsim.boards.virtualboard import VirtualBoard
from rillsim.replay import TICKS_PER_S

SLICE_S = 0.05
"""Whoever begins to talk to a napping board waits no longer than this."""
LATE_S = 0.5
"""Later than this, the pace is taken up from now on instead of being made good."""


class PacedBoard:
    """What a replay asks of a board; each tick waits for its time and carries bytes meanwhile."""

    def __init__(
        self, board: VirtualBoard, terminal: Terminal, speed: float, ahead_ticks: int = 0
    ) -> None:
        """``speed``: simulated seconds in one second. The first ``ahead_ticks`` do not wait."""
        self.steps = 0
        self._board = board
        self._terminal = terminal
        self._ticks_per_s = speed * TICKS_PER_S
        self._ahead_ticks = ahead_ticks
        self._first_n = -1
        self._at_prompt = False
        self._first_s = 0.0

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
        return self._board.step(n, clock, counts)

    @property
    def clock_set(self) -> tuple[int, int] | None:
        """Day and second that its clock was set to in the last step."""
        return self._board.clock_set

    def nap_ticks(self) -> int:
        """How many ticks it may be left alone; never so long that a talk would have to wait."""
        slice_ticks = max(1, int(SLICE_S * self._ticks_per_s))
        return min(self._board.nap_ticks(), slice_ticks)

    def power_back(self) -> None:
        """Power is there again after a loss."""
        self._board.power_back()

    def _wait(self, n: int) -> None:
        now = monotonic()
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
        while (left_s := due_s - monotonic()) > 0.0:
            if self._terminal.carry(left_s):
                self._board.usb_power = True
