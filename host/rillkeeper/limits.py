"""The board's settings, derived from the site: each with the sentence that says why.

The plant's own models give the operating point with a full and with a used battery, and every
limit stands between what is normal there and what would do harm. Where there is no room for a
safe limit the site is refused, saying why.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

from keeper.settings import UNITS, problems
from rillkeeper.deadhead import dead_head
from rillkeeper.errors import NoSafeLimit
from rillkeeper.workingpoint import WorkingSite
from rillsim import converter
from rillsim.site import SetSpec, Site

ROOM = 1.20
"""A limit stands at least this far from what is normal (common practice, no source)."""
SAG_ROOM = 1.15
"""The sag of a pump that stands is so far above a sound one (common practice, no source)."""
CHARGER_V = 0.3
LITHIUM_CHARGING_V = 13.8
"""A charger lifts a lead battery this far above its rest voltage at the least, and a lithium
one to this voltage (common practice, no source)."""
DEEPEST_VACUUM_PA = 101325.0
"""Below the air's own pressure there is none (standard atmosphere)."""
OPEN_WIRE_COUNT = 60
"""A wire that is off reads less than this on any board (common practice, no source)."""
SETS_MAX = 3


@dataclass(frozen=True)
class Limit:
    """One setting of the board, and why it is what it is."""

    key: str
    value: int
    reason: str


def settings_of(site: Site) -> dict[str, int]:
    """The board's settings for a site. Raises NoSafeLimit, with all the reasons."""
    return {limit.key: limit.value for limit in limits_of(site)}


def limits_of(site: Site) -> list[Limit]:
    """Every derived setting with its reason. Raises NoSafeLimit, with all the reasons."""
    work = WorkingSite(site)
    _check_water(work)
    parts: tuple[Callable[[], list[Limit]], ...] = (
        lambda: _channels(site),
        lambda: _pressures(work),
        lambda: _prime_and_flow(work),
        lambda: _supply(work) if isfinite(work.prime_s()) else [],  # It builds on priming.
        lambda: _charge(work),
        lambda: _times(work),
        lambda: _sets(site),
    )
    limits: list[Limit] = []
    refusals: list[str] = []
    for part in parts:
        try:
            limits += part()
        except NoSafeLimit as refusal:
            refusals.append(str(refusal).removeprefix(f"{site.name}: "))
    if refusals:
        raise NoSafeLimit(f"{site.name}: " + "; and ".join(refusals))
    found = problems({limit.key: limit.value for limit in limits})
    if found:
        raise NoSafeLimit(f"{site.name}: no safe limits: " + "; ".join(found))
    return limits


def _check_water(work: WorkingSite) -> None:
    """Without water, from the first night to the last, there is nothing to derive from."""
    site = work.site
    if work.middle.point.flow_m3_s <= 0.0:
        raise NoSafeLimit(
            f"{site.name}: the pump gives no water at a lift of {site.water.lift_m:.1f} m and "
            f"{work.middle.board_v:.1f} V; lower the pump, shorten the lines or the cable"
        )
    if not isfinite(work.night_s()):
        raise NoSafeLimit(
            f"{site.name}: no water comes down on the plot, so a set by depth never ends; turn "
            "the sprinkler towards the plot, or set it nearer"
        )
    used = work.used.point
    if min(used.flow_m3_s, used.speed_rad_s) <= 0.0:  # Water may run by itself from above.
        raise NoSafeLimit(
            f"{site.name}: the battery is empty before a night's {work.night_s() / 3600.0:.1f} h "
            "of pumping are over; take a larger one, or water less"
        )


