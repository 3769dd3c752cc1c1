"""The nights to come on one battery: as long as its voltage and the board's count allow it."""

from dataclasses import dataclass

import numpy as np

from keeper.charge import ROOM_MV
from keeper.checked import CURVE
from rillsim.supply.battery import Battery

_DAY_S = 86400.0
_LEARN_S = 7.0
_PART_S = 300.0
_ROOM_V = ROOM_MV / 1000.0
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

    @classmethod
    def of(cls, settings: dict[str, int]) -> "Keeping":
        """Out of the board's settings."""
        return cls(
            settings["cutout_mv"] / 1000.0,
            settings["capacity_mah"] / 1000.0,
            settings["reserve_mah"] / 1000.0,
            _rest_curve(settings),
        )

    def believed_ah(self, left_ah: float, rest_v: float) -> float:
        """The count, cut down where the rest voltage says less."""
        if not self.rest_v:
            return left_ah
        steps = np.linspace(0.0, self.capacity_ah, len(self.rest_v))
        return min(left_ah, float(np.interp(rest_v, self.rest_v, steps)))


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
    battery: Battery, left_ah: float, rested_s: float, usual: Usual, keeping: Keeping
) -> float:
    """Nights until the board stops for this battery: whole ones, and a share of the last.

    What its channel reads beside the truth the board has seen from a full battery, but for a room.

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
    """
    state = battery.save()
    nights = 0.0
    rest_s = rested_s
    while nights < NIGHTS_MAX:
        battery.step(usual.idle_a, rest_s)
        left_ah = keeping.believed_ah(left_ah, battery.emf_v + _ROOM_V)
        by_count_s = (left_ah - keeping.reserve_ah) / usual.current_a * 3600.0
        want_s = usual.run_s if by_count_s >= usual.run_s else by_count_s
        if want_s < SHORTEST_S and want_s < usual.run_s:
            break
        given_s = _pumped_s(battery, want_s, usual.current_a, keeping.cutout_v - _ROOM_V)
        if given_s < usual.run_s:
            nights += given_s / usual.run_s
            break
        nights += 1.0
        left_ah -= usual.used_ah
        rest_s = _DAY_S - usual.run_s
    battery.restore(state)
    return nights


def _pumped_s(battery: Battery, want_s: float, current_a: float, cutout_v: float) -> float:
    """How long the pump runs before the voltage, with the loss made good, is at the cut-out."""
    rest_v = battery.emf_v
    battery.step(current_a, min(_LEARN_S, want_s))
    learned_v = battery.terminal_v(current_a)
    done_s, before_v = 0.0, rest_v
    while done_s < want_s:
        part_s = min(_PART_S, want_s - done_s)
        battery.step(current_a, part_s)
        now_v = rest_v - (learned_v - battery.terminal_v(current_a))
        if now_v < cutout_v:
            share = (before_v - cutout_v) / (before_v - now_v) if before_v > cutout_v else 0.0
            return done_s + part_s * share
        done_s += part_s
        before_v = now_v
    return want_s
