"""Settings that are in order by themselves, and yet would wear out a pump or never water.

``harmful`` holds on any board. ``idle`` is not asked of settings on trial: a proof lowers a limit
to see it trip.
"""

from .check import SHORTEST_S
from .relaywatch import cooling_of
from .ticks import const

_DRY_ROOM_PA_PER_KPA = const(2)
"""For each kPa of the transducer's span: dry stands so far above standing water, several times
the noise of a converter of 12 bits (common practice, no source)."""
DEAD_HEAD_PERMILLE_MAX = const(2500)
"""Of the normal pressure. The highest that 170 drawn sites asked for was 2334, for the peak of a
start in a long narrow hose; a pump of common make does not reach much more on a shut line."""
_RATING_PA_MAX = const(1100000)
"""12 V diaphragm pumps end at about 160 psi (from memory)."""
_NORMAL_ROOM_PERMILLE = const(50)
"""What a sound site's pressure moves by (common practice, no source)."""
LINE_OPEN_PERMILLE_MAX = const(850)
"""Nearer to the normal pressure its own swings are an open line (common practice, no source)."""
_WATER_PERMILLE_MAX = const(600)
"""Of what a pump takes from its battery no more goes into the water: at 379 drawn sites 86 to 413,
by the pumps of the plant (more than 1000 no machine can)."""
_HOUR_S = const(3600)
_DAY_S = const(86400)


def harmful(known: dict) -> list:
    """Limits that would let a pump run dry, shut in or unwatched, one sentence each."""
    found = []
    if not known["battery_fitted"] and not known["pressure_fitted"]:
        found.append(
            "battery_fitted (0): and no pressure transducer, so that nothing guards the pump; "
            "fit one of them, better both"
        )
    if known["pressure_fitted"]:
        least_pa = max(known["static_pa"], 0) + known["pressure_span_kpa"] * _DRY_ROOM_PA_PER_KPA
        if known["dry_pa"] < least_pa:
            why = "standing water would pass for a pump at work; at least %d"
            found.append(_said(known, "dry_pa", why % least_pa))
        most_pa = known["normal_pa"] // 100 * (DEAD_HEAD_PERMILLE_MAX // 10)
        if known["dead_head_pa"] > most_pa:
            why = "a shut line might never reach it; at most %d"
            found.append(_said(known, "dead_head_pa", why % most_pa))
    if known["rating_pa"] > _RATING_PA_MAX:
        found.append(_said(known, "rating_pa", "no 12 V pump is rated so high; see its plate"))
    return found


def idle(known: dict, sets: list) -> list:
    """Limits with which a sound site would stop every night.

    ``sets`` are those of a night, as (first key, second after noon, runs, seconds of one run,
    seconds of soak).
    """
    found = []
    if known["pressure_fitted"]:
        found += _idle_by_pressure(known)
    normal_ma = known["current_zero_ma"]
    normal_ma += known["normal_pa"] // 1000 * known["current_ma_per_bar"] // 100
    if known["battery_fitted"]:
        found += _idle_by_battery(known, normal_ma)
    if known["flow_fitted"]:
        from . import meter

        found += meter.idle(known)
    if known["current_fitted"] and known["stall_ma"] <= normal_ma:
        found.append(_said(known, "stall_ma", "a sound pump takes it; above %d" % normal_ma))
    least_mah = known["reserve_mah"] + normal_ma * SHORTEST_S // _HOUR_S
    if known["capacity_mah"] < least_mah:
        why = "capacity_mah leaves nothing for a set; lower it"
        found.append(_said(known, "reserve_mah", why))
    for key, _start_s, runs, run_s, soak_s in sets:
        found += _idle_by_set(known, key, runs, run_s, soak_s)
    return found + _idle_by_heat(known, sets)