def _channels(site: Site) -> list[Limit]:
    board = site.board
    fitted = [
        Limit(f"{name}_fitted", int(getattr(board, f"{name}_fitted")), "as the site file says")
        for name in ("battery", "pressure", "load_sense", "rain", "button", "frost", "current")
    ]
    zero = round(converter.TRANSDUCER_ZERO * converter.STEPS)
    span = round(converter.TRANSDUCER_SPAN * converter.STEPS)
    frost_zero = round(converter.FROST_ZERO_V / converter.REFERENCE_V * converter.STEPS)
    per_count = converter.REFERENCE_V / converter.STEPS / converter.FROST_V_PER_C
    vacuum = round(span * DEEPEST_VACUUM_PA / board.pressure_span_pa)
    band = min(max(zero - vacuum, OPEN_WIRE_COUNT), zero // 2)
    return [
        *fitted,
        Limit("battery_full_mv", round(board.battery_full_v * 1e3), "the divider of the board"),
        Limit("pressure_zero_count", zero, "a tenth of the transducer's supply"),
        Limit(
            "pressure_low_band_count",
            band,
            "water that loses its pump pulls at the transducer, never deeper than a vacuum; a "
            "wire that is off reads less",
        ),
        Limit("pressure_span_count", span, "eight tenths of the transducer's supply"),
        Limit("pressure_span_kpa", round(board.pressure_span_pa / 1e3), "the transducer"),
        Limit("frost_zero_count", frost_zero, "500 mV at 0 C"),
        Limit("frost_mc_per_count", round(per_count * 1e3), "10 mV for each degree C"),
        Limit("current_full_ma", round(board.current_span_a * 1e3), "the current channel"),
    ]


def _pressures(work: WorkingSite) -> list[Limit]:
    full, middle, used = work.full, work.middle, work.used
    static_pa = work.static_pa()
    highest_pa, lowest_pa = full.point.pump_pa, used.point.pump_pa
    shut = dead_head(work)
    dry_pa = max(0.25 * lowest_pa, static_pa + 0.15 * (lowest_pa - static_pa))
    if lowest_pa < max(static_pa, 0.0) * ROOM:
        raise NoSafeLimit(
            f"{work.site.name}: the pump makes {lowest_pa / 1e5:.2f} bar and the water standing "
            f"in the line alone {static_pa / 1e5:.2f} bar: dry running could not be told from it"
        )
    volts = full.board_v - used.board_v
    slope = (highest_pa - lowest_pa) / volts if volts > 0.05 else 0.0
    return [
        Limit("normal_pa", round(middle.point.pump_pa), "outlet pressure, battery half used"),
        Limit("normal_mv", round(middle.board_v * 1e3), "the voltage that belongs to it"),
        Limit(
            "pressure_pa_per_v",
            min(max(round(slope), 0), 400000),
            "from a full battery to a used one",
        ),
        Limit(
            "dead_head_pa",
            round(shut.limit_pa),
            f"above the highest normal pressure of {highest_pa / 1e5:.2f} bar and the peak of "
            f"{shut.start_peak_pa / 1e5:.2f} bar at a start, below the rating",
        ),
        Limit(
            "dead_head_hold_ms",
            shut.hold_ms,
            f"a shut line climbs {shut.climb_pa_s / 1e5:.1f} bar a second: the relay opens before "
            "the rating is reached",
        ),
        Limit("rating_pa", round(work.site.pump.max_pressure_pa), "the pump's own rating"),
        Limit(
            "dry_pa",
            round(dry_pa),
            f"above the standing water's {static_pa / 1e5:.2f} bar, well below the lowest normal "
            f"pressure of {lowest_pa / 1e5:.2f} bar",
        ),
        Limit(
            "primed_pa",
            round(dry_pa + 0.5 * (lowest_pa - dry_pa)),
            "half way from dry to the lowest normal pressure",
        ),
    ]


def _prime_and_flow(work: WorkingSite) -> list[Limit]:
    site = work.site
    prime_s = work.prime_s()
    if not isfinite(prime_s):
        raise NoSafeLimit(
            f"{site.name}: a pump that primes from {site.pump.dry_lift_m:.1f} m cannot lift "
            f"water over {site.water.lift_m:.1f} m; lower the pump"
        )
    flow_ml_min = round(work.middle.point.flow_m3_s * 6e7)
    return [
        Limit(
            "prime_ms",
            round(1000 * work.prime_allowance_s()),
            f"a dry line takes {prime_s:.0f} s to prime and fill; twice that and 20 s",
        ),
        Limit("flow_ml_min", flow_ml_min, "flow at the normal pressure"),
        Limit("static_pa", round(work.static_pa()), "the rise from the pump to the nozzle"),
        Limit("wet_area_m2", max(1, round(work.wet_area_m2())), "plot over the share that lands"),
    ]


def _supply(work: WorkingSite) -> list[Limit]:
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
        Limit("floor_mv", round(floor_v * 1e3), "the least at which the pump runs"),
        Limit(
            "resistance_mohm",
            max(1, round(learned_ohm * 1e3)),
            "battery, clamps, fuse and cable, as learned after a start",
        ),
        Limit(
            "resistance_warn_mohm", round(warn_ohm * 1e3), "half as much again, or a used battery"
        ),
        Limit("resistance_refuse_mohm", round(refuse_ohm * 1e3), "two and a half times as much"),
        Limit(
            "stall_sag_mv",
            min(max(100, round(stall_sag_v * 1e3)), 20000),
            f"a pump that stands draws about {stall_a:.0f} A",
        ),
        Limit("stall_ma", _stall_ma(work, high_a, stall_a), "half way to a standing pump"),
        Limit("current_zero_ma", max(0, round(zero_a * 1e3)), "the pump's current line"),
        Limit("current_ma_per_bar", max(0, round(per_bar * 1e3)), "the pump's current line"),
    ]


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


