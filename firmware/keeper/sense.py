"""Readings: from converter counts to units, each with a quality.

A reading is good only when nothing speaks against it. Zero, missing and impossible values are
never taken for "no data, carry on": they are qualities, and the rules act on them.
"""

from .cycle import PRIME, RUN
from .quantities import (
    BATTERY_BAD,
    BATTERY_MV,
    CURRENT_BAD,
    CURRENT_MA,
    FROST_BAD,
    FROST_DC,
    PRESSURE_BAD,
    PRESSURE_PA,
    RESTED_MV,
    SWAPPED,
)
from .ticks import const

GOOD, BELOW_BAND, ABOVE_BAND, STUCK, JUMP, STALE, OFF_ZERO = range(7)
QUALITIES = ("good", "below band", "above band", "stuck", "jumping", "stale", "off zero")
_NO_VALUE = (BELOW_BAND, ABOVE_BAND, STALE)


class Channel:
    """One converter channel: band, stuck and jump checks, and a median of three.

    The median takes out a single wild sample and costs one tick of delay. ``stuck_ms`` 0
    leaves the stuck check out (a quiet channel may honestly stand still).
    """

    def __init__(self, low_count: int, high_count: int, jump_count: int, stuck_ms: int) -> None:
        self.low_count = max(low_count, 0)
        self.high_count = high_count
        self.jump_count = jump_count
        self.stuck_ms = stuck_ms
        self.still_ms = 0
        self.last = -1
        self.last_but_one = -1
        self.raw = 0
        self.count = 0
        self.quality = STALE

    def forget(self) -> None:
        """Start afresh: the samples before are too old to be compared with."""
        self.still_ms = 0
        self.last = -1
        self.last_but_one = -1

    def read(self, count: int, dt_ms: int, watch_stuck: bool) -> int:
        """Take one sample; returns the quality. ``count`` below 0: could not be read."""
        self.raw = count
        if count < self.low_count or count > self.high_count:
            # The last plausible value stays; the quality is what the rules act on.
            self.quality = self._beside_band(count)
            return self.quality
        last = self.last
        quality = GOOD
        if watch_stuck and count == last:
            self.still_ms += dt_ms
            if self.stuck_ms and self.still_ms >= self.stuck_ms:
                quality = STUCK
        else:
            self.still_ms = 0
            jump = count - last
            if (jump > self.jump_count or -jump > self.jump_count) and last >= 0:
                quality = JUMP
        self.quality = quality
        before = self.last_but_one
        self.last_but_one = last
        self.last = count
        if before < 0:
            self.count = count
        elif count > last:
            self.count = last if last > before else (before if before < count else count)
        else:
            self.count = last if last < before else (before if before > count else count)
        return quality

    def _beside_band(self, count: int) -> int:
        if count < 0:
            return STALE
        return BELOW_BAND if count < self.low_count else ABOVE_BAND


_BATTERY_LIKE_MV = (9000, 16000)
_NEAR_ZERO_COUNTS = const(60)
_TOP_COUNT = const(4080)
"""From here on a reading may be anything: noise and offset of the converter's last counts."""
_TURNING_SHARE = const(4)
"""Less than this part of its current without pressure is no current of a turning pump."""


