"""What the replay asks of a board: the control package alone, or a whole firmware."""

from typing import Protocol


class AnyBoard(Protocol):
    """One board under one plant: see board.py and virtualboard.py."""

    steps: int

    @property
    def log(self) -> list[str]:
        """The lines it has written."""

    @property
    def clock_set(self) -> tuple[int, int] | None:
        """Day and second that its clock was set to in the last step."""

    def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
        """One tick with power; returns the level of the relay pin."""

    def nap_ticks(self) -> int:
        """How many ticks it may be left alone if no pin changes."""

    def dark(self, n: int) -> int:
        """A tick without power; returns how many ticks it may be left alone."""

    def power_back(self) -> None:
        """Power is there again after a loss."""
