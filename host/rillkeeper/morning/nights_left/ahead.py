"""The nights to come on one battery: as long as its voltage and the board's count allow it."""

from dataclasses import dataclass
from math import inf

import numpy as np

from keeper.charge import METER_ERROR_MV, ROOM_MV, STEP_MV
from keeper.checked import CURVE
from rillsim.supply.battery import Battery

_DAY_S = 86400.0
_LEARN_S = 7.0
_PART_S = 300.0
_ROOM_V = ROOM_MV / 1000.0
CLEARLY = 1.0 / 16.0
NEARLY_EMPTY = 0.25
"""Shares of the capacity, as `keeper.charge` has them."""
SHORTEST_S = 300.0
"""For less than this the board does not start the pump."""
NIGHTS_MAX = 60


@dataclass(frozen=True)
class Usual:
    """A night as the log has it, and as it will go on."""

    run_s: float
    """Pumping time."""
    current_a: float
    idle_a: float
    used_ah: float
    """What the board counts for it, noon to noon."""


@dataclass(frozen=True)
class Keeping:
    """What the board goes by when it looks after the battery; from its settings."""

    cutout_v: float
    capacity_ah: float
    reserve_ah: float
    rest_v: tuple[float, ...]
    """From no usable charge to all of it, in equal steps; empty: the rest voltage is not asked."""
    error_v: float = 0.0
    """So far its channel may be off."""
    supply_ohm: float = inf
    """The most that is made good of a supply whose battery is nearly empty."""

    @classmethod
    def of(cls, settings: dict[str, int]) -> "Keeping":
        """Out of the board's settings."""
        error_mv = settings.get("battery_error_mv", 0)
        if settings.get("battery_full_trim_mv") or settings.get("battery_offset_mv"):
            error_mv = min(error_mv, METER_ERROR_MV)
        return cls(
            settings["cutout_mv"] / 1000.0,
            settings["capacity_mah"] / 1000.0,
            settings["reserve_mah"] / 1000.0,
            _rest_curve(settings),
            error_mv / 1000.0,
            settings["resistance_mohm"] / 1000.0,
        )

    def believed_ah(self, left_ah: float, rest_v: float) -> float:
        """The count, cut down where the rest voltage says less."""
        if not self.rest_v:
            return left_ah
        steps = np.linspace(0.0, self.capacity_ah, len(self.rest_v))
        return min(left_ah, float(np.interp(rest_v, self.rest_v, steps)))

    def reads_low_v(self, so_far_v: float, left_ah: float, reading_v: float, new: bool) -> float:
        """By how much the board then takes its channel to read low, as `keeper.charge` learns it:
        the count is the most that fits. ``new``: the battery has not worked yet."""
        charged_v = self.rest_v[-1] if self.rest_v else 0.0
        full = left_ah > self.capacity_ah * (1.0 - CLEARLY)
        tells = (
            self.rest_v and (charged_v - self.rest_v[-2]) * (len(self.rest_v) - 1) > self.error_v
        )
        lifted = new and reading_v >= charged_v + STEP_MV / 1000.0
        if not self.rest_v or lifted or (full and not (tells and so_far_v > 0.0)):
            return so_far_v
        steps = np.linspace(0.0, self.capacity_ah, len(self.rest_v))
        low_v = float(np.interp(left_ah, steps, self.rest_v)) - reading_v + _ROOM_V
        if full or new:
            low_v = max(low_v, 0.0)
        return max(min(so_far_v, low_v), -self.error_v)


@dataclass(frozen=True)
class Seen:
    """What the board sees of a battery, beside what the model has of it."""

    full_v: float = 0.0
    steep: float = 1.0
    """How many times as fast its voltage falls."""
    channel_v: float = 0.0
    wires_ohm: float = 0.0
    reads_low_v: float = _ROOM_V
    """What the board adds to a reading, by now."""
    new: bool = False
    """It has not worked yet on this charge."""

    def reading_v(self, battery: Battery, model_v: float) -> float:
        """What is read of a battery in this state that the model has at this voltage."""
        return model_v + (self.steep - 1.0) * (battery.open_v - self.full_v) + self.channel_v


