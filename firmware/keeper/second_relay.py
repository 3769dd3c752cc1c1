"""The second relay, in series with the first: each opens where the other does not obey.

No contact makes or breaks the pump's current but the first, as long as it obeys:

    before a start   first alone     the pump must stand: the second is open
                     second alone    the pump must stand: the first is open
    the start        second, first   the first makes the current
    the stop         second alone    the first has broken it; the second follows

A pump that works while one of them is closed alone tells that the other does not open. It is told
by what standstill.py goes by: load side or current, else the battery's sag, else pressure. A
first relay that does not open at the end of a run is opened for by the second, under load.
Where nothing tells, the relays work in that order all the same, and nothing is proved.
"""

from .lines import date_text
from .relay import BOTH, FIRST, RENEW_MS, SECOND
from .rules import number_of
from .ticks import const

# The numbers of cycle.py.
_CHECK = const(2)
# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)
_STUCK_RELAY = const(30)

RELAY_STUCK = number_of("relay stuck")

_PROOF_MS = const(1000)
"""One relay stays closed alone for so long: the inrush of a pump sags at once."""
_PRESSURE_PROOF_MS = const(3000)
"""The same where pressure alone tells."""
_APART_MS = const(200)
"""Two relays are not closed within so long of each other: ten times what one takes to open
(common practice, no source)."""
_FELT_MS = const(300)
"""The pump must be felt for so long, in one go."""

_NAMES = ("none", "first", "second", "both")


class SecondRelay:
    """Closes one relay alone (``keeper.relay.alone``), and says what comes of it."""

    def __init__(self, keeper) -> None:
        settings = keeper.settings
        self.keeper = keeper
        self.relay = keeper.relay
        self.relay.closed = BOTH
        self._proof_ms = _PROOF_MS
        if not keeper.standstill.seen and not settings.battery_fitted:
            self._proof_ms = _PRESSURE_PROOF_MS
        self._ms = -1
        """Since the proof has begun, or since the run has ended; below 0: not yet."""
        self._felt_ms = 0
        self._rest_mv = self._rest_pa = 0
        self._stuck = 0
        """The relay that was found not to open, until that is said."""

    def begin(self) -> None:
        """A check begins: nothing is proved yet."""
        self.relay.alone = 0
        self._ms = -1
        self._felt_ms = 0

    def prove(self, dt_ms: int, load_on: int) -> bool:
        """One tick of the proof, after the readings were judged; True when the pump may start."""
        if dt_ms > RENEW_MS:
            # The outputs have dropped meanwhile.
            self.begin()
            return False
        if not self.relay.alone or not self._works(load_on):
            self._felt_ms = 0
        else:
            self._felt_ms += dt_ms
            if self._felt_ms >= _FELT_MS:
                self._found()
                return False
        if self._ms < 0:
            q = self.keeper.q
            self._rest_mv = q[_BATTERY_MV]
            self._rest_pa = q[_PRESSURE_PA]
        self._ms += dt_ms
        left_ms = self._ms - self._proof_ms - _APART_MS
        if left_ms >= self._proof_ms:
            facts = self.keeper.facts
            if self._tells() and not facts.clock_bad:
                facts.proved_day = self.keeper.journal.day
            return True
        if left_ms >= 0:
            self.relay.alone = SECOND
        else:
            self.relay.alone = FIRST if left_ms < -_APART_MS else 0
        return False

    def stopped(self) -> None:
        """The first relay is about to open."""
        self.relay.alone = SECOND
        self._ms = 0

    def holds(self, dt_ms: int, load_on: int) -> bool:
        """True while one relay is closed alone. In a quiet state it opens soon."""
        keeper = self.keeper
        if keeper.guard.said[RELAY_STUCK]:
            # Told of; noon forgets that it was.
            self._stuck = 0
        keeper.q[_STUCK_RELAY] = self._stuck
        if not self.relay.alone:
            return False
        if keeper.state == _CHECK:
            return True
        self._ms += dt_ms
        if keeper.standstill.live(load_on, keeper.q):
            # A motor that runs out makes voltage for a moment.
            if self._ms >= max(keeper.settings.weld_hold_ms, _FELT_MS):
                self._found()
        elif self._ms >= _APART_MS:
            self.relay.alone = 0
        return True

    def told(self, level: int) -> str:
        """For the status: which are told to close, which one does not open, when both last did."""
        facts = self.keeper.facts
        day = facts.proved_day
        return "closed=%s stuck=%s proved=%s" % (
            _NAMES[level],
            _NAMES[facts.stuck_relay],
            date_text(day) if day >= 0 else _NAMES[0],
        )

    def _found(self) -> None:
        """The pump works with one relay closed: the other does not open. Now both are told to."""
        keeper = self.keeper
        self._stuck = keeper.facts.stuck_relay = BOTH - self.relay.alone
        keeper.standstill.looked(keeper.q[_PRESSURE_PA])
        self.relay.alone = 0

    def _tells(self) -> bool:
        watch = self.keeper.standstill
        q = self.keeper.q
        return watch.seen or watch.battery_tells(q) or watch.pressure_tells(q)

    def _works(self, load_on: int) -> bool:
        keeper = self.keeper
        watch = keeper.standstill
        q = keeper.q
        if watch.seen:
            return watch.live(load_on, q)
        if watch.battery_tells(q):
            pump_ma = keeper.charge.pump_ma(q[_PRESSURE_PA])
            return self._rest_mv - q[_BATTERY_MV] > keeper.charge.lift_mv(pump_ma) // 4
        return watch.pressure_tells(q) and q[_PRESSURE_PA] - self._rest_pa > watch.rise_pa