class Senses:
    """All channels of a board, in units. Each is read by a method that returns the quality.

    ``battery_mv``, ``pressure_pa``, ``frost_dc`` and ``current_ma`` hold the last readings,
    the channels their qualities. A channel that is not fitted, or was never
    good, keeps the reading that is normal for the site.
    """

    def __init__(self, settings) -> None:
        self.settings = settings
        self._full_mv = settings.battery_full_mv + settings.battery_full_trim_mv
        self._offset_mv = settings.battery_offset_mv
        self._zero_count = settings.pressure_zero_count + settings.pressure_zero_trim_count
        self._span_count = settings.pressure_span_count + settings.pressure_span_trim_count
        low = _battery_count(settings, settings.battery_low_band_mv)
        high = _battery_count(settings, settings.battery_high_band_mv)
        jump = settings.jump_count
        self.battery = Channel(low, high, 4096, settings.battery_stuck_ms)
        self.pressure = Channel(
            settings.pressure_low_band_count,
            settings.pressure_high_band_count,
            jump,
            settings.stuck_ms,
        )
        self.frost = Channel(
            settings.frost_low_band_count, settings.frost_high_band_count, 4096, 0
        )
        self._high_count = settings.current_high_band_count
        self.current = Channel(0, self._high_count, 4096, 0)
        share_ma = settings.current_zero_ma // _TURNING_SHARE
        self._turning_count = settings.current_zero_count + (share_ma << 12) // (
            settings.current_full_ma
        )
        self.stall_count = settings.current_zero_count + (settings.stall_ma << 12) // (
            settings.current_full_ma
        )
        self.battery_mv = settings.normal_mv
        self.pressure_pa = settings.normal_pa
        self.frost_dc = 0
        self.current_ma = 0
        self._span_per_count = settings.pressure_span_kpa * 125

    def feel(self, keeper, dt_ms, battery_n, pressure_n, frost_n, current_n) -> None:
        """Read the fitted channels into the quantities that the rules judge."""
        settings = self.settings
        watering = keeper.watering
        state = keeper.state
        pumping = state == RUN or state == PRIME
        q = keeper.q
        if pumping:
            watering.supply.look(battery_n, current_n)
        if settings.battery_fitted:
            q[BATTERY_BAD] = self.read_battery(battery_n, dt_ms, pumping)
        q[BATTERY_MV] = self.battery_mv
        if not pumping:
            # Without a load there is nothing to make good; what cannot be read is not flat.
            rest_mv = self.battery_mv + keeper.facts.reads_low_mv
            q[RESTED_MV] = settings.charged_mv if q[BATTERY_BAD] else rest_mv
        if settings.pressure_fitted:
            # Before water comes a sound transducer may well stand still, on a quiet line.
            water = pumping and (
                state == RUN or self.pressure_pa > settings.primed_pa or watering.line.loaded
            )
            q[PRESSURE_BAD] = self.read_pressure(pressure_n, dt_ms, water)
        q[PRESSURE_PA] = self.pressure_pa
        # A pump at work leaves the battery's channel in its band: nearly always.
        sound = pumping and battery_n >= self.battery.low_count
        q[SWAPPED] = 0 if sound or not self.are_swapped(pumping) else 1
        if settings.frost_fitted and (keeper.guard.judges_frost or not pumping):
            q[FROST_BAD] = self.read_frost(frost_n, dt_ms)
            q[FROST_DC] = self.frost_dc
        if settings.current_fitted:
            turning = pumping and watering.supply.must_draw()
            strained = pumping and watering.supply.strained
            q[CURRENT_BAD] = self.read_current(current_n, dt_ms, turning, strained)
            q[CURRENT_MA] = self.current_ma

    def read_battery(self, count: int, dt_ms: int, watch_stuck: bool) -> int:
        """Battery voltage in mV, of the median."""
        channel = self.battery
        quality = channel.read(count, dt_ms, watch_stuck)
        if not quality or quality not in _NO_VALUE:
            self.battery_mv = (channel.count * self._full_mv >> 12) + self._offset_mv
        elif quality == ABOVE_BAND and count < _TOP_COUNT:
            # No battery gives it, and the converter still measures it: over-voltage, no short.
            self.battery_mv = self.millivolts(count)
        return quality

    def millivolts(self, count: int) -> int:
        """Battery voltage: count * full scale / 4096, plus the calibration."""
        return (count * self._full_mv >> 12) + self._offset_mv

    def read_pressure(self, count: int, dt_ms: int, watch_stuck: bool) -> int:
        """Pressure in Pa, in steps of 8 Pa so that no product leaves 31 bits."""
        channel = self.pressure
        quality = channel.read(count, dt_ms, watch_stuck)
        if not quality or quality not in _NO_VALUE:
            counts = channel.count - self._zero_count
            self.pressure_pa = counts * self._span_per_count // self._span_count * 8
        return quality

    def are_swapped(self, pumping: bool) -> bool:
        """Whether the pressure channel reads like a battery, and the battery like a transducer.

        A transducer's counts are less than those of any battery; without the pump they are those
        of no pressure, and one that is off may stand in for the battery.
        """
        settings = self.settings
        if not settings.battery_fitted or not settings.pressure_fitted:
            return False
        raw = self.battery.raw
        above_zero = raw - settings.pressure_zero_count
        if pumping:
            like_transducer = above_zero > -_NEAR_ZERO_COUNTS and raw < self.battery.low_count
        else:
            like_transducer = abs(above_zero) < _NEAR_ZERO_COUNTS
        if not like_transducer:
            return False  # Nearly always, and there is no more to judge.
        as_battery_mv = self.pressure.raw * settings.battery_full_mv >> 12
        like_battery = _BATTERY_LIKE_MV[0] < as_battery_mv < _BATTERY_LIKE_MV[1]
        return like_battery or (not pumping and self.pressure.quality > GOOD)

    def read_frost(self, count: int, dt_ms: int) -> int:
        """Temperature in tenths of a degree C."""
        channel = self.frost
        quality = channel.read(count, dt_ms, False)
        if not quality or quality not in _NO_VALUE:
            settings = self.settings
            counts = channel.count - settings.frost_zero_count
            self.frost_dc = counts * settings.frost_mc_per_count // 100
        return quality

    def read_current(self, count: int, dt_ms: int, turning: bool, strained: bool) -> int:
        """Pump current in mA. A pump that makes pressure draws some: nothing is then a fault.

        What a strained supply gives may be more than the channel can show: a pump that stands,
        no fault of the channel.
        """
        channel = self.current
        channel.low_count = self._turning_count if turning else 0
        channel.high_count = 4095 if strained else self._high_count
        quality = channel.read(count, dt_ms, False)
        if not quality or quality not in _NO_VALUE:
            settings = self.settings
            counts = channel.count - settings.current_zero_count
            self.current_ma = (counts * settings.current_full_ma) >> 12
        return quality

    def forget(self) -> None:
        """Start every channel afresh, after a nap."""
        self.battery.forget()
        self.pressure.forget()
        self.frost.forget()
        self.current.forget()


def _battery_count(settings, millivolts: int) -> int:
    full_mv = settings.battery_full_mv + settings.battery_full_trim_mv
    return (millivolts - settings.battery_offset_mv) * 4096 // full_mv
