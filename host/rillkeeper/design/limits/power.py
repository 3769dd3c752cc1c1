"""Limits on the current's side: volts, resistance, stall, and the battery's charge."""

from math import isinf

from rillkeeper.design.limits.working_site import ROOM, Limit, WorkingSite
from rillkeeper.errors import NoSafeLimit
from rillsim.supply.battery import REFERENCE_C, Battery
from rillsim.supply.chemistry import CHEMISTRY
from rillsim.supply.fuse import Fuse

SAG_ROOM = 1.15
"""The sag of a pump that stands is so far above a sound one (common practice, no source)."""
FUSE_SHARE = 0.5
"""Fuses differ: between two of the same rating lies as much as this (ISO 8820-3 allows 0.15 to 5 s
at twice the rating, from memory)."""
SEEN_MS = 200
"""A tick, and the median of three."""
START_MS = 300
"""A motor that starts draws the current of one that stands, for some tens of milliseconds; the
hold is no shorter than three ticks (common practice, no source)."""
STALL_HOLD_MS = 2000
CHARGER_V = 0.3
LITHIUM_CHARGING_V = 13.8
"""A charger lifts a lead battery this far above its rest voltage at the least, and a lithium
one to this voltage (common practice, no source)."""
CHANNEL_ERROR = 0.02
"""Two resistors of 1 % that err in opposite ways are 1.64 % of the reading, and the converter has
an offset of its own (common practice, no source)."""
HELD_ROOM_V = 0.05
FLAT_TOP = 0.95
"""Above this share of its charge a lithium battery's rest voltage lies on a shelf, then climbs to
what its charger left: it says nothing more (the measured curve in `chemistry.py`)."""
_GONE = (1.0, 0.75, 0.5, 0.25, 0.0)
"""Shares of the usable charge at which the board is told the rest voltage."""


def supply(work: WorkingSite) -> list[Limit]:
    """What battery and wiring give, and what a pump that stands asks of them."""
    site = work.site
    middle = work.middle
    learned_ohm = work.learned_ohm(1.0 - work.discharge / 2.0)
    ohm_used = work.used.ohm * learned_ohm / middle.ohm
    warn_ohm = max(1.5 * learned_ohm, 1.2 * ohm_used, 1.2 * work.learned_ohm(1.0)) + 0.01
    refuse_ohm = max(2.5 * learned_ohm, 1.4 * warn_ohm)
    low_pa, high_pa = 0.4 * middle.point.pump_pa, 1.3 * middle.point.pump_pa
    low_a, high_a = work.current_at(low_pa), work.current_at(high_pa)
    per_bar = (high_a - low_a) / (high_pa - low_pa) * 1e5
    zero_a = low_a - per_bar * low_pa / 1e5
    stall_a = middle.emf_v / (middle.ohm + work.wires.relay_ohm + work.pump.winding_ohm)
    stall_sag_v = _stall_sag_v(work, stall_a)
    floor_v = site.pump.minimum_v
    if work.used.board_v < floor_v * 1.05:
        raise NoSafeLimit(
            f"{site.name}: with a used battery only {work.used.board_v:.1f} V reach the pump, "
            f"which needs {floor_v:.1f} V; use a thicker or shorter cable"
        )
    return [
        Limit(
            "floor_mv",
            round(floor_v * 1e3),
            f"The pump's motor may stall below {floor_v:.1f} V.",
        ),
        *_resistances(learned_ohm, warn_ohm, refuse_ohm),
        Limit(
            "stall_sag_mv",
            min(max(100, round(stall_sag_v * 1e3)), 20000),
            f"A pump that is stuck draws about {stall_a:.0f} A and pulls the battery down by more "
            "than this.",
        ),
        _stall_hold(work),
        Limit(
            "stall_ma",
            _stall_ma(work, high_a, stall_a),
            f"A stuck pump draws about {stall_a:.0f} A and a working one {high_a:.0f} A at most: "
            "this lies between, where the current channel can show it.",
        ),
        Limit(
            "current_zero_ma",
            max(0, round(zero_a * 1e3)),
            "The pump's current at no pressure, from its working points.",
        ),
        Limit(
            "current_ma_per_bar",
            max(0, round(per_bar * 1e3)),
            "The pump draws so much more for each bar (14.5 psi) that it works against.",
        ),
    ]


