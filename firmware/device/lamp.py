"""The lamp: each state has a pattern of ten ticks; it is dark while the board naps."""

from keeper.cycle import (
    CHECK,
    DONE,
    FLAT,
    IDLE,
    LOCKOUT,
    PRIME,
    REST,
    RUN,
    SOAK,
    STATES,
    UNSET,
)
from keeper.ticks import const

_TICKS = const(10)
_PATTERNS = {
    UNSET: 0b1010101010,  # quick: no settings, or the board refuses
    IDLE: 0b1000000000,
    CHECK: 0b1110000000,
    PRIME: 0b1111100000,
    RUN: 0b1111111111,
    SOAK: 0b1100000000,
    REST: 0b1010000000,
    DONE: 0b1010100000,
    FLAT: 0b1010101000,
    LOCKOUT: 0b1110111011,
}
_ROW = tuple([_PATTERNS[state] for state in range(len(STATES))])


class Lamp:
    """``show`` is called each tick with the state."""

    def __init__(self, pin) -> None:
        self._pin = pin
        self._tick = 0

    def show(self, state: int) -> None:
        """Light or darken the lamp for this tick."""
        self._tick = (self._tick + 1) % _TICKS
        self._pin.value(_ROW[state] >> self._tick & 1)

    def dark(self) -> None:
        """Save its current."""
        self._pin.value(0)
