"""Records a simulated week as the board saw it: the readings of every step, in a file.

A row is a step: tick, day, second, flags (1: the clock is good, 2: power has just come back),
then the six readings, as 16-bit numbers. The board of the replay is what is recorded, so a
power loss is in the file too.
"""

import struct
from pathlib import Path
from typing import Any

from rillsim import replay
from rillsim.boards.board import Board
from rillsim.site import Site

ROW = struct.Struct("<3i7h")
CLOCK_GOOD = 1
POWER_BACK = 2


def record(site: Site, settings: dict[str, int], file: Path, **options: Any) -> replay.Week:
    """Replay the site's week, and write what its board read."""
    rows = bytearray()

    class Recorder(Board):
        """A board that notes its readings."""

        came_back = 0

        def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
            day, second, good = clock
            flags = (CLOCK_GOOD if good else 0) | self.came_back
            self.came_back = 0
            rows.extend(ROW.pack(n, day, second, flags, *counts))
            return super().step(n, clock, counts)

        def power_back(self) -> None:
            self.came_back = POWER_BACK
            super().power_back()

    board, replay.Board = replay.Board, Recorder
    try:
        week = replay.replay(site, settings, **options)
    finally:
        replay.Board = board
    file.write_bytes(rows)
    return week