def _resistances(learned_ohm: float, warn_ohm: float, refuse_ohm: float) -> list[Limit]:
    return [
        Limit(
            "resistance_mohm",
            max(1, round(learned_ohm * 1e3)),
            "Battery, clamps, fuse and cable together have this much when all is sound.",
        ),
        Limit(
            "resistance_warn_mohm",
            round(warn_ohm * 1e3),
            "A sound but used battery stays below this: more is a joint going bad.",
        ),
        Limit(
            "resistance_refuse_mohm",
            round(refuse_ohm * 1e3),
            "So much, and a joint gets hot: the pump must not run.",
        ),
    ]


def _stall_hold(work: WorkingSite) -> Limit:
    """Half of the time that the fuse stands a stuck pump, so that the board speaks first.

    Where the fuse is too quick for that, it is what a start is given to come up.
    """
    site = work.site
    full = work.full
    ohm = full.ohm + work.wires.relay_ohm
    stall_a = full.emf_v / (ohm + work.pump.winding_ohm)
    melts_s = Fuse(site.cable.fuse_a).melts_s(full.point.current_a, stall_a)
    if isinf(melts_s):
        return Limit(
            "stall_hold_ms",
            STALL_HOLD_MS,
            f"The fuse of {site.cable.fuse_a:g} A stands the {stall_a:.0f} A of a stuck pump for "
            "ever: only the board stops it.",
        )
    hold_ms = round(10.0 * FUSE_SHARE * melts_s) * 100 - SEEN_MS
    if hold_ms < START_MS:
        reason = (
            f"The fuse of {site.cable.fuse_a:g} A melts {melts_s:.1f} s after the pump has got "
            "stuck, too soon for the board, which then says so: a start needs this long to come "
            "up."
        )
        return Limit("stall_hold_ms", START_MS, reason)
    reason = (
        f"The fuse of {site.cable.fuse_a:g} A melts {melts_s:.1f} s after the pump has got stuck: "
        "the board speaks first."
    )
    return Limit("stall_hold_ms", min(hold_ms, STALL_HOLD_MS), reason)


def _stall_ma(work: WorkingSite, high_a: float, stall_a: float) -> int:
    """Half way from the highest normal current to a standing pump, where the channel sees it."""
    board = work.site.board
    limit_a = 0.5 * (stall_a + high_a)
    if board.current_fitted:
        limit_a = min(limit_a, 0.9 * board.current_span_a)
        if limit_a < ROOM * high_a:
            raise NoSafeLimit(
                f"{work.site.name}: the pump takes up to {high_a:.0f} A and the current channel "
                f"ends at {board.current_span_a:.0f} A: a stall could not be seen; fit a channel "
                "of a wider span"
            )
    return round(1e3 * limit_a)


def _stall_sag_v(work: WorkingSite, stall_a: float) -> float:
    """Sag of a pump that stands. With a transducer it is judged only while there is no
    pressure; without one, a whole night's pumping must not look like it."""
    board = work.site.board
    stalled_v = stall_a * work.middle.ohm
    sag_v = work.night_sag_v()
    if board.pressure_fitted or not board.battery_fitted or SAG_ROOM * sag_v <= 0.6 * stalled_v:
        return 0.6 * stalled_v
    if SAG_ROOM * sag_v <= 0.9 * stalled_v or board.current_fitted:
        return SAG_ROOM * sag_v
    raise NoSafeLimit(
        f"{work.site.name}: the battery falls by {sag_v:.2f} V in a night's pumping and by "
        f"{stalled_v:.2f} V when the pump is stuck: the one cannot be told from the other; fit "
        "the pressure transducer or the current channel"
    )


