"""Charge: counted out of the battery, and checked against its voltage.

A displacement pump's current follows its pressure, so a line in pressure stands in for a
current sensor. From it come the charge used, the supply's resistance at each start, the
voltage made good for that resistance, and what is in the battery.
"""

from .checked import CURVE
from .facts import BATTERY, UNSEEN_MV
from .ticks import const

_MA_MS_PER_MAH = const(3600000)
_SLICE_MS = const(50000)
_PUMPED_SLICE_MS = const(5000)
"""So long 80 A (settings.TOP_MA_MAX) stay in 31 bits."""
STEP_MV = 60
"""A rested battery does not read so much higher by itself: the converter's noise, and the
warmth of a day, are less (common practice, no source)."""

METER_ERROR_MV = 80
"""A channel that was held against a meter may err as the meter does: half a percent and two digits
(common practice, no source)."""

ROOM_MV = 30
"""Counting misses something: without it, one part-charged battery after the other would be held
for a little less (found in a sweep of two weeks in the plant)."""

_CLEARLY_SHARE = const(16)
_PARTS = len(CURVE) - 1


class Charge:
    """What is left in the battery, and what the supply is like."""

    def __init__(self, settings, facts) -> None:
        self.settings = settings
        self.facts = facts
        volts = [getattr(settings, key) for key in CURVE]
        if not settings.rest_50_mv:
            # Where nothing is known, only a full battery can be told from others.
            first, last = volts[0] or volts[-1] - _PARTS, volts[-1]
            volts = [first + (last - first) * part // _PARTS for part in range(_PARTS + 1)]
        self._curve = volts
        self._part_mah = settings.capacity_mah // _PARTS
        self.quarter_mah = settings.capacity_mah >> 2
        """With less than that by the count a battery is not believed to hold charge well."""
        calibrated = settings.battery_full_trim_mv or settings.battery_offset_mv
        self.error_mv = settings.battery_error_mv
        if calibrated:
            self.error_mv = min(self.error_mv, METER_ERROR_MV)
        facts.reads_low_mv = min(facts.reads_low_mv, self.error_mv)
        self._top_tells = (volts[-1] - volts[-2]) * _PARTS > self.error_mv
        gap_mv = settings.empty_mv - settings.cutout_mv
        self.unrested_mv = max(gap_mv, (volts[-1] - volts[0]) // 4)
        """A battery at the end of a night's pumping reads so much lower than when it has rested:
        the cut-out is what an emptying one shows at work, made good for the wiring. A proof that
        raises the cut-out for a trial makes no battery emptier."""

    def pump_ma(self, pressure_pa: int) -> int:
        """Pump current at this outlet pressure: the line that the sizing gives."""
        settings = self.settings
        if pressure_pa < 0:
            pressure_pa = 0
        return settings.current_zero_ma + pressure_pa // 100 * settings.current_ma_per_bar // 1000

    def count(self, pump_ma: int, dt_ms: int) -> None:
        """Take the pump's and the board's charge for at most a few seconds."""
        self.facts.part_ma_ms += pump_ma * dt_ms
        self.count_board(dt_ms)

    def count_unasked(self, pump_ma: int, dt_ms: int) -> None:
        """The same for the time between two looks at a pump that was told to stand."""
        while dt_ms > 0:
            slice_ms = dt_ms if dt_ms < _PUMPED_SLICE_MS else _PUMPED_SLICE_MS
            dt_ms -= slice_ms
            self.count(pump_ma, slice_ms)

    def count_board(self, dt_ms: int) -> None:
        """Take the charge of the board itself, however long it slept."""
        facts = self.facts
        while dt_ms > 0:
            slice_ms = dt_ms if dt_ms < _SLICE_MS else _SLICE_MS
            dt_ms -= slice_ms
            facts.part_ma_ms += slice_ms * (self.settings.board_ua // 10) // 100
            while facts.part_ma_ms >= _MA_MS_PER_MAH:
                facts.part_ma_ms -= _MA_MS_PER_MAH
                facts.used_mah += 1
                facts.since_mah += 1
                if facts.left_mah > 0:
                    facts.left_mah -= 1

    def learn_resistance(self, rest_mv: int, loaded_mv: int, ma: int) -> int:
        """Supply resistance in mohm from the sag at a start; at least 1."""
        sag_mv = rest_mv - loaded_mv
        mohm = sag_mv * 1000 // ma if ma > 0 and sag_mv > 0 else 1
        self.facts.resistance_mohm = max(mohm, 1)
        return self.facts.resistance_mohm

    def lift_mv(self, ma: int) -> int:
        """What the supply's resistance takes at this current, in mV."""
        mohm = self.facts.resistance_mohm or self.settings.resistance_mohm
        # A supply past its limit must not make a flat battery look full.
        most_mohm = self.settings.resistance_refuse_mohm
        return ma * (mohm if mohm < most_mohm else most_mohm) // 1000

    def holds_charge(self, rest_mv: int) -> bool:
        """Whether count and rest voltage both say that there is charge left."""
        return rest_mv > self.settings.cutout_mv and self.facts.left_mah > self.quarter_mah

    def changed(self, rest_mv: int) -> None:
        """A battery has been put on, or charged: count the most that fits its voltage."""
        settings = self.settings
        self.facts.end(BATTERY)
        top_mv = rest_mv + self.facts.reads_low_mv
        if top_mv >= settings.charged_mv:
            self.facts.left_mah = settings.capacity_mah
        else:
            self.bound(rest_mv, 0)
            if settings.empty_mv:
                self.facts.left_mah = self.mah_at(top_mv)
        self.note(rest_mv)

    def renewed(self, left_mah: int) -> None:
        """A person says what is in the battery now; 0: all that it holds."""
        capacity_mah = self.settings.capacity_mah
        self.facts.end(BATTERY)
        self.facts.rest_over_mv = 0
        self.facts.left_mah = left_mah if 0 < left_mah < capacity_mah else capacity_mah

    def go_on(self, before) -> None:
        """Other settings: the same battery, on another curve or read by another scale."""
        facts = self.facts
        now, then = self.settings, before.settings
        full_mv = now.battery_full_mv + now.battery_full_trim_mv
        full_before_mv = then.battery_full_mv + then.battery_full_trim_mv
        calibrated = full_mv != full_before_mv or now.battery_offset_mv != then.battery_offset_mv
        if facts.rest_over_mv != UNSEEN_MV:
            rest_mv = before.mv_at(before.facts.left_mah) + facts.rest_over_mv
            rest_mv = (rest_mv - then.battery_offset_mv) * full_mv // full_before_mv
            self.note(rest_mv + now.battery_offset_mv)
        if calibrated:
            facts.reads_low_mv = self.error_mv

    def told(self, rest_mv: int) -> None:
        """A person has said what is in a battery that rests at this: so reads the channel."""
        low_mv = self.mv_at(self.facts.left_mah) - rest_mv
        if self.settings.empty_mv:
            self.facts.reads_low_mv = max(min(low_mv, self.error_mv), -self.error_mv)
        self.note(rest_mv)

    def is_charged(self, rest_mv: int) -> bool:
        """Whether it reads higher than a battery can that nobody has charged, rested or not."""
        over_mv = self.facts.rest_over_mv
        return (
            over_mv == UNSEEN_MV or rest_mv >= self.mv_at(self.facts.left_mah) + over_mv + STEP_MV
        )

    def gains(self, rest_mv: int) -> bool:
        """Whether by its voltage there may be clearly more in it than was counted."""
        by_voltage = self.mah_at(rest_mv + self.facts.reads_low_mv)
        return by_voltage > self.facts.left_mah + self.settings.capacity_mah // _CLEARLY_SHARE

    def bound(self, rest_mv: int, unrested_mv: int) -> None:
        """There is no more in it than its voltage allows, if it may still rise by so much."""
        settings = self.settings
        facts = self.facts
        top_mv = rest_mv + facts.reads_low_mv + unrested_mv
        if settings.empty_mv:
            facts.left_mah = min(facts.left_mah, self.mah_at(top_mv))
        elif top_mv < settings.cutout_mv:
            facts.left_mah = 0

    def check(self, rest_mv: int, dark: bool) -> None:
        """A battery that has rested: no more is in it than its voltage allows.

        A panel's charge nobody counts: in the dark the voltage shows it.
        """
        facts = self.facts
        self.bound(rest_mv, 0)
        if dark and self.settings.panel_fitted and self.settings.empty_mv:
            low_mv = rest_mv + facts.reads_low_mv - STEP_MV
            facts.left_mah = max(facts.left_mah, self.mah_at(low_mv))
        self.learn_channel(rest_mv)
        self.note(rest_mv)

    def note(self, rest_mv: int) -> None:
        """Remember how this battery reads at rest: one that is charged reads higher."""
        self.facts.rest_over_mv = rest_mv - self.mv_at(self.facts.left_mah)

    def learn_channel(self, rest_mv: int) -> None:
        """What is counted is the most that fits: the channel reads no lower than it then does.

        Before a battery has pumped, a charger may have left volts on it: they do not show that
        the channel reads high. Nor does a flat top of the curve show that it reads low.
        """
        settings = self.settings
        facts = self.facts
        if not facts.worked and rest_mv >= settings.charged_mv + STEP_MV:
            return
        full = facts.left_mah > settings.capacity_mah - settings.capacity_mah // _CLEARLY_SHARE
        if not settings.empty_mv or (full and not (self._top_tells and facts.reads_low_mv > 0)):
            return
        known_mah = settings.capacity_mah if settings.panel_fitted else facts.left_mah
        low_mv = self.mv_at(known_mah) - rest_mv + ROOM_MV
        if settings.panel_fitted or full or not facts.worked:
            low_mv = max(low_mv, 0)
        facts.reads_low_mv = max(min(facts.reads_low_mv, low_mv), -self.error_mv)

    def mah_at(self, rest_mv: int) -> int:
        """Charge that may be taken from a battery that rests at this true voltage, in mAh."""
        volts = self._curve
        if rest_mv >= volts[-1]:
            return self.settings.capacity_mah
        if rest_mv <= volts[0]:
            return 0
        part = 0
        while rest_mv >= volts[part + 1]:
            part += 1
        above_mv = rest_mv - volts[part]
        # In 31 bits: a twentieth of a part.
        step_mah = self._part_mah // 20
        return part * self._part_mah + above_mv * step_mah // (volts[part + 1] - volts[part]) * 20

    def mv_at(self, left_mah: int) -> int:
        """True rest voltage of a battery that may give this charge, in mV."""
        volts = self._curve
        part = min(left_mah // self._part_mah, _PARTS - 1)
        step = min((left_mah - part * self._part_mah) // 20, self._part_mah // 20)
        return volts[part] + (volts[part + 1] - volts[part]) * step // (self._part_mah // 20)

    def spare_mah(self, pump_s: int, ma: int) -> int:
        """Charge above the reserve that is left after pumping for so long."""
        need = pump_s * (ma // 10) // 360
        return self.facts.left_mah - self.settings.reserve_mah - need

    def seconds_left(self, ma: int) -> int:
        """How long the pump can run before the reserve is touched."""
        spare = self.facts.left_mah - self.settings.reserve_mah
        if spare <= 0 or ma <= 0:
            return 0
        return spare * 36 // ((ma + 99) // 100)
