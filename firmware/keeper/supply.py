"""The supply under load: is a joint bad, is the pump stuck, has its fuse blown, or is it flat?

All of them pull the voltage down. A battery goes down slowly, so that a slow mean of what it gives
(``source_mv``: the reading, made good for the current in the known resistance) goes with it. What
falls short of that mean at once is a joint, while the pressure shows that the pump turns; without
pressure it is a pump that stands. A battery that is known to be low is not looked at in this way:
the nearly empty one has a resistance of its own.

The battery is read behind the pump's fuse, and the board is fed past it by a fuse of its own
(hardware_notes/power.md). So a fuse that blows takes the reading and the load side away, and the
board lives on to say so. A hand switch that is opened does the same, without the current of a
standing pump before it.
"""

from .records import CAUSE_RULE
from .rules import BAD_SUPPLY
from .ticks import const

# The numbers of cycle.py.
_RUN = const(4)
# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_PERMILLE = const(1)
_BATTERY_MV = const(3)
_SAG_MV = const(5)
_RESISTANCE = const(6)
_CURRENT_MA = const(7)
_ON_S = const(10)
_FUSE_BLOWN = const(12)

# The numbers of sense.py.
_BELOW_BAND = const(1)

_STRAIN_MS = const(3000)
"""Load that is gone so soon after the current of a standing pump was not switched off: its fuse
has blown. Blades melt at once or within seconds (ISO 8820-3, from memory)."""

_NO_PRESSURE_PA = const(1 << 29)
"""No reading comes up to it: without a transducer, no pressure shows that the pump turns."""
_TURNS_PA = const(15000)
"""A pump that makes so much more than the standing water weighs turns."""
_TURNS_PERMILLE = const(500)
"""One that has stopped leaves the hose its pressure for a second or two; what turns at less
voltage keeps to the pressure that belongs to it."""
_SPUN_UP_S = const(1)
_SOURCE_S = const(16)
"""Seconds in which the slow mean forgets: at its knee a battery falls some 5 mV a second, a tenth
of a volt behind; joints jump by more (common practice, no source)."""
_JUMP_MOHM = const(15)
"""A joint is seen from a quarter of the known resistance and this much on."""
_MOHM_MAX = const(5000)
_UNKNOWN = const(-1)
_ANY_SAG_MV = const(-1 << 28)
"""Less than any sag."""
_JUMP_S = const(3)
"""Seconds that it must last to be taken for the supply's resistance from then on."""


