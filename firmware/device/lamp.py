"""The lamp: a character for each state, like a beacon's, to be counted from ten metres.

Short flashes come in groups of one to five, with a dark time after the group that is six times as
long as the gaps within it; what pumps, or is about to, is steady, or goes on and off evenly. So a
person counts, and need not judge how long a flash is. The lamp goes on with it in naps: the
looks at the inputs (board.py) come as often as ticks.

After the rules for lights at sea: groups of five at the most, a long flash three times a short one
or more, the dark between groups three times that within or more (IALA recommendation on rhythmic
characters of lights, from memory).
"""

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

# Tenths of a second: a flash, the gap after it, how many, the dark after the last gap.
_CHARACTERS = {
    UNSET: (3, 3, 1, 0),  # quick, on and on: no settings, or the board refuses
    IDLE: (3, 4, 1, 40),
    CHECK: (10, 10, 1, 0),  # evenly on and off: hands off
    PRIME: (17, 3, 1, 0),  # steady, with short gaps
    RUN: (1, 0, 1, 0),  # steady
    SOAK: (3, 4, 2, 20),
    REST: (3, 4, 3, 20),
    DONE: (3, 4, 4, 20),
    FLAT: (3, 4, 5, 20),
    LOCKOUT: (15, 5, 2, 20),  # two long ones
}
_ROW = tuple([_CHARACTERS[state] for state in range(len(STATES))])


class Lamp:
    """``show`` is called each tick, and each tenth of a second of a nap, with the state."""

    def __init__(self, pin) -> None:
        self._pin = pin
        self._state = -1
        self._place = 0

    def show(self, state: int) -> None:
        """Light or darken the lamp for this tick; another state begins at its first flash."""
        if state != self._state:
            self._state = state
            self._place = 0
        flash, gap, flashes, dark = _ROW[state]
        place = self._place
        group = (flash + gap) * flashes
        self._pin.value(1 if place < group and place % (flash + gap) < flash else 0)
        place += 1
        self._place = place if place < group + dark else 0
