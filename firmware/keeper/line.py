"""What the pressure says of the line while the pump runs: filling, flowing, open or dry.

A pump without water makes no pressure: what stands in the line stays as it was before the start.
Whether it draws a dry line full or the source is gone, only water tells: its seconds count as dry
until then, and are given back. One that moves water through a burst hose, or past a lost nozzle,
makes a little, and steadily. A dry hose that fills for the first time looks like that too, but
half the time that is allowed for priming is more than its filling takes.

A shut line makes more than ``dead_head_pa``. A transducer whose zero has drifted may read that of
a sound line: it then stood as far above the standing water before the start. One that reads
pressure which the start has not moved shows no line at all: silt has closed its port.
"""

from .operating import share_permille
from .sense import OFF_ZERO
from .ticks import const

# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_PERMILLE = const(1)
_CURRENT_MA = const(7)
_PRESSURE_BAD = const(20)
_WATER_PA = const(27)
_DRY_S = const(28)
_SHUT_PA = const(29)

SMOOTH_TICKS = const(8)
"""The strokes of the pump ripple on its pressure: a mean that forgets in about a second."""
_ROOM_PA_PER_KPA = const(4)
"""For each kPa of the transducer's span: pressure that is so far above rest is of moving water.
A dry pump stays within 0.1 % of the span, and the open lines of drawn sites are at least 1 %."""
_LOADED_PERMILLE = const(850)
"""Of the current, or the sag, of a pump that moves water at no pressure. On drawn sites a dry one
takes 500 to 770, and one with water 1000 and more."""
_DRIFT_PA_PER_KPA = const(50)
"""For each kPa of the transducer's span: a zero drifts by a twentieth of the span at the most, and
what stands higher in a line at rest is held there by a shut one (from memory)."""
_PRIMED_HOLD_MS = const(1000)
_SETTLED_MS = const(60000)
"""An open line has lost its pressure by then (common practice, no source)."""
_FAR = const((1 << 30) - 1)
"""No reading is further from zero."""


