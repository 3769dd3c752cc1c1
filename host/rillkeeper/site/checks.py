"""Checks between keys of a site: each value may be right, and the two together wrong.

A check is skipped where one of the keys it looks at already has a mistake of its own.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from rillkeeper import units
from rillkeeper.errors import Mistake, as_toml
from rillkeeper.site.fixed import unknown_fixed
from rillkeeper.site.keys import TABLES
from rillkeeper.site.schema import Row
from rillsim.faults.catalogue import find
from rillsim.site import SetSpec, Site
from rillsim.supply.short_circuit import (
    CLEAN_CLAMP_OHM,
    OPENS_WITHIN_5_S,
    blowing_area_m2,
    least_at_the_far_end_a,
)
from rillsim.supply.wiring import area_ampacity_a, carrying_area_m2, largest_fuse_a

DAY_S = 86400
NO_STRAND_CLASSES = (3, 4)
WORN_OUT = 0.4
"""A battery that gives less is beyond what the model knows: common practice, no source."""
USED_LEAST = 0.1
OUTSIDE_PLOT_MAX_M = 2.0
"""A stand may be just over the fence; any farther is more likely a mix-up of x and y."""


@dataclass(frozen=True)
class _Shown:
    """Values as the person reads them."""

    site: Site
    system: str

    def __call__(self, path: str, value: float | None = None) -> str:
        """The value at a path of the file, or another one in the same unit."""
        table_name, key = path.split(".")
        table = next(table for table in TABLES if table.name == table_name)
        row = table.row(key)
        assert isinstance(row, Row)
        own = getattr(getattr(self.site, table.field), row.field)
        return row.show(own if value is None else value, self.system)


def _conflict(path: str, read: object, problem: str, allowed: str = "") -> Mistake:
    return Mistake(path, as_toml(read) if read else "", problem, allowed)


Check = Callable[[Site, _Shown], Iterator[Mistake]]


def cross_checks(
    site: Site,
    wrong: frozenset[str],
    system: str,
    written: Callable[[str], str] = lambda path: path,
) -> list[Mistake]:
    """Mistakes between the keys of a site; ``wrong`` holds the paths that have their own.

    ``written`` gives what the file says at a path, and nothing where a default counts: a refusal
    that rests on one says so.
    """
    shown = _Shown(site, system)
    found: list[Mistake] = []
    for paths, check in CHECKS:
        if not any(_touches(path, bad) for path in paths for bad in wrong):
            for mistake in check(site, shown):
                found.append(_with_defaults(mistake, paths, shown, written))
    return found


def _with_defaults(
    mistake: Mistake, paths: tuple[str, ...], shown: _Shown, written: Callable[[str], str]
) -> Mistake:
    """Name the defaults that a sentence quotes by their values alone."""
    said = f"{mistake.problem} {mistake.allowed}"
    defaults = [
        f"{path} is by default {shown(path)}"
        for path in paths
        if "." in path and path != mistake.path and not written(path) and shown(path) in said
    ]
    if not defaults:
        return mistake
    return replace(mistake, problem=f"{mistake.problem} ({', '.join(defaults)})")


def _touches(path: str, bad: str) -> bool:
    return path == bad or path.startswith(f"{bad}.") or bad.startswith(f"{path}.")


def _pump_sheet(site: Site, shown: _Shown) -> Iterator[Mistake]:
    from rillsim.water.pump import ImpossiblePump, fit_pump

    try:
        fit_pump(site.pump)
    except ImpossiblePump as error:
        table = next(table for table in TABLES if table.name == "pump")
        row = next((row for row in table.rows if row.field == error.field), None)
        sentence = str(error).removeprefix(f"{error.field} ")
        yield _conflict(f"pump.{row.key}" if row else "pump", "", sentence)


def _duty(site: Site, shown: _Shown) -> Iterator[Mistake]:
    pump = site.pump
    times = (("duty_on", pump.duty_on_s), ("duty_off", pump.duty_off_s))
    for key, time_s in times:
        if pump.duty == "intermittent" and time_s < 60.0:
            problem = "an intermittent duty needs its minutes on and off"
            yield _conflict(f"pump.{key}", shown(f"pump.{key}"), problem, "1 min or more")
        elif pump.duty != "intermittent" and time_s > 0.0:
            problem = f'belongs to an intermittent duty, and duty is "{pump.duty}"'
            yield _conflict(f"pump.{key}", shown(f"pump.{key}"), problem, 'duty = "intermittent"')


def _fuse(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.cable.fuse_a < site.pump.open_current_a:
        allowed = f"more than the pump's open_current of {shown('pump.open_current')}"
        yield _conflict("cable.fuse", shown("cable.fuse"), "would blow in every run", allowed)


def _wire(site: Site, shown: _Shown) -> Iterator[Mistake]:
    """A wire must carry what its fuse lets through: above that it glows, and the fuse stays."""
    cable = site.cable
    try:
        carries_a = area_ampacity_a(cable.area_m2, cable.insulation)
    except ValueError:
        carries_a = 0.0
    if cable.fuse_a <= carries_a:
        return
    ways = []
    if smaller_a := largest_fuse_a(carries_a):
        ways.append(f"a fuse of {smaller_a:g} A")
    try:
        thicker = carrying_area_m2(cable.fuse_a, cable.insulation)
        ways.append(f"a section of {shown('cable.section', thicker)}")
    except ValueError:
        pass
    wire = f"{shown('cable.section')} with insulation {cable.insulation}"
    problem = f"a wire of {wire} carries {carries_a:g} A: it could start a fire"
    if not carries_a:
        problem = f"a wire of {wire} is too thin for a pump: it could start a fire"
    allowed = " or ".join(ways) or "a smaller fuse and a thicker wire"
    yield _conflict("cable.fuse", shown("cable.fuse"), problem, allowed)


def _short_circuit(site: Site, shown: _Shown) -> Iterator[Mistake]:
    """A bridge at the far end of a long cable must still blow the fuse."""
    cable = site.cable
    if cable.strand_class in NO_STRAND_CLASSES:
        return
    least_a = least_at_the_far_end_a(cable, site.battery)
    if least_a >= OPENS_WITHIN_5_S * cable.fuse_a:
        return
    problem = f"a short circuit at the pump gives {least_a:.0f} A and would not blow it"
    clean = replace(cable, clamp_ohm=min(cable.clamp_ohm, CLEAN_CLAMP_OHM))
    ways = ["a shorter cable"]
    if least_at_the_far_end_a(clean, site.battery) >= OPENS_WITHIN_5_S * cable.fuse_a:
        ways = ["clean and tight clamps"]
    if thicker := blowing_area_m2(cable, site.battery):
        ways.append(f"a section of {shown('cable.section', thicker)}")
    smaller_a = largest_fuse_a(least_a / OPENS_WITHIN_5_S)
    if smaller_a and smaller_a >= site.pump.open_current_a:
        ways.append(f"a fuse of {smaller_a:g} A")
    yield _conflict("cable.fuse", shown("cable.fuse"), problem, " or ".join(ways))


def _measured(site: Site, shown: _Shown) -> Iterator[Mistake]:
    battery = site.battery
    if not battery.measured_ah or WORN_OUT <= battery.measured_ah / battery.capacity_ah <= 1.0:
        return
    low, high = WORN_OUT * battery.capacity_ah, battery.capacity_ah
    allowed = f"{shown('battery.measured', low)} to {shown('battery.measured', high)}"
    problem = f"not of a battery that is rated {shown('battery.capacity')}"
    if battery.measured_ah < low:
        problem += ", or it is worn out"
    yield _conflict("battery.measured", shown("battery.measured"), problem, allowed)


def _used(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if 0.0 < site.battery.used_share < USED_LEAST:
        allowed = f"0 % (as usual) or {100 * USED_LEAST:.0f} % to 90 %"
        problem = "too little to water with"
        yield _conflict("battery.used", shown("battery.used"), problem, allowed)


def _strands(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.cable.strand_class in NO_STRAND_CLASSES:
        problem = "IEC 60228 has no such class"
        yield _conflict("cable.strand_class", site.cable.strand_class, problem, "1, 2, 5 or 6")


def _suction_reach(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.suction.length_m < abs(site.water.lift_m):
        allowed = f"at least the lift of {shown('water.lift')}"
        read = shown("suction.length")
        yield _conflict("suction.length", read, "does not reach the water", allowed)


def _line_reach(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.line.length_m < abs(site.line.rise_m):
        allowed = f"at least the rise of {shown('line.rise')}"
        yield _conflict("line.length", shown("line.length"), "does not reach the nozzle", allowed)


def _dry_prime(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.suction.foot_valve == "none" and site.water.lift_m > site.pump.dry_lift_m:
        allowed = f"a foot valve, or a lift of at most {shown('pump.dry_lift')}"
        problem = "without a foot valve the pump cannot prime"
        yield _conflict("water.lift", shown("water.lift"), problem, allowed)


def _store(site: Site, shown: _Shown) -> Iterator[Mistake]:
    water = site.water
    if 0.0 < water.full_m3 < water.stored_m3:
        allowed = f"at least what is stored, {shown('water.stored')}"
        yield _conflict("water.full", shown("water.full"), "less than is stored in it", allowed)
    if water.stored_m3 == 0.0 and max(water.full_m3, water.roof_m2, water.inflow_m3_s) > 0.0:
        allowed = "the volume above the strainer at first"
        yield _conflict("water.stored", "", "missing: what fills up must hold something", allowed)


def _nozzle(site: Site, shown: _Shown) -> Iterator[Mistake]:
    sprinkler = site.sprinkler
    all_nozzles_m = sprinkler.nozzle_bore_m * math.sqrt(sprinkler.nozzle_count)
    if all_nozzles_m >= site.line.bore_m:
        allowed = f"less than the hose's bore of {shown('line.bore')} for all nozzles together"
        path = "sprinkler.nozzle_bore"
        yield _conflict(path, shown(path), "wider than the hose", allowed)


def _stand_x(site: Site, shown: _Shown) -> Iterator[Mistake]:
    yield from _stand("x", site.sprinkler.x_m, "width", site.plot.width_m, shown)


def _stand_y(site: Site, shown: _Shown) -> Iterator[Mistake]:
    yield from _stand("y", site.sprinkler.y_m, "depth", site.plot.depth_m, shown)


def _stand(key: str, at_m: float, side: str, side_m: float, shown: _Shown) -> Iterator[Mistake]:
    if not -OUTSIDE_PLOT_MAX_M <= at_m <= side_m + OUTSIDE_PLOT_MAX_M:
        path = f"sprinkler.{key}"
        allowed = f"{shown(path, 0.0)} to the plot's {side} of {shown(f'plot.{side}')}"
        yield _conflict(path, shown(path), "the stand is far off the plot", allowed)


def _warmth(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.weather.t_min_c > site.weather.t_max_c:
        allowed = f"at most t_max, {shown('weather.t_max')}"
        yield _conflict("weather.t_min", shown("weather.t_min"), "warmer than t_max", allowed)


def _humidity(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.weather.humidity_min > site.weather.humidity_max:
        allowed = f"at most humidity_max, {shown('weather.humidity_max')}"
        read = shown("weather.humidity_min")
        yield _conflict("weather.humidity_min", read, "above humidity_max", allowed)


def _transducer(site: Site, shown: _Shown) -> Iterator[Mistake]:
    board, pump = site.board, site.pump
    if board.pressure_fitted and board.pressure_span_pa <= pump.max_pressure_pa:
        allowed = f"more than the pump's max_pressure of {shown('pump.max_pressure')}"
        problem = "cannot show a pressure that is too high"
        yield _conflict("board.pressure_span", shown("board.pressure_span"), problem, allowed)


def _current_channel(site: Site, shown: _Shown) -> Iterator[Mistake]:
    board, pump = site.board, site.pump
    if board.current_fitted and board.current_span_a <= pump.max_current_a:
        allowed = f"more than the pump's max_current of {shown('pump.max_current')}"
        problem = "cannot show a current that is too high"
        yield _conflict("board.current_span", shown("board.current_span"), problem, allowed)


def _board_sleep(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if site.board.asleep_a > site.board.awake_a:
        allowed = f"at most awake, {shown('board.awake')}"
        yield _conflict("board.asleep", shown("board.asleep"), "more than awake", allowed)


def _sets(site: Site, shown: _Shown) -> Iterator[Mistake]:
    if not site.sets:
        yield _conflict("set", "", "none given", "at least one [[set]]")
    for number, one in enumerate(site.sets, 1):
        if one.runs > 1 and one.soak_s == 0:
            allowed = "a soak between the runs"
            yield _conflict(f"set[{number}].runs", one.runs, "runs without a pause", allowed)
        if one.runs == 1 and one.soak_s > 0:
            read = units.format(one.soak_s, "time")
            allowed = "runs of 2 or more"
            yield _conflict(f"set[{number}].soak", read, "a pause with nothing after it", allowed)
    for (first, one), (second, other) in combinations(enumerate(site.sets, 1), 2):
        yield from _overlap(first, one, second, other)


def _overlap(first: int, one: SetSpec, second: int, other: SetSpec) -> Iterator[Mistake]:
    path, read = f"set[{second}].start", units.format_clock(other.start_s)
    if one.start_s == other.start_s:
        yield _conflict(path, read, f"the same start as set[{first}]", "one set at a time")
        return
    apart_s = (other.start_s - one.start_s) % DAY_S
    for early, late, number, gap_s in (
        (one, other, first, apart_s),
        (other, one, second, DAY_S - apart_s),
    ):
        if gap_s < _held_s(early):
            until = units.format_clock((early.start_s + _held_s(early)) % DAY_S)
            problem = f"set[{number}] may still run then"
            allowed = f"a start from {until} on, or a shorter run or window in set[{number}]"
            path = f"set[{second if early is one else first}].start"
            yield _conflict(path, units.format_clock(late.start_s), problem, allowed)


def _busy_s(one: SetSpec) -> int:
    """How long a set takes with its pauses, as far as that is known before it is sized."""
    pumping_s = round(one.amount * 60) if one.unit == "minutes" else 0
    return pumping_s + (one.runs - 1) * one.soak_s


def _held_s(one: SetSpec) -> int:
    """For how long after its start no other set may start."""
    return max(one.window_s, _busy_s(one))


def _trips(site: Site, shown: _Shown) -> Iterator[Mistake]:
    seen: dict[int, int] = {}
    for number, trip in enumerate(site.battery_trips, 1):
        path = f"battery_trip[{number}]"
        if trip.after_night in seen:
            problem = f"the same night as battery_trip[{seen[trip.after_night]}]"
            yield _conflict(f"{path}.after_night", trip.after_night, problem, "one trip a day")
        seen.setdefault(trip.after_night, number)
        away, back = units.format_clock(trip.away_from_s), units.format_clock(trip.back_at_s)
        if trip.back_at_s <= trip.away_from_s:
            allowed = f"later than {away}, on the same day"
            yield _conflict(f"{path}.back_at", back, "back before it left", allowed)
            continue
        for set_number, one in enumerate(site.sets, 1):
            if trip.away_from_s <= one.start_s < trip.back_at_s:
                problem = f"the battery is away when set[{set_number}] starts"
                allowed = f"back before {units.format_clock(one.start_s)}"
                yield _conflict(f"{path}.back_at", back, problem, allowed)
            elif (trip.away_from_s - one.start_s) % DAY_S < _busy_s(one):
                problem = f"the battery leaves while set[{set_number}] runs"
                until = units.format_clock((one.start_s + _busy_s(one)) % DAY_S)
                yield _conflict(f"{path}.away_from", away, problem, f"away from {until} on")


def _faults(site: Site, shown: _Shown) -> Iterator[Mistake]:
    for (first, one), (second, other) in combinations(enumerate(site.faults, 1), 2):
        if (one.name, one.night, one.offset_s) == (other.name, other.night, other.offset_s):
            problem = f"the same as fault[{first}]"
            yield _conflict(f"fault[{second}]", "", problem, "each fault once at a time")
    for number, fault in enumerate(site.faults, 1):
        if fault.severity < 0.0 and not find(fault.name).both_ways:
            path = f"fault[{number}].severity"
            yield _conflict(path, f"{fault.severity:g}", ONE_SIDED, "0 to 1")


ONE_SIDED = "the severity is below 0, and this fault has only one direction"


CHECKS: tuple[tuple[tuple[str, ...], Check], ...] = (
    (("fixed",), lambda site, shown: unknown_fixed(site)),
    (("pump",), _pump_sheet),
    (("pump.duty", "pump.duty_on", "pump.duty_off"), _duty),
    (("cable.fuse", "pump.open_current"), _fuse),
    (("cable.fuse", "cable.section", "cable.insulation"), _wire),
    (("cable", "battery"), _short_circuit),
    (("battery.measured", "battery.capacity"), _measured),
    (("battery.used",), _used),
    (("cable.strand_class",), _strands),
    (("suction.length", "water.lift"), _suction_reach),
    (("line.length", "line.rise"), _line_reach),
    (("suction.foot_valve", "water.lift", "pump.dry_lift"), _dry_prime),
    (("water.stored", "water.full", "water.roof", "water.inflow"), _store),
    (("sprinkler.nozzle_bore", "sprinkler.nozzle_count", "line.bore"), _nozzle),
    (("sprinkler.x", "plot.width"), _stand_x),
    (("sprinkler.y", "plot.depth"), _stand_y),
    (("weather.t_min", "weather.t_max"), _warmth),
    (("weather.humidity_min", "weather.humidity_max"), _humidity),
    (("board.pressure", "board.pressure_span", "pump.max_pressure"), _transducer),
    (("board.current", "board.current_span", "pump.max_current"), _current_channel),
    (("board.awake", "board.asleep"), _board_sleep),
    (("set",), _sets),
    (("battery_trip", "set"), _trips),
    (("fault",), _faults),
)
"""The keys that a check looks at, and the check."""