AS_MODELLED = Seen()


def _rest_curve(settings: dict[str, int]) -> tuple[float, ...]:
    """As the board has it: straight from empty to charged where no points between are given."""
    if not settings["empty_mv"]:
        return ()
    keys = CURVE if settings.get("rest_50_mv") else (CURVE[0], CURVE[-1])
    return tuple(settings[key] / 1000.0 for key in keys)


def nights_by_count(spare_ah: float, usual: Usual) -> float:
    """Nights that a charge above the reserve covers; a rest too short for a start is none."""
    if spare_ah <= 0.0 or usual.used_ah <= 0.0:
        return 0.0
    nights = spare_ah / usual.used_ah
    part = nights - int(nights)
    return nights if part * usual.run_s >= SHORTEST_S else float(int(nights))


def nights_ahead(
    battery: Battery,
    left_ah: float,
    rested_s: float,
    usual: Usual,
    keeping: Keeping,
    seen: Seen = AS_MODELLED,
) -> float:
    """Nights until the board stops for this battery: whole ones, and a share of the last.

    Parameters
    ----------
    battery : Battery
        In the state that the log has brought it to; it is left so
    left_ah : float
        The board's count
    rested_s : float
        From now to the next start
    usual : Usual
        The nights to come
    keeping : Keeping
        The board's limits
    seen : Seen
        What the board sees of this battery
    """
    state = battery.save()
    nights = 0.0
    rest_s, low_v, new = rested_s, seen.reads_low_v, seen.new
    while nights < NIGHTS_MAX:
        battery.step(usual.idle_a, rest_s)
        rest_v = seen.reading_v(battery, battery.emf_v)
        left_ah = keeping.believed_ah(left_ah, rest_v + low_v)
        low_v = keeping.reads_low_v(low_v, left_ah, rest_v, new)
        by_count_s = (left_ah - keeping.reserve_ah) / usual.current_a * 3600.0
        want_s = usual.run_s if by_count_s >= usual.run_s else by_count_s
        if want_s < SHORTEST_S and want_s < usual.run_s:
            break
        given_s = _pumped_s(battery, want_s, left_ah, usual.current_a, keeping, seen, low_v)
        if given_s < usual.run_s:
            nights += given_s / usual.run_s
            break
        nights += 1.0
        left_ah -= usual.used_ah
        rest_s, new = _DAY_S - usual.run_s, False
    battery.restore(state)
    return nights


def _pumped_s(
    battery: Battery,
    want_s: float,
    left_ah: float,
    current_a: float,
    keeping: Keeping,
    seen: Seen,
    low_v: float,
) -> float:
    """How long the pump runs before the voltage, with the loss made good, is at the cut-out.

    Of a battery that is nearly empty by the count the board makes good no more than a sound supply
    takes.
    """
    rest_v = battery.emf_v
    before_v = seen.reading_v(battery, rest_v)
    battery.step(current_a, min(_LEARN_S, want_s))
    learned_v = battery.terminal_v(current_a)
    sag_v = rest_v - learned_v + current_a * seen.wires_ohm
    lost_v = 0.0
    if left_ah <= keeping.capacity_ah * NEARLY_EMPTY:
        lost_v = max(0.0, sag_v - current_a * keeping.supply_ohm)
    cutout_v = keeping.cutout_v - low_v + lost_v
    done_s = 0.0
    while done_s < want_s:
        part_s = min(_PART_S, want_s - done_s)
        battery.step(current_a, part_s)
        now_v = seen.reading_v(battery, rest_v - learned_v + battery.terminal_v(current_a))
        if now_v < cutout_v:
            share = (before_v - cutout_v) / (before_v - now_v) if before_v > cutout_v else 0.0
            return done_s + part_s * share
        done_s += part_s
        before_v = now_v
    return want_s
