"""Nights left, at the least: a tired battery holds less than its label, and nobody has said so.

The count is the most that can be in a battery. What it gives before it is empty shows in how its
rest voltage falls: one of three quarters of its charge falls as far for three quarters of the
use. And the low-charge rule ends a night by the voltage at work, so the room above the cut-out,
over what a night takes of it, is a bound too, once a run has shown it. The least of these is told.

In the last quarter of its count a battery is not made good what its own resistance takes
(supply.py). One that is cold takes more than that quarter stands above empty: then no run begins
with it.
"""

from .charge import STEP_MV
from .ticks import const

_HEALTH_LEAST = const(700)
"""Permille of its label that a battery in use still holds: lead is replaced at 800 (IEEE Std 450,
from memory), and some are used for longer (common practice, no source)."""

_NOISE_MV = const(20)
"""Two rest readings may be so far apart by converter, warmth and rest (common practice, no
source)."""

_TOLD_SHARE = const(16)
"""By such a part of its charge a sound battery's voltage falls by more than twice the noise; with
less given and less fallen, the noise over the charge would be the bound."""

_ROOM_MV_MAX = const(1000)
"""Keeps products in 31 bits; a volt above the cut-out is no bound."""


class Ahead:
    """What the battery will give, from how it began, and how it reads now."""

    def __init__(self, settings, facts, charge) -> None:
        self.settings = settings
        self.facts = facts
        self.charge = charge

    def starts(self, rest_mv: int) -> None:
        """The pump is about to start: this is the first time for this battery?"""
        if not self.facts.worked:
            self._begin(rest_mv)

    def rested(self, rest_mv: int) -> None:
        """It has worked, and rests: one that began above the curve can be followed from here."""
        facts = self.facts
        if facts.worked and not self._followed():
            # What it has given is a larger share of one that is tired.
            more_mah = facts.since_mah // 7 * (10 - _HEALTH_LEAST // 100)
            self._begin(rest_mv)
            facts.begun_mah = max(facts.left_mah - more_mah, 0)

    def stopped(self, rested_mv: int) -> None:
        """The pump stops at this voltage, made good as the low-charge rule has it."""
        self.facts.room_mv = min(max(rested_mv - self.settings.cutout_mv, 0), _ROOM_MV_MAX)

    def learn_night(self) -> None:
        """The whole of the sets was given: this is what a night takes."""
        facts = self.facts
        if facts.night_use_mah == 0:
            facts.night_use_mah = facts.used_mah
        else:
            facts.night_use_mah += (facts.used_mah - facts.night_use_mah) // 4

    def nights_tenths(self, planned_mah: int, rest_mv: int) -> int:
        """Nights that are left at the least, in tenths; ``rest_mv`` 0: it has not rested."""
        use_mah = self.facts.night_use_mah or planned_mah
        if use_mah <= 0:
            return 0
        return max(self.spare_mah(rest_mv), 0) * 10 // use_mah

    def spare_mah(self, rest_mv: int) -> int:
        """Charge that it will give at the least before the board stops for it, in mAh."""
        facts = self.facts
        settings = self.settings
        by_count = facts.left_mah - settings.reserve_mah
        known = settings.empty_mv and settings.battery_fitted and not settings.panel_fitted
        if not known:
            return by_count
        held_mah = self._held_mah()
        tired = (facts.begun_mah - held_mah) // 10 * (_HEALTH_LEAST // 100) - facts.since_mah
        if not rest_mv or not self._followed():
            return min(by_count, tired)
        fall_mv = max(facts.begun_mv - rest_mv, 0) + _NOISE_MV
        volts_mah = self.charge.mah_at(self.charge.mv_at(facts.begun_mah) - fall_mv)
        gone_mah = max(facts.begun_mah - volts_mah, 1)
        health = min(max(facts.since_mah * 1000 // gone_mah, _HEALTH_LEAST), 1000)
        # The last run begins above what is held back, and is given whole.
        below_mah = max(held_mah * health // 1000 - facts.night_use_mah, 0)
        by_voltage = volts_mah * health // 1000 - below_mah
        spare_mah = min(by_count, by_voltage)
        told = facts.since_mah >= facts.begun_mah // _TOLD_SHARE or fall_mv > 3 * _NOISE_MV
        if facts.room_mv < 0 or not told:
            return spare_mah
        return min(spare_mah, facts.room_mv * facts.since_mah // fall_mv)

    def _held_mah(self) -> int:
        """The last quarter of the count, if more is lost with it than it stands above empty."""
        settings = self.settings
        charge = self.charge
        quarter_mah = charge.quarter_mah
        ma = charge.pump_ma(settings.normal_pa)
        lost_mv = charge.lift_mv(ma) - ma * settings.resistance_mohm // 1000
        quarter_mv = charge.mv_at(quarter_mah) - settings.empty_mv
        return quarter_mah if lost_mv > quarter_mv else 0

    def _followed(self) -> bool:
        return 0 < self.facts.begun_mv < self.settings.charged_mv + STEP_MV

    def _begin(self, rest_mv: int) -> None:
        facts = self.facts
        facts.begun_mv = rest_mv
        facts.begun_mah = facts.left_mah
        facts.since_mah = 0
