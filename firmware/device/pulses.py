"""The pulses of a flow meter, counted by interrupts. Loaded where one is fitted (pins.py)."""

from keeper.ticks import MASK


class Pulses:
    """Counts the pulses of a pin, in its interrupt, which allocates nothing.

    A count that only rises, and is read by its difference, loses none to an interrupt between
    reading and taking away.
    """

    def __init__(self, pin) -> None:
        self.total = self._taken = 0
        try:
            pin.irq(self._count, pin.IRQ_FALLING, hard=True)
        except TypeError:  # The ESP32's port has but soft ones (from memory).
            pin.irq(self._count, pin.IRQ_FALLING)

    def _count(self, _pin) -> None:
        self.total = (self.total + 1) & MASK

    def take(self) -> int:
        """How many have come since this was last asked."""
        total = self.total
        new = (total - self._taken) & MASK
        self._taken = total
        return new