def charge(work: WorkingSite) -> list[Limit]:
    """How far the battery may be used, and when it may work again."""
    site = work.site
    lead = site.battery.chemistry != "lfp"
    capacity_ah = work.discharge * work.battery(1.0).capacity_ah(20.0)
    usable = capacity_ah / Battery(site.battery, temperature_c=REFERENCE_C).capacity_ah(20.0)
    cutout_v = work.used.emf_v
    rest_v = [work.battery(1.0 - usable * gone).rest_v for gone in _GONE]
    reconnect_v = max(work.battery(1.0 - 0.7 * usable).rest_v, rest_v[0] + 0.12)
    rest_v[-1] = min(rest_v[-1], work.battery(FLAT_TOP).rest_v) if not lead else rest_v[-1]
    charging_v = work.battery(1.0).rest_v + CHARGER_V if lead else LITHIUM_CHARGING_V
    pump_s = work.night_s()
    board = site.board
    awake_share = min(1.0, pump_s / 86400.0)
    board_a = board.asleep_a + awake_share * (board.awake_a - board.asleep_a)
    depth = f"{100.0 * work.discharge:.0f} %"
    return [
        Limit(
            "cutout_mv",
            round(cutout_v * 1e3),
            f"At work, and corrected for what the wiring takes, the battery falls to "
            f"{cutout_v:.2f} V when {depth} of its charge is used; below that it ages early.",
        ),
        Limit(
            "reconnect_mv",
            round(reconnect_v * 1e3),
            f"A flat battery does not rest as high as {reconnect_v:.2f} V: one that does has been "
            "charged.",
        ),
        Limit(
            "charging_mv",
            round(charging_v * 1e3),
            f"No battery rests as high as {charging_v:.2f} V: a charger must be on.",
        ),
        Limit(
            "capacity_mah",
            round(capacity_ah * 1e3),
            f"At its age and warmth {depth} of the battery's charge are {capacity_ah:.0f} Ah.",
        ),
        Limit(
            "reserve_mah",
            round(capacity_ah * 50.0),
            "A twentieth of that is kept back, for what the count of the charge misses.",
        ),
        Limit(
            "battery_error_mv",
            round(CHANNEL_ERROR * rest_v[-1] * 1e3),
            f"Until the channel is held against a meter (rillkeeper prove), it may read "
            f"{100.0 * CHANNEL_ERROR:.0f} % too low or too high: the board allows for it where a "
            "good battery would go without its night.",
        ),
        *_rest_curve(rest_v),
        *_panel(work),
        Limit(
            "board_ua",
            min(round(board_a * 1e6), 200000),
            f"The board itself draws {1e3 * board_a:.1f} mA on average, awake for the sets and "
            "asleep between.",
        ),
    ]


def _rest_curve(rest_v: list[float]) -> list[Limit]:
    """What a battery reads at rest, from one that may give no more to a full one."""
    empty_v, *between_v, full_v = rest_v
    return [
        Limit(
            "empty_mv",
            round(empty_v * 1e3),
            f"A battery that rests at {empty_v:.2f} V has given all the charge that it may give.",
        ),
        *(
            Limit(
                f"rest_{share}_mv",
                round(volts * 1e3),
                f"At {volts:.2f} V {share} % of that charge is left.",
            )
            for share, volts in zip((25, 50, 75), between_v, strict=True)
        ),
        Limit(
            "charged_mv",
            round(full_v * 1e3),
            f"A battery that rests at {full_v:.2f} V is full.",
        ),
    ]


def _panel(work: WorkingSite) -> list[Limit]:
    power_w = work.site.solar.power_w
    held_v = CHEMISTRY[work.site.battery.chemistry].charge_v
    least_v = held_v * (1.0 - CHANNEL_ERROR) - HELD_ROOM_V
    held = Limit(
        "held_mv",
        round(least_v * 1e3),
        f"A panel's controller holds a full battery at {held_v:.1f} V: nothing else reads more "
        f"than {least_v:.2f} V for minutes.",
    )
    if power_w <= 0.0:
        reason = "No solar panel charges the battery between the nights."
        return [Limit("panel_fitted", 0, reason), held]
    reason = (
        f"A panel of {power_w:g} W charges by day, which the board cannot count: it believes the "
        "battery's rest voltage in the dark, and that a battery is full when the panel's "
        "controller holds it."
    )
    return [Limit("panel_fitted", 1, reason), held]
