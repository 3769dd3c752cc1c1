"""Charge: counted out of the battery, and checked against its voltage.

A displacement pump's current follows its pressure, so a line in pressure stands in for a
current sensor. From it come the charge used, the supply's resistance at each start, the
voltage made good for that resistance, and the nights that are left.
"""

from .facts import BATTERY

_MA_MS_PER_MAH = 3600000
_SLICE_MS = 50000
_PUMPED_SLICE_MS = 5000
"""So long 80 A (settings.TOP_MA_MAX) stay in 31 bits."""
_TRUST_SHARE = 7
"""A seventh of the capacity: how far counting may be above what the rest voltage says."""


class Charge:
    """What is left in the battery, and what the supply is like."""

    def __init__(self, settings, facts) -> None:
        self.settings = settings
        self.facts = facts

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
        while dt_ms > 0:
            slice_ms = dt_ms if dt_ms < _SLICE_MS else _SLICE_MS
            dt_ms -= slice_ms
            self.facts.part_ma_ms += slice_ms * (self.settings.board_ua // 10) // 100
            self._fold()

    def _fold(self) -> None:
        facts = self.facts
        while facts.part_ma_ms >= _MA_MS_PER_MAH:
            facts.part_ma_ms -= _MA_MS_PER_MAH
            facts.used_mah += 1
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
        mohm = min(mohm, self.settings.resistance_refuse_mohm)
        return ma * mohm // 1000

    def is_charged(self, rest_mv: int) -> bool:
        """Whether count and rest voltage both say that there is charge left."""
        settings = self.settings
        return rest_mv > settings.cutout_mv and self.facts.left_mah > settings.capacity_mah >> 2

    def changed(self, rest_mv: int) -> None:
        """A battery has been put on: how full is it?"""
        settings = self.settings
        self.facts.end(BATTERY)
        if rest_mv >= settings.charged_mv:
            self.facts.left_mah = settings.capacity_mah
        else:
            self.check(rest_mv)

    def renewed(self, left_mah: int) -> None:
        """A person says what is in the battery now; 0: all that it holds."""
        capacity_mah = self.settings.capacity_mah
        self.facts.end(BATTERY)
        self.facts.left_mah = left_mah if 0 < left_mah < capacity_mah else capacity_mah

    def check(self, rest_mv: int) -> None:
        """Believe the rest voltage where it says clearly less than the count.

        With a panel, whose charge nobody counts, also where it says clearly more; but not while
        the panel lifts the voltage.
        """
        settings = self.settings
        if settings.empty_mv == 0:
            return
        span_mv = settings.charged_mv - settings.empty_mv
        above_mv = min(max(rest_mv - settings.empty_mv, 0), span_mv)
        twentieth = settings.capacity_mah // 20
        by_voltage = above_mv * twentieth // span_mv * 20
        trust_mah = settings.capacity_mah // _TRUST_SHARE
        facts = self.facts
        if facts.left_mah > by_voltage + trust_mah:
            facts.left_mah = by_voltage + trust_mah
        elif settings.panel_fitted and rest_mv < settings.charging_mv:
            facts.left_mah = max(facts.left_mah, by_voltage - trust_mah)

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

    def learn_night(self) -> None:
        """The whole of the sets was given: this is what a night takes."""
        facts = self.facts
        if facts.night_use_mah == 0:
            facts.night_use_mah = facts.used_mah
        else:
            facts.night_use_mah += (facts.used_mah - facts.night_use_mah) // 4

    def nights_left_tenths(self, planned_mah: int) -> int:
        """Nights that the charge above the reserve covers, in tenths."""
        use = self.facts.night_use_mah or planned_mah
        spare = self.facts.left_mah - self.settings.reserve_mah
        if use <= 0 or spare <= 0:
            return 0
        return spare * 10 // use
