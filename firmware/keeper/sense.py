"""Readings: from converter counts to units, each with a quality.

A reading is good only when nothing speaks against it. Zero, missing and impossible values are
never taken for "no data, carry on": they are qualities, and the rules act on them.
"""

from .ticks import const

# The numbers of cycle.py.
_RUN = const(4)
# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)
_RESTED_MV = const(4)
_CURRENT_MA = const(7)
_BATTERY_BAD = const(19)
_PRESSURE_BAD = const(20)
_FROST_BAD = const(21)
_CURRENT_BAD = const(22)
_SWAPPED = const(24)
_FROST_DC = const(26)

GOOD, BELOW_BAND, ABOVE_BAND, STUCK, JUMP, STALE, OFF_ZERO = range(7)
QUALITIES = ("good", "below band", "above band", "stuck", "jumping", "stale", "off zero")
_GOOD = const(0)


class Channel:
    """One converter channel: band, stuck and jump checks, and a median of three in its unit.

    The median takes out a single wild sample and costs one tick of delay. ``stuck_ms`` 0
    leaves the stuck check out (a quiet channel may honestly stand still). ``scale`` is (zero,
    gain, share, step, offset): a step other than 1 goes with no offset. ``value`` is the last
    reading, which stays where the next is none. ``read`` is done on every tick: a call takes as
    long as ten additions, and five more if it has so many names that they find no room on the
    stack; so it works the unit out in place, with few.
    """

    def __init__(
        self, low_count: int, high_count: int, jump_count: int, stuck_ms: int, scale, value: int
    ) -> None:
        self.low_count = max(low_count, 0)
        self.high_count = high_count
        self.jump_count = jump_count
        self.stuck_ms = stuck_ms
        zero, self._gain, self._share, self._step, offset = scale
        self._bias = offset * self._share - zero * self._gain
        self.value = value
        self.still_ms = 0
        self.last = -1
        self.last_but_one = -1
        self.quality = STALE

    def forget(self) -> None:
        """Start afresh: the samples before are too old to be compared with."""
        self.still_ms = 0
        self.last = -1
        self.last_but_one = -1

    def read(self, count: int, dt_ms: int, watch_stuck: bool) -> int:
        """Take one sample; returns the quality. ``count`` below 0: could not be read."""
        if count < self.low_count or count > self.high_count:
            # The last plausible value stays; the quality is what the rules act on.
            self.quality = self._beside_band(count)
            return self.quality
        last = self.last
        quality = _GOOD
        if watch_stuck and count == last:
            self.still_ms += dt_ms
            if self.stuck_ms and self.still_ms >= self.stuck_ms:
                quality = STUCK
        else:
            self.still_ms = 0
            moved = count - last if count > last else last - count
            if moved > self.jump_count and last >= 0:
                quality = JUMP
        self.quality = quality
        before = self.last_but_one
        self.last_but_one = last
        self.last = count
        if before >= 0:
            if count > last:
                count = last if last > before else (before if before < count else count)
            else:
                count = last if last < before else (before if before > count else count)
        self.value = (count * self._gain + self._bias) // self._share * self._step
        return quality

    def units(self, count: int) -> int:
        """What a count stands for."""
        return (count * self._gain + self._bias) // self._share * self._step

    def _beside_band(self, count: int) -> int:
        if count < 0:
            return STALE
        return BELOW_BAND if count < self.low_count else ABOVE_BAND


_LEAST_BATTERY_MV = const(9000)
_MOST_BATTERY_MV = const(16000)
"""A reading between them is like a 12 V battery's (common practice, no source)."""
_NEAR_ZERO_COUNTS = const(60)
_TOP_COUNT = const(4080)
"""From here on a reading may be anything: noise and offset of the converter's last counts."""
_TURNING_SHARE = const(4)
"""Less than this part of its current without pressure is no current of a turning pump."""


