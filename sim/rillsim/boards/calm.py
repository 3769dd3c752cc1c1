"""Is a run so calm that seconds of it may be passed? Every quantity that a rule of *run* judges
must be far from its limit, and the supply, its pump and the channels beyond doubt.

Far is more than the noise that the readings of a sound board have (sensors.py): five deviations
and more. What the control package itself remembers is read here and never changed.
"""

from functools import lru_cache
from typing import NamedTuple

from keeper import Keeper
from keeper.cycle import RUN
from keeper.guard import Guard
from keeper.operating import share_permille
from keeper.quantities import (
    BATTERY_MV,
    CURRENT_MA,
    DRIFT,
    HEAT_S,
    ON_S,
    PERMILLE,
    PRESSURE_PA,
    RESISTANCE,
    RESTED_MV,
    SAG_MV,
    SHUT_PA,
    WATER_PA,
)
from keeper.rules import ABOVE, BELOW
from keeper.sense import Channel

# How far from a limit is far: five deviations of the noise (boards/sensors.py) and more.
FAR_SHARE = 0.1
"""Of a pressure: ten deviations of the pump's ripple."""
FAR_PA = 2000
FAR_MV = 50
FAR_MOHM = 8
FAR_PERMILLE = 80
FAR_MA = 500
FAR_COUNTS = 25

CONSTANT = (DRIFT, RESISTANCE)
"""A warning that was said may stand while these do not change."""


class Readings(NamedTuple):
    """What the channels show at one instant, in counts, without noise."""

    battery: float
    pressure: float
    current: float


class Units(NamedTuple):
    """The same as the board has it."""

    mv: int
    pa: int
    ma: int


def units_of(keeper: Keeper, counts: Readings) -> Units:
    """The units that the board makes of counts; what is not fitted reads as normal."""
    settings, senses = keeper.settings, keeper.senses
    mv, pa = senses.battery.value, senses.pressure.value
    if settings.battery_fitted:
        mv = _in_units(senses.battery, counts.battery)
    if settings.pressure_fitted:
        pa = _in_units(senses.pressure, counts.pressure)
    if settings.current_fitted:
        return Units(mv, pa, max(_in_units(senses.current, counts.current), 0))
    return Units(mv, pa, keeper.charge.pump_ma(pa))


def is_far(keeper: Keeper, units: Units, after_ms: int, counts: Readings) -> bool:
    """Whether nothing that is judged comes near its limit at these readings."""
    return (
        _in_bands(keeper, counts)
        and _feels_pump(keeper, units)
        and _supply_holds(keeper, units)
        and _rules_far(keeper, units, after_ms)
    )


def _in_bands(keeper: Keeper, counts: Readings) -> bool:
    """Whether the channels' counts are far from the ends of their bands."""
    settings, senses = keeper.settings, keeper.senses
    return (
        (not settings.battery_fitted or _within(senses.battery, counts.battery))
        and (not settings.pressure_fitted or _within(senses.pressure, counts.pressure))
        and (not settings.current_fitted or _within(senses.current, counts.current))
    )


def _feels_pump(keeper: Keeper, units: Units) -> bool:
    """Whether load side or battery show the pump beyond doubt."""
    watch, settings = keeper.relaywatch, keeper.settings
    if settings.load_sense_fitted and not keeper._load_on:
        return False
    if not settings.battery_fitted:
        return True
    felt_mv = keeper.watering.supply.source_mv + keeper.held_mv - units.mv
    quarter_mv = units.ma * watch.expected_mohm // 4000
    if watch.inferred:
        return bool(watch._load_on) and felt_mv > 2 * quarter_mv + FAR_MV
    return bool(felt_mv > quarter_mv + FAR_MV // 2)


def _supply_holds(keeper: Keeper, units: Units) -> bool:
    """Whether the supply's resistance is still the known one, and the pump turns."""
    supply, settings, facts = keeper.watering.supply, keeper.settings, keeper.facts
    if settings.pressure_fitted and units.pa < supply.turns_pa + _far_pa(units.pa):
        return False
    if not settings.battery_fitted:
        return not settings.current_fitted or units.ma + FAR_MA < settings.stall_ma
    sag_mv = supply.source_mv - units.mv
    least_mv = max((settings.stall_ma - units.ma) * settings.resistance_mohm // 2000, 0)
    if sag_mv - keeper.charge.lift_mv(units.ma) > least_mv - FAR_MV:
        return False
    if not supply._charged:
        return True
    mohm = sag_mv * 1000 // max(units.ma, 1)
    if not supply._learned:
        return bool(mohm + FAR_MOHM < settings.resistance_refuse_mohm)
    known_mohm = facts.resistance_mohm
    mohm = max(mohm, supply._start_mohm)
    return supply._jump_s == 0 and abs(mohm - known_mohm) < (known_mohm >> 2) + FAR_MOHM


def _rules_far(keeper: Keeper, units: Units, after_ms: int) -> bool:
    """Whether each quantity of the rules of *run* is within its limits by more than noise."""
    q, far_pa = keeper.q, _far_pa(units.pa)
    lift_mv = keeper.charge.lift_mv(units.ma)
    permille = share_permille(units.pa, keeper.operating.expected_pa)
    heat_s = (keeper.facts.heat_ms + after_ms) // 1000 + 1
    near = {
        PRESSURE_PA: (units.pa, far_pa),
        SHUT_PA: (units.pa, far_pa),
        WATER_PA: (units.pa, far_pa),
        PERMILLE: (permille, FAR_PERMILLE),
        BATTERY_MV: (units.mv, FAR_MV),
        RESTED_MV: (units.mv + lift_mv + keeper.facts.reads_low_mv, FAR_MV),
        CURRENT_MA: (units.ma, FAR_MA),
        SAG_MV: (q[SAG_MV], FAR_MV),
        ON_S: ((keeper.relay.on_ms + after_ms) // 1000 + 1, 0),
        HEAT_S: (heat_s, 0),
    }
    guard = keeper.guard
    for quantity, limit in tightest(guard, ABOVE).items():
        value, far = near.get(quantity, (0, 0))
        if limit and value + far > limit:
            return False
    for quantity, limit in tightest(guard, BELOW).items():
        value, far = near.get(quantity, (limit, 0))
        if value - far < limit:
            return False
    return True


@lru_cache(maxsize=4)
def tightest(guard: Guard, side: int) -> dict[int, int]:
    """By quantity: of the limits of a run on one side, the one that is met first."""
    found: dict[int, int] = guard._tightest(guard.watched[RUN], side)
    return found


def _within(channel: Channel, count: float) -> bool:
    low, high = channel.low_count, channel.high_count
    return not channel.quality and bool(low + FAR_COUNTS < count < high - FAR_COUNTS)


def _in_units(channel: Channel, count: float) -> int:
    """What the board would make of a count that lies between two."""
    steps = int((count * channel._gain + channel._bias) / channel._share)
    return int(steps * channel._step)


def _far_pa(pressure_pa: int) -> float:
    return FAR_SHARE * abs(pressure_pa) + FAR_PA