def _charge(work: WorkingSite) -> list[Limit]:
    site = work.site
    lead = site.battery.chemistry != "lfp"
    left = 1.0 - work.discharge
    capacity_ah = work.discharge * work.battery(1.0).capacity_ah(20.0)
    full_share = 0.85 if lead else 0.98
    cutout_v = work.used.emf_v
    charged_v = work.battery(full_share).rest_v
    reconnect_v = max(
        work.battery(left + 0.3 * (1.0 - left)).rest_v, work.battery(left).rest_v + 0.12
    )
    charging_v = work.battery(1.0).rest_v + CHARGER_V if lead else LITHIUM_CHARGING_V
    pump_s = work.night_s()
    board = site.board
    awake_share = min(1.0, pump_s / 86400.0)
    board_a = board.asleep_a + awake_share * (board.awake_a - board.asleep_a)
    return [
        Limit(
            "cutout_mv",
            round(cutout_v * 1e3),
            f"made good for the supply, at {work.discharge:.0%} discharge under load",
        ),
        Limit("reconnect_mv", round(reconnect_v * 1e3), "a flat battery does not rest so high"),
        Limit("charging_mv", round(charging_v * 1e3), "no battery rests so high: a charger is on"),
        Limit(
            "capacity_mah",
            round(capacity_ah * 1e3),
            f"{work.discharge:.0%} of what this battery holds at its age and temperature",
        ),
        Limit("reserve_mah", round(capacity_ah * 50.0), "a twentieth of that"),
        Limit("charged_mv", round(charged_v * 1e3), f"rested, at {full_share:.0%} charge"),
        Limit(
            "empty_mv",
            round(work.battery(left).rest_v * 1e3) if lead else 0,
            "rested, when that charge is used"
            if lead
            else "the flat curve of this chemistry says nothing",
        ),
        Limit("board_ua", min(round(board_a * 1e6), 200000), "awake for the sets, else asleep"),
    ]


def _times(work: WorkingSite) -> list[Limit]:
    sets = work.site.sets
    longest_s = max(work.pumping_s(entry) / entry.runs for entry in sets)
    total_s = work.night_s()
    starts = sum(entry.runs for entry in sets)
    return [
        Limit(
            "run_max_s",
            min(14400, max(600, round(1.5 * longest_s + 600.0))),
            f"one run lasts {longest_s / 60.0:.0f} min; half as long again and ten minutes",
        ),
        Limit("starts_max", min(60, starts + 4), "the runs of a night and their retries"),
        Limit(
            "duty_s",
            min(14400, max(7200, round(1.25 * total_s))),
            "a night's pumping and a quarter",
        ),
    ]


def _sets(site: Site) -> list[Limit]:
    if len(site.sets) > SETS_MAX:
        raise NoSafeLimit(f"{site.name}: {len(site.sets)} sets; the board keeps {SETS_MAX}")
    reason = "as the site file says"
    limits = []
    for number, entry in enumerate(site.sets, start=1):
        values = {
            "unit": UNITS.index(entry.unit),
            "start_s": entry.start_s,
            "amount": _amount(entry),
            "runs": entry.runs,
            "soak_s": entry.soak_s,
            "window_s": entry.window_s,
        }
        limits += [Limit(f"set{number}_{key}", value, reason) for key, value in values.items()]
    return limits


def _amount(entry: SetSpec) -> int:
    """Minutes, tenths of a millimetre, or litres."""
    return round(entry.amount * 10.0 if entry.unit == "depth" else entry.amount)