def _idle_by_pressure(known: dict) -> list:
    found = []
    normal_pa = known["normal_pa"]
    room_pa = normal_pa // 1000 * _NORMAL_ROOM_PERMILLE
    if known["dead_head_pa"] < normal_pa + room_pa:
        why = "normal pressure would pass it; at least %d"
        found.append(_said(known, "dead_head_pa", why % (normal_pa + room_pa)))
    if known["primed_pa"] > normal_pa - room_pa:
        why = "a used battery would not reach it; at most %d"
        found.append(_said(known, "primed_pa", why % (normal_pa - room_pa)))
    if known["line_open_permille"] > LINE_OPEN_PERMILLE_MAX:
        why = "normal pressure would pass it; at most %d"
        found.append(_said(known, "line_open_permille", why % LINE_OPEN_PERMILLE_MAX))
    if known["normal_pa"] // 1000 * known["line_open_permille"] < known["dry_pa"]:
        why = "of normal_pa is below dry_pa: an open line would go on; raise it"
        found.append(_said(known, "line_open_permille", why))
    return found


def _idle_by_battery(known: dict, normal_ma: int) -> list:
    found = []
    sag_mv = normal_ma // 10 * known["resistance_mohm"] // 100
    normal_mv = known["normal_mv"]
    water_mw = known["normal_pa"] // 1000 * known["flow_ml_min"] // 60
    taken_mw = normal_ma // 10 * (normal_mv // 100)
    if water_mw > taken_mw // 10 * (_WATER_PERMILLE_MAX // 100):
        # With too little current every start would show a bad supply.
        why = "no pump gives %d mW to the water and takes %d; raise it, or lower flow_ml_min"
        found.append(_said(known, "current_zero_ma", why % (water_mw, taken_mw)))
    if known["floor_mv"] >= normal_mv:
        found.append(_said(known, "floor_mv", "a battery at work reads it; below %d" % normal_mv))
    if known["cutout_mv"] >= normal_mv + sag_mv:
        why = "a half used battery would be flat; below %d"
        found.append(_said(known, "cutout_mv", why % (normal_mv + sag_mv)))
    if known["stall_sag_mv"] <= sag_mv:
        found.append(_said(known, "stall_sag_mv", "a sound pump sags so far; above %d" % sag_mv))
    return found


def _idle_by_set(known: dict, key: str, runs: int, run_s: int, soak_s: int) -> list:
    found = []
    if run_s > known["run_max_s"]:
        why = "a run takes %d; more %sruns, or allow it" % (run_s, key)
        found.append(_said(known, "run_max_s", why))
    in_an_hour = min(runs, _HOUR_S // max(run_s + soak_s, 1) + 1)
    if in_an_hour > known["starts_max"]:
        why = "an hour takes %d; longer %ssoak_s, or allow it" % (in_an_hour, key)
        found.append(_said(known, "starts_max", why))
    return found


def _idle_by_heat(known: dict, sets: list) -> list:
    night_s = sum([runs * run_s for _key, _start_s, runs, run_s, _soak_s in sets])
    if night_s * 1000 > known["duty_permille"] * _DAY_S:
        why = "no day cools a motor from %d s; water less, or allow it"
        return [_said(known, "duty_permille", why % night_s)]
    heat_s = heat_of(sets, known["duty_permille"])
    if heat_s <= known["duty_s"]:
        return []
    why = "the sets heat the motor for %d; water less, soak longer, or allow it"
    return [_said(known, "duty_s", why % heat_s)]


def heat_of(sets: list, duty_permille: int) -> int:
    """The most pumping [s] that the motor has not cooled from in a night of these sets."""
    cooling_permille = cooling_of(duty_permille)
    heat_s = worst_s = end_s = 0
    for start_s, runs, run_s, soak_s in sorted([row[1:] for row in sets]):
        pause_s = max(start_s - end_s, 0)
        end_s += pause_s
        for _ in range(runs):
            heat_s = max(heat_s - pause_s * cooling_permille // 1000, 0) + run_s
            worst_s = max(worst_s, heat_s)
            pause_s = soak_s
            end_s += run_s + soak_s
        end_s -= soak_s
    return worst_s


def _said(known: dict, key: str, why: str) -> str:
    return "%s (%d): %s" % (key, known[key], why)
