"""A flow meter at the pump's outlet: does water pass, and how much?

It tells what a transducer cannot: one whose port silt has closed goes on showing the pressure of
before, while the pump works behind a shut line. Too little water for a while stops the pump,
whatever the pressure is. In the rest a sound transducer falls; where its pressure has risen again
after that and the pulses still stay away, it is the meter that stands still, as a wheel with a
fibre in it does. That is said, and the set is given by the pressure.

Before water has come a pump is allowed to draw air, which turns no wheel: there only one that is
loaded as with water is held against the meter. Without a transducer the meter alone says that
water has come. A run's litres are the meter's for as long as its pulses come.
"""

from .line import Line
from .rules import NO_FLOW
from .ticks import const

# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_PERMILLE = const(1)
_STILL_MS = const(31)
_METER_BAD = const(32)

_PRIMED_HOLD_MS = const(1000)  # As in line.py.
_UL_S_MAX = const(8000000)
"""More than any 12 V pump gives in a second: times 60 it stays in 31 bits."""
_LEAST_PERMILLE = const(350)
"""Of the expected flow: at half of it a pump counts as dry by its pressure, or the line is nearly
shut (rillkeeper's limits), and a battery that is used up still gives four fifths."""
_FREE_PERMILLE = const(1200)
"""Of the expected pressure: a sound line makes no more, and the dead head's limit stands at 1300
where it can (rillkeeper's limits)."""
_PULSES_MIN = const(2)
"""So many at the expected flow in the time that their absence is given: half of it sends one."""


class MeteredLine(Line):
    """The line of a pump with a flow meter."""

    def __init__(self, keeper) -> None:
        Line.__init__(self, keeper)
        settings = keeper.settings
        self._pressure_fitted = settings.pressure_fitted
        self._pulse_ul = settings.pulse_ul
        self._second_max = _UL_S_MAX // settings.pulse_ul
        self._second_n = 0
        """Pulses since water was last counted."""
        self._came_n = 0
        self._came_ms = 0
        expected_ml = settings.flow_ml_min // 60 * (settings.no_flow_ms // 100) // 10
        self._least_n = max(expected_ml * _LEAST_PERMILLE // settings.pulse_ul, 1)
        """Pulses that must come in ``no_flow_ms``."""
        self._passed_n = 0
        """Those since so many had come."""

    def begin(self) -> None:
        """The relay is about to close."""
        Line.begin(self)
        self.keeper.pulses = self._second_n = self._came_n = self._came_ms = self._passed_n = 0
        self._q[_STILL_MS] = self._q[_METER_BAD] = 0

    def fill(self, dt_ms: int, sag_mv: int) -> None:
        """One tick of priming."""
        pulses = self.keeper.pulses
        self._take(dt_ms)
        if self._pressure_fitted:
            Line.fill(self, dt_ms, sag_mv)
        else:
            self._feel(sag_mv)
            self._came_n += pulses
            if not pulses:
                self._count_dry(dt_ms)
        if not self.loaded or not self._knows_load():
            self._q[_STILL_MS] = 0

    def _knows_load(self) -> bool:
        """Whether the load of a pump is to be believed: by its current, or by the sag over a
        supply that has been learned. One that is worse than the file says makes a dry pump look
        loaded."""
        keeper = self.keeper
        return bool(keeper.settings.current_fitted or keeper.facts.resistance_mohm)

    def primed(self, dt_ms: int) -> bool:
        """Is there water yet? By the transducer, or where there is none by the meter.

        As much must pass in as short a time as a run asks for: a pump that still draws air along
        gives a pulse now and then.
        """
        if self._pressure_fitted:
            return Line.primed(self, dt_ms)
        if self._came_n:
            self._came_ms += dt_ms
        if self._came_ms > self.keeper.settings.no_flow_ms:
            self._came_n = self._came_ms = 0
        return self._came_n >= self._least_n and self._came_ms >= _PRIMED_HOLD_MS

    def filled(self) -> None:
        """Water has come; what is given is counted from here on, as without a meter."""
        Line.filled(self)
        self._second_n = 0

    def flow(self, dt_ms: int) -> None:
        """One tick of a run."""
        flows = self._take(dt_ms)
        q = self._q
        if self._pressure_fitted:
            Line.flow(self, dt_ms)
            if q[_PRESSURE_PA] < self._dry_pa:
                # A dry run: the pressure says so, and has a rule of its own.
                q[_STILL_MS] = 0
        elif flows:
            Line.filled(self)
        else:
            self._count_dry(dt_ms)
        if flows:
            q[_METER_BAD] = 0
        elif q[_STILL_MS] > self.keeper.settings.no_flow_ms and self._contradicted():
            q[_METER_BAD] = 1
        if q[_METER_BAD]:
            q[_STILL_MS] = 0

    def passed(self, dt_ms: int, flow_ml_min: int) -> int:
        """The flow [mL/min] that has passed in the time since this was last asked; what the
        pressure says of it where the meter is not believed."""
        pulses = min(self._second_n, self._second_max)
        self._second_n = 0
        if self._q[_METER_BAD]:
            return flow_ml_min
        return pulses * self._pulse_ul * 60 // dt_ms

    def _take(self, dt_ms: int) -> bool:
        """Take the pulses of this tick; True where enough have come since that was so last."""
        pulses = self.keeper.pulses
        if pulses:
            self.keeper.pulses = 0
            self._second_n += pulses
            self._passed_n += pulses
            if self._passed_n >= self._least_n:
                self._passed_n = 0
                self._q[_STILL_MS] = 0
                return True
        self._q[_STILL_MS] += dt_ms
        return False

    def _contradicted(self) -> bool:
        """Whether the transducer, which fell in a rest, has risen again, and no higher than water
        that moves takes it: a line that is nearly shut makes more."""
        keeper = self.keeper
        if not self._pressure_fitted or not keeper.guard.tries[NO_FLOW]:
            return False
        q = self._q
        risen = q[_PRESSURE_PA] > keeper.rest_pa + self._room_pa
        return risen and q[_PERMILLE] <= _FREE_PERMILLE


def idle(known: dict) -> list:
    """A meter whose pulses are too far apart: between two a sound line would look shut
    (plausible.py)."""
    least_ms = _PULSES_MIN * known["pulse_ul"] * 60 // known["flow_ml_min"]
    if known["no_flow_ms"] >= least_ms:
        return []
    why = "no_flow_ms (%d): no pulse may come for so long in a sound run; at least %d"
    return [why % (known["no_flow_ms"], least_ms)]