class Senses:
    """All channels of a board: ``battery`` in mV, ``pressure`` in Pa (in steps of 8 Pa, so that no
    product leaves 31 bits), ``frost`` in tenths of a degree C, ``current`` in mA.

    A channel that is not fitted, or was never good, keeps the value that is normal for the site.
    """

    def __init__(self, settings) -> None:
        self.settings = settings
        self._battery_fitted = settings.battery_fitted
        self._pressure_fitted = settings.pressure_fitted
        self._current_fitted = settings.current_fitted
        self._primed_pa = settings.primed_pa
        self._full_mv = settings.battery_full_mv + settings.battery_full_trim_mv
        self._offset_mv = settings.battery_offset_mv
        zero_count = settings.pressure_zero_count + settings.pressure_zero_trim_count
        span_count = settings.pressure_span_count + settings.pressure_span_trim_count
        low = _battery_count(settings, settings.battery_low_band_mv)
        high = _battery_count(settings, settings.battery_high_band_mv)
        self.battery = Channel(
            low,
            high,
            4096,
            settings.battery_stuck_ms,
            (0, self._full_mv, 4096, 1, self._offset_mv),
            settings.normal_mv,
        )
        self.pressure = Channel(
            settings.pressure_low_band_count,
            settings.pressure_high_band_count,
            settings.jump_count,
            settings.stuck_ms,
            (zero_count, settings.pressure_span_kpa * 125, span_count, 8, 0),
            settings.normal_pa,
        )
        self.frost = Channel(
            settings.frost_low_band_count,
            settings.frost_high_band_count,
            4096,
            0,
            (settings.frost_zero_count, settings.frost_mc_per_count, 100, 1, 0),
            0,
        )
        self._high_count = settings.current_high_band_count
        full_ma = settings.current_full_ma
        zero_count = settings.current_zero_count
        self.current = Channel(0, self._high_count, 4096, 0, (zero_count, full_ma, 4096, 1, 0), 0)
        share_ma = settings.current_zero_ma // _TURNING_SHARE
        self._turning_count = zero_count + (share_ma << 12) // full_ma
        self.stall_count = zero_count + (settings.stall_ma << 12) // full_ma

    def join(self, keeper) -> None:
        """What reads them is made: where the quantities are, and who else is asked."""
        self.keeper = keeper
        self.supply = keeper.watering.supply
        self._q = keeper.q
        self.wants_more = self._current_fitted or keeper.guard.judges_frost

    def feel(self, pumping: bool, dt_ms: int, battery_n: int, pressure_n: int) -> None:
        """Read battery and pressure into the quantities that the rules judge.

        So few names that they take no heap; the other channels: ``feel_more``.
        """
        channel = self.battery
        if self._battery_fitted:
            if pumping:
                # Nearly always the sag is less even with what the pump itself takes, and "look"
                # has no more to judge.
                if (
                    self.supply.source_mv - (battery_n * self._full_mv >> 12) - self._offset_mv
                    > self.supply.least_mv
                ):
                    self.supply.look(battery_n)
                else:
                    self.supply.strained = False
            self._q[_BATTERY_BAD] = channel.read(battery_n, dt_ms, pumping)
        self._q[_BATTERY_MV] = channel.value
        channel = self.pressure
        if self._pressure_fitted:
            # Before water comes a sound transducer may well stand still, on a quiet line.
            pumping = pumping and (
                self.keeper.state == _RUN or channel.value > self._primed_pa or self._feels_water()
            )
            self._q[_PRESSURE_BAD] = channel.read(pressure_n, dt_ms, pumping)
        self._q[_PRESSURE_PA] = channel.value

    def _feels_water(self) -> bool:
        return self.keeper.watering.line.loaded

    def feel_more(self, pumping, dt_ms, battery_n, pressure_n, frost_n, current_n) -> None:
        """Read the others, and hold the two against each other.

        While the pump runs it is asked for only where another sensor is wanted (``wants_more``)
        or the battery's channel has left its band: a pump at work leaves it there.
        """
        keeper = self.keeper
        q = self._q
        battery = self.battery
        if battery.quality == ABOVE_BAND and battery_n < _TOP_COUNT:
            # No battery gives it, and the converter still measures it: over-voltage, no short.
            q[_BATTERY_MV] = battery.value = battery.units(battery_n)
        if not pumping:
            # Without a load there is nothing to make good; what cannot be read is not flat.
            rest_mv = battery.value + keeper.facts.reads_low_mv
            q[_RESTED_MV] = self.settings.charged_mv if q[_BATTERY_BAD] else rest_mv
        if pumping and battery_n >= battery.low_count:
            q[_SWAPPED] = 0
        else:
            q[_SWAPPED] = 1 if self.are_swapped(pumping, battery_n, pressure_n) else 0
        if not pumping or keeper.guard.judges_frost:
            self._feel_frost(q, dt_ms, frost_n)
        if self._current_fitted:
            supply = self.supply
            if pumping and not self._battery_fitted:
                supply.strain(current_n > self.stall_count)
            turning = pumping and supply.must_draw()
            strained = pumping and supply.strained
            q[_CURRENT_BAD] = self.read_current(current_n, dt_ms, turning, strained)
            q[_CURRENT_MA] = self.current.value

    def are_swapped(self, pumping: bool, battery_n: int, pressure_n: int) -> bool:
        """Whether the pressure channel reads like a battery, and the battery like a transducer.

        A transducer's counts are less than those of any battery; without the pump they are those
        of no pressure, and one that is off may stand in for the battery.
        """
        settings = self.settings
        if not settings.battery_fitted or not settings.pressure_fitted:
            return False
        above_zero = battery_n - settings.pressure_zero_count
        if pumping:
            below_band = battery_n < self.battery.low_count
            like_transducer = above_zero > -_NEAR_ZERO_COUNTS and below_band
        else:
            like_transducer = abs(above_zero) < _NEAR_ZERO_COUNTS
        if not like_transducer:
            return False  # Nearly always, and there is no more to judge.
        as_battery_mv = pressure_n * settings.battery_full_mv >> 12
        like_battery = _LEAST_BATTERY_MV < as_battery_mv < _MOST_BATTERY_MV
        return like_battery or (not pumping and self.pressure.quality > _GOOD)

    def _feel_frost(self, q: list, dt_ms: int, count: int) -> None:
        if self.settings.frost_fitted:
            q[_FROST_BAD] = self.frost.read(count, dt_ms, False)
            q[_FROST_DC] = self.frost.value

    def read_current(self, count: int, dt_ms: int, turning: bool, strained: bool) -> int:
        """Pump current in mA. A pump that makes pressure draws some: nothing is then a fault.

        What a strained supply gives may be more than the channel can show: a pump that stands,
        no fault of the channel.
        """
        channel = self.current
        channel.low_count = self._turning_count if turning else 0
        channel.high_count = 4095 if strained else self._high_count
        return channel.read(count, dt_ms, False)

    def forget(self) -> None:
        """Start every channel afresh, after a nap."""
        self.battery.forget()
        self.pressure.forget()
        self.frost.forget()
        self.current.forget()


def _battery_count(settings, millivolts: int) -> int:
    full_mv = settings.battery_full_mv + settings.battery_full_trim_mv
    return (millivolts - settings.battery_offset_mv) * 4096 // full_mv