class Supply:
    """What battery, clamps, cable and fuse show while the relay is told to be closed."""

    def __init__(self, keeper) -> None:
        self.keeper = keeper
        settings = keeper.settings
        self._facts = keeper.facts
        self._q = keeper.q
        self._battery = keeper.senses.battery
        self._battery_fitted = settings.battery_fitted
        self._current_fitted = settings.current_fitted
        self._asks_current = settings.current_fitted or not settings.pressure_fitted
        """Its current is not what belongs to its pressure."""
        self._stall_ma = settings.stall_ma
        self._expected_mohm = settings.resistance_mohm
        self._refuse_mohm = settings.resistance_refuse_mohm
        self.strained = False
        self.was_strained = False
        """On this tick, or so shortly ago that load which is gone tells of a fuse."""
        self.source_mv = 0
        self.pump_ma = 0
        """Pump current that belongs to the last pressure: reckoned once a tick."""
        self.least_mv = _ANY_SAG_MV
        """A sag up to here is no strain (half way from the pump's current to that of one that
        stands): nearly always, and ``look`` is not asked. Without a battery it always is."""
        self.turns_pa = _NO_PRESSURE_PA
        self._source_sum = 0
        self._since_strain_ms = 0
        self._charged = False
        self._learned = False
        self._start_mohm = 0
        self._jump_mohm = 0
        self._jump_s = 0
        self._mohm = _UNKNOWN

    def begin(self) -> None:
        """The relay is about to close."""
        keeper = self.keeper
        settings = keeper.settings
        rest_mv = keeper.rest_mv
        if settings.pressure_fitted:
            still_pa = max(keeper.rest_pa, settings.static_pa)
            self.turns_pa = min(still_pa + _TURNS_PA, settings.primed_pa)
        self.strained = False
        self.was_strained = False
        self.source_mv = rest_mv
        self.pump_ma = keeper.charge.pump_ma(keeper.senses.pressure.value)
        if self._battery_fitted:
            self.least_mv = (self._stall_ma - self.pump_ma) * self._expected_mohm // 2000
        self._charged = keeper.charge.holds_charge(rest_mv)
        self._learned = False
        self._jump_s = 0
        self._mohm = _UNKNOWN
        self._judge()
        keeper.q[_SAG_MV] = 0
        keeper.q[_FUSE_BLOWN] = 0

    def learn(self, loaded_mv: int, ma: int) -> int:
        """The supply's resistance, from the sag of this start."""
        keeper = self.keeper
        settings = keeper.settings
        mohm = keeper.charge.learn_resistance(keeper.rest_mv, loaded_mv, ma)
        if not self._charged:
            # The resistance of an empty battery is no joint's, and must not make it look full.
            mohm = min(mohm, settings.resistance_mohm)
            keeper.facts.resistance_mohm = mohm
        self._learned = True
        self._start_mohm = mohm
        self._judge()
        self._source_sum = (loaded_mv + ma * mohm // 1000) * _SOURCE_S
        self.source_mv = self._source_sum // _SOURCE_S
        keeper.q[_RESISTANCE] = mohm
        return mohm

    def look(self, battery_n: int) -> None:
        """Is there, on this very tick, the current of a pump that stands?

        More sag than ``least_mv``, what the pump itself takes left out. By the counts themselves:
        fuses melt within two or three ticks, and the median of three is a tick late.
        """
        sag_mv = self.source_mv - self._battery.units(battery_n)
        taken_mv = self.keeper.charge.lift_mv(self.pump_ma)
        in_band = battery_n >= self._battery.low_count
        self.strain(in_band and sag_mv - taken_mv > max(self.least_mv, 0))

    def strain(self, strained: bool) -> None:
        """Whether there is; without a battery reading the current must tell."""
        self.strained = strained
        if strained:
            self.was_strained = True

    def tick(self, sag_mv: int, ma: int, turns: bool) -> None:
        """One tick with the relay commanded closed.

        ``ma`` belongs to the pressure, ``turns``: the pump is seen to be at work.

        So few names that they take no heap: six such frames were a twelfth of a step.
        """
        q = self._q
        # Whether it does not stand stuck either.
        turns = turns and (
            not self._current_fitted
            or q[_CURRENT_MA] < self._stall_ma
            or q[_PRESSURE_PA] > self.turns_pa
        )
        # While the pump turns, however deep the sag, it is the supply.
        q[_SAG_MV] = 0 if turns or self._battery.quality == _BELOW_BAND else sag_mv
        if not self._battery_fitted:
            return
        self.least_mv = (self._stall_ma - ma) * self._expected_mohm // 2000
        mohm = _UNKNOWN
        if self._charged and q[_ON_S] >= _SPUN_UP_S and self._battery.quality != _BELOW_BAND:
            # Only a battery that has charge left goes down so slowly that the rest is the
            # joints'. Its current is known while the pump turns: nearly always at once.
            if not turns or self._asks_current or q[_PERMILLE] < _TURNS_PERMILLE:
                ma = self._turning_ma(turns)
            if ma > 0:
                mohm = sag_mv * 1000 // ma if sag_mv > 0 else 0
        self._mohm = mohm = mohm if mohm < _MOHM_MAX else _MOHM_MAX
        q[_RESISTANCE] = mohm if mohm > self._jump_mohm else self._facts.resistance_mohm

    def _judge(self) -> None:
        """From what on a resistance is a joint's: begun, learned, or changed since."""
        mohm = self._facts.resistance_mohm or self._expected_mohm
        mohm += (mohm >> 2) + _JUMP_MOHM
        if not self._learned and mohm < self._refuse_mohm:
            mohm = self._refuse_mohm
        self._jump_mohm = mohm

    def look_for_fuse(self, dt_ms: int, load_on: int, sag_mv: int) -> None:
        """The same tick, while ``was_strained``: has the fuse blown?"""
        if self.strained:
            self._since_strain_ms = 0
        else:
            self._since_strain_ms += dt_ms
        blown = False
        if self._since_strain_ms > _STRAIN_MS:
            self.was_strained = False
        else:
            dead = self.keeper.settings.load_sense_fitted and not load_on
            blown = dead or self._battery.quality == _BELOW_BAND or self._idle(sag_mv)
        self._q[_FUSE_BLOWN] = 1 if blown else 0

    def second(self, ma: int) -> None:
        """Once a second of a run: go with the battery, and see whether a joint has changed."""
        if not self._learned:
            return
        if self._charged and self._mohm == _UNKNOWN:
            return
        facts = self._facts
        known_mohm = facts.resistance_mohm
        # A joint that heals gets no better than it began; a charger lifts the voltage beyond that.
        mohm = max(self._mohm, self._start_mohm)
        if abs(mohm - known_mohm) > (known_mohm >> 2) + _JUMP_MOHM:
            self._jump_s += 1
            if self._jump_s >= _JUMP_S:
                self._jump_s = 0
                facts.resistance_mohm = mohm
                self._judge()
            return
        self._jump_s = 0
        given_mv = self._q[_BATTERY_MV] + ma * known_mohm // 1000
        self._source_sum += given_mv - self.source_mv
        self.source_mv = self._source_sum // _SOURCE_S

    def stopped(self, cause: int) -> None:
        """The relay is about to open: a supply that was too bad to go on is known as such."""
        if cause == CAUSE_RULE + BAD_SUPPLY:
            self.keeper.facts.resistance_mohm = self.keeper.q[_RESISTANCE]

    def must_draw(self) -> bool:
        """Whether the pump is primed, and the battery feels it, as far as either is read.

        A pump whose motor has cut out leaves the line its pressure for seconds. Half of its sag
        on a sound supply is felt, less than a quarter is none (relaywatch.py).
        """
        keeper = self.keeper
        settings = keeper.settings
        if settings.pressure_fitted and keeper.senses.pressure.value <= settings.primed_pa:
            return False
        # Settings have one of the two (plausible.py).
        return (
            not self._battery_fitted
            or self.source_mv - self._battery.value
            > self.pump_ma * self._expected_mohm // 2000
            > 0
        )

    def draws(self) -> bool:
        """Whether a current shows a pump at work: pressure above ``turns_pa`` does so, too."""
        settings = self.keeper.settings
        good = settings.current_fitted and not self.keeper.senses.current.quality
        return good and self._q[_CURRENT_MA] > settings.current_zero_ma >> 2

    def _turning_ma(self, turns: bool) -> int:
        """The current of a pump that turns; 0: not known."""
        keeper = self.keeper
        if self._current_fitted:
            # What a motor that has cut out takes tells of no supply.
            return self.draws() and self._q[_CURRENT_MA]
        if not keeper.settings.pressure_fitted:
            return keeper.normal_ma if self._learned else 0
        return self.pump_ma if turns and keeper.state != _RUN else 0

    def _idle(self, sag_mv: int) -> bool:
        """Whether no current flows into the pump."""
        keeper = self.keeper
        settings = keeper.settings
        if settings.current_fitted:
            none = keeper.senses.current.quality == _BELOW_BAND
            return none or keeper.q[_CURRENT_MA] < settings.current_zero_ma >> 2
        return abs(sag_mv) < self.pump_ma * self._expected_mohm // 4000
