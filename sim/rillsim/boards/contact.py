"""A relay: its coil, its contact, and what wears or spoils it.

The coil pulls in and lets go within 10 ms and the contact bounces for a few milliseconds, well
inside one tick, so that the circuit sees a contact that is open or closed for a whole tick.
"""

from rillsim.noise import CONTACT, UniformStream

GOOD, STUCK_OPEN, WELDED, CHATTERING, BRIDGED, INVERTED = range(6)

PULL_IN_V = 7.2
"""A 12 V coil pulls in at 60 % of its voltage or less. Common practice, no source."""
DROP_OUT_V = 2.4
"""It lets go at 20 % of it or less. Common practice, no source."""


class Contact:
    """Contact of a pump's relay, driven by one pin.

    ``closed`` is what the circuit and the load-side sense see. ``coil_v`` of a call is the
    voltage at the board at that moment.
    """

    def __init__(self, seed: int, stream: int = CONTACT) -> None:
        self.pin = 0
        self.closed = False
        self.mode = GOOD
        self.severity = 1.0
        """Twice the share of the ticks in which a chattering contact is open."""
        self.closings = 0
        self._pulled = False
        self._chance = UniformStream(seed, stream)

    @property
    def restless(self) -> bool:
        """True while the contact may change from tick to tick without the pin."""
        return self.mode == CHATTERING and self._pulled

    @property
    def waiting(self) -> bool:
        """True while the pin asks for the relay and the coil has too little voltage to pull."""
        return bool(self.pin) and not self._pulled

    def settle(self, n: int, coil_v: float) -> bool:
        """Let coil and contact follow the pin at tick ``n``; True where the contact changed."""
        if not self.pin or coil_v < DROP_OUT_V:
            self._pulled = False
        elif coil_v >= PULL_IN_V:
            self._pulled = True
        closed = self._pulled
        if self.mode == WELDED:
            closed = closed or self.closed
        elif self.mode == STUCK_OPEN:
            closed = False
        elif self.mode == BRIDGED:
            closed = True
        elif self.mode == INVERTED:
            closed = not self._pulled and coil_v >= DROP_OUT_V
        elif closed and self.mode == CHATTERING:
            closed = self._chance.at(n) >= 0.5 * self.severity
        changed = closed != self.closed
        if changed and closed:
            self.closings += 1
        self.closed = closed
        return changed
