"""The pulses of a flow meter, counted from tick 0 on.

A meter gives one pulse for each pulse volume that has turned its wheel, so that its litres are
right whatever the steps of the plant. Its own pulse volume is drawn once from the seed.
"""

from rillsim.noise import METER, generator, within_two
from rillsim.site import BoardSpec

SPREAD = 0.015
"""Sheets of small wheel meters promise 3 % or so in the middle of their range. Common practice,
no source."""


class FlowPulses:
    """One meter's pulses."""

    def __init__(self, board: BoardSpec, seed: int) -> None:
        self._sheet_m3 = 1e-3 / board.flow_pulses_per_l
        error = float(generator(seed, METER).standard_normal())
        self.pulse_m3 = self._sheet_m3 * (1.0 + SPREAD * within_two(error))
        self._most = 0

    def be_exact(self) -> None:
        """Take away this meter's own error."""
        self.pulse_m3 = self._sheet_m3

    def total(self, turned_m3: float) -> int:
        """How many have come when so much has turned the wheel.

        One that has come stays: where the plant goes back in a step that was cut short, it may
        find a little less than it had said.
        """
        self._most = most = max(self._most, self.at(turned_m3))
        return most

    def at(self, turned_m3: float) -> int:
        """The same, asked of what may not come to pass."""
        return int(turned_m3 / self.pulse_m3)