class Line:
    """The line of one pump.

    ``loaded``: the battery feels a pump with water. ``smooth_pa`` gives the pressure less ripple.
    Without a transducer the pressure reads as normal: neither open nor dry, and no rule looks.
    """

    def __init__(self, keeper) -> None:
        self.keeper = keeper
        settings = keeper.settings
        self.loaded = False
        self._room_pa = settings.pressure_span_kpa * _ROOM_PA_PER_KPA
        self._sum_pa = 0
        self._sum_mv = 0
        self._open_ms = 0
        self._dry_before_ms = 0
        self._primed_ms = 0
        half_room_pa = (settings.rating_pa - settings.dead_head_pa) // 2
        self._drift_pa_max = min(settings.pressure_span_kpa * _DRIFT_PA_PER_KPA, half_room_pa)
        self._q = keeper.q
        self._operating = keeper.operating
        self._dry_pa = settings.dry_pa
        self._dead_head_pa = self._shut_pa = settings.dead_head_pa

    def smooth_pa(self) -> int:
        return self._sum_pa // SMOOTH_TICKS

    def begin(self) -> None:
        """The relay is about to close."""
        keeper = self.keeper
        settings = keeper.settings
        facts = keeper.facts
        self.loaded = False
        self._sum_pa = keeper.rest_pa * SMOOTH_TICKS
        self._sum_mv = 0
        self._open_ms = 0
        self._dry_before_ms = facts.dry_run_ms
        self._primed_ms = 0
        drift_pa = keeper.rest_pa - max(settings.static_pa, 0)
        self._dead_head_pa = self._shut_pa = settings.dead_head_pa
        if drift_pa <= self._drift_pa_max:
            self._shut_pa += drift_pa
        keeper.q[_PERMILLE] = 1000
        keeper.q[_DRY_S] = facts.dry_run_ms // 1000

    def _hold_against_zero(self, pressure_pa: int) -> None:
        """More than a line that is not shut makes, but no more than it was too high before."""
        if pressure_pa <= self._shut_pa:
            self._q[_SHUT_PA] = self._dead_head_pa
            self._q[_PRESSURE_BAD] = OFF_ZERO

    def look(self) -> None:
        """Asked some seconds after water seemed to come: did the start move the reading at all?

        If not, and it is more than a dry line has, each from now on is one of a bad channel.
        """
        keeper = self.keeper
        rest_pa = keeper.rest_pa
        if rest_pa > self._dry_pa and abs(self.smooth_pa() - rest_pa) < self._room_pa:
            if keeper.facts.off_ms >= _SETTLED_MS:
                # Past that limit, and not past the one of a shut line: off zero.
                self._dead_head_pa = -_FAR

    def fill(self, dt_ms: int, sag_mv: int) -> None:
        """One tick of priming."""
        keeper = self.keeper
        pressure_pa = self._q[_PRESSURE_PA]
        self._q[_SHUT_PA] = pressure_pa
        if pressure_pa > self._dead_head_pa:
            self._hold_against_zero(pressure_pa)
        self._feel(sag_mv)
        if self.smooth_pa() <= keeper.rest_pa + self._room_pa:
            self._count_dry(dt_ms)
        else:
            self._open_ms += dt_ms
        if self._open_ms * 2 > keeper.settings.prime_ms:
            keeper.q[_PERMILLE] = share_permille(
                keeper.q[_PRESSURE_PA], keeper.operating.expected_pa
            )

    def primed(self, dt_ms: int) -> bool:
        """Is there water yet? Without a transducer, the prime allowance is waited for.

        Less pressure than "primed", and more than an open line has, is water too: by the mean, so
        that it is never quicker than the pressure of a sound start.
        """
        keeper = self.keeper
        settings = keeper.settings
        if not settings.pressure_fitted:
            return keeper.in_state_ms >= settings.prime_ms
        if self._q[_PRESSURE_PA] <= settings.primed_pa:
            share = share_permille(self.smooth_pa(), keeper.operating.expected_pa)
            if share <= settings.line_open_permille:
                self._primed_ms = 0
                return False
        self._primed_ms += dt_ms
        return self._primed_ms >= _PRIMED_HOLD_MS

    def filled(self) -> None:
        """Water has come: what the pump drew air for at this start was no dry run."""
        self.keeper.facts.dry_run_ms = self._dry_before_ms
        self.keeper.q[_PERMILLE] = 1000

    def flow(self, dt_ms: int) -> None:
        """One tick of a run: a pump that moves water through an open line is not dry."""
        q = self._q
        pressure_pa = q[_PRESSURE_PA]
        q[_SHUT_PA] = q[_WATER_PA] = pressure_pa
        if pressure_pa > self._dead_head_pa:
            self._hold_against_zero(pressure_pa)
        sum_pa = self._sum_pa
        self._sum_pa = sum_pa + pressure_pa - sum_pa // SMOOTH_TICKS
        # The same as share_permille, without a call on each tick.
        whole = self._operating.expected_pa >> 3
        q[_PERMILLE] = (pressure_pa >> 3) * 1000 // whole if whole > 0 else 0
        if pressure_pa < self._dry_pa:
            standing_pa = max(self.keeper.rest_pa, self.keeper.settings.static_pa)
            if pressure_pa > standing_pa + self._room_pa:
                q[_WATER_PA] = self._dry_pa
            else:
                self._count_dry(dt_ms)

    def _count_dry(self, dt_ms: int) -> None:
        facts = self.keeper.facts
        facts.dry_run_ms += dt_ms
        self.keeper.q[_DRY_S] = facts.dry_run_ms // 1000

    def _feel(self, sag_mv: int) -> None:
        """Smooth the pressure; judge by current or sag whether there is water in the pump."""
        keeper = self.keeper
        settings = keeper.settings
        self._sum_pa += keeper.q[_PRESSURE_PA] - self.smooth_pa()
        self._sum_mv += sag_mv - self._sum_mv // SMOOTH_TICKS
        water_ma = settings.current_zero_ma
        if settings.current_fitted:
            felt, water = keeper.q[_CURRENT_MA], water_ma
        elif settings.battery_fitted:
            mohm = max(settings.resistance_mohm, keeper.facts.resistance_mohm)
            felt, water = self._sum_mv // SMOOTH_TICKS, water_ma * mohm // 1000
        else:
            return
        self.loaded = water > 0 and felt > water // 20 * (_LOADED_PERMILLE // 50)
