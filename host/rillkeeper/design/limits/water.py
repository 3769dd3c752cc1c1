"""Limits on the water's side: dead head, dry run, prime, flow.

Dead head is the hard one. A sound start must stay below the limit, and a shut line must be
answered above it: between the two the pressure climbs as fast as the pump fills the hose, and
the board needs its time.
"""

from dataclasses import dataclass, replace
from math import ceil, copysign, isfinite

from keeper.plausible import DEAD_HEAD_PERMILLE_MAX, LINE_OPEN_PERMILLE_MAX
from keeper.settings import SCHEMA
from rillkeeper.design.limits.working_site import ROOM, Limit, WorkingSite
from rillkeeper.display_units import duration_text
from rillkeeper.errors import NoSafeLimit
from rillsim.water.hammer import BURST, first_wave_pa

SOUND_ROOM = 1.25
"""The limit on a shut line stands at least so far above the highest pressure of a sound site, that
of a start included: how stiff a hose is stands on no label, and with it and with pump and nozzle
some per cent off their sheets that pressure is seldom more than a sixth off what it is worked out
as; its ripple and noise are 3 % (common practice, no source)."""
WANTED_ROOM = 1.3
"""And so far where it can."""
STIFFER, STIFF_ROOM = 1.5, 1.2
"""So far above the peak of a start with so much stiffer a hose, too, where the rating leaves it:
the stiffness is off by a quarter (common practice, no source), and here by two such deviations."""
NARROWER, STRONGER, OFF_ROOM = 0.05, 0.06, 1.12
"""So far above the pressure with a nozzle so much narrower, and a pump that gives so much more,
where the rating leaves it: two and a half deviations of a nozzle, one and a half of a pump, and
ripple, noise and height on top (common practice, no source). Of 3,138 drawn sites one that was so
far off its file was stopped at every start."""
NEAR_RATING = 0.95
TIGHT_ROOM = 1.15
TIGHT_RATING = 0.97
"""The least room, and the most of the rating, where that leaves no more. With a tenth of room one
of 111 drawn sites beside their files was stopped that was sound, and was a quarter over its rating
at a shut tap (common practice, no source)."""
PASSES = 1.15
"""A shut line may pass the rating by so much for the two tenths of a second that the board needs:
a pump's own bypass opens at 1.3 times it (common practice, no source). Then the pump stands, and
what is shut in goes back through its valves."""
HOLD_SHARE = 0.4
"""Share of the way from dead head to the rating that may pass in the hold."""
FILLINGS = 2.0
"""A pump may turn without water in a night for so many times what a dry line takes to fill: until
the hose is full, water makes hardly more pressure than none."""
TICK_MS = 100
HOLD_MS_MAX = 2000
ANSWER_S = 0.2
"""From the limit to an open relay, without a hold: the tick that sees it and the delay of the
median, which lets no single reading trip."""
CLIMB_STEP_S = 0.01
READING_ROOM = 1.02
"""A transducer of 0.5 %, read off a board of 1 %, in the ripple of the pump."""
OPEN_WAY = 0.35
"""Share of the way from dry to the lowest normal pressure: below it the line is open, and some
way above it primed (common practice, no source)."""
_DEFAULTS = {row[0]: row[4] for row in SCHEMA}
_OPEN_PERMILLE = _DEFAULTS["line_open_permille"]
SLOPE_MAX_PA_V = 400000
"""The most that the board takes for the pressure's change with the voltage."""


def pressures(work: WorkingSite) -> list[Limit]:
    """The normal pressure, and the limits on both sides of it."""
    return [*_normal(work), *_shut_line(work), *_dry_pump(work)]


def _normal(work: WorkingSite) -> list[Limit]:
    middle = work.middle
    normal = work.shown.text(middle.point.pump_pa, "pressure")
    return [
        Limit(
            "normal_pa",
            round(middle.point.pump_pa),
            f"With the battery half used the pump should make {normal} at its outlet.",
        ),
        Limit(
            "normal_mv",
            round(middle.board_v * 1e3),
            f"That pressure belongs to {middle.board_v:.2f} V at the board.",
        ),
        Limit(
            "pressure_pa_per_v",
            _slope(work),
            "As the battery empties, the pressure falls by so much for each volt.",
        ),
    ]


def _shut_line(work: WorkingSite) -> list[Limit]:
    shut = dead_head(work)
    rating_pa = work.site.pump.max_pressure_pa
    highest, rating, peak, climb, limit = (
        work.shown.text(pressure_pa, "pressure")
        for pressure_pa in (
            work.full.point.pump_pa,
            rating_pa,
            shut.start_peak_pa,
            shut.climb_pa_s,
            shut.limit_pa,
        )
    )
    hold = duration_text(shut.hold_ms / 1e3) if shut.hold_ms else "no time at all"
    before = "before the rating is reached, the first wave of a tap that snaps shut included"
    if shut.top_pa > rating_pa:
        top = work.shown.text(shut.top_pa, "pressure")
        burst = work.shown.text(BURST * rating_pa, "pressure")
        before = (
            f"at {top} at the most, over the rating for a moment if the tap snaps shut (a hose of "
            f"that rating bursts at {burst} or more); shut taps slowly"
        )
    if not _is_answered(work):
        before = "where nothing else has stopped the pump"
    return [
        Limit(
            "dead_head_pa",
            round(shut.limit_pa),
            f"{limit} is above the highest normal pressure of {highest} and the peak of {peak} at "
            f"a start, and below the pump's rating of {rating}: only a shut line gets there.",
        ),
        Limit(
            "dead_head_hold_ms",
            shut.hold_ms,
            f"A shut line climbs {climb} a second, so the relay waits for {hold} and opens "
            f"{before}.",
        ),
        Limit(
            "rating_pa",
            round(rating_pa),
            f"The pump and all on its outlet are rated for {rating}.",
        ),
    ]


def _dry_pump(work: WorkingSite) -> list[Limit]:
    static_pa, lowest_pa = work.static_pa(), work.used.point.pump_pa
    dry_pa = max(0.25 * lowest_pa, static_pa + 0.15 * (lowest_pa - static_pa))
    primed_pa = dry_pa + 0.5 * (lowest_pa - dry_pa)
    lowest, static, dry, primed = (
        work.shown.text(pressure_pa, "pressure")
        for pressure_pa in (lowest_pa, static_pa, dry_pa, primed_pa)
    )
    if lowest_pa < max(static_pa, 0.0) * ROOM:
        raise NoSafeLimit(
            f"{work.site.name}: the pump makes {lowest} and the water standing in the line alone "
            f"{static}: dry running could not be told from it; set the nozzle lower"
        )
    return [
        Limit(
            "dry_pa",
            round(dry_pa),
            f"{dry} is above the {static} of water that only stands in the line, and well below "
            f"the lowest normal pressure of {lowest}: a pump that makes less has no water.",
        ),
        Limit(
            "primed_pa",
            round(primed_pa),
            f"{primed}, half way from dry to the lowest normal pressure, tells that water came.",
        ),
        *_open_line(work, dry_pa, lowest_pa),
    ]


def _open_line(work: WorkingSite, dry_pa: float, lowest_pa: float) -> list[Limit]:
    """Only where the standing water holds so much of the pressure that the usual share is dry."""
    normal_pa = work.middle.point.pump_pa
    if round(normal_pa) // 1000 * _OPEN_PERMILLE >= round(dry_pa):  # As the board reckons it.
        return []
    open_pa = dry_pa + OPEN_WAY * (lowest_pa - dry_pa)
    open_line, normal = (work.shown.text(pa, "pressure") for pa in (open_pa, normal_pa))
    if 1e3 * open_pa > LINE_OPEN_PERMILLE_MAX * normal_pa:
        raise NoSafeLimit(
            f"{work.site.name}: an open line makes up to {open_line} and a sound one only "
            f"{normal}: one could not be told from the other; set the nozzle lower, or fit a "
            "narrower one"
        )
    return [
        Limit(
            "line_open_permille",
            round(1e3 * open_pa / normal_pa),
            f"{open_line} is above dry and well below the normal {normal}, much of which is the "
            "water that stands in the line: with less, the line is open.",
        )
    ]


def _long_filling(prime_s: float) -> list[Limit]:
    """Only where a filling may make so little pressure for so long that it passes for dry."""
    most_s = ceil(FILLINGS * prime_s)
    if most_s <= _DEFAULTS["dry_night_s"]:
        return []
    return [
        Limit(
            "dry_night_s",
            most_s,
            f"Filling a dry line takes {duration_text(round(prime_s))}; until water comes the "
            "pump may turn without for twice that in a night.",
        )
    ]


def prime_and_flow(work: WorkingSite) -> list[Limit]:
    """How long a dry line takes, and what then flows."""
    site, shown = work.site, work.shown
    prime_s = work.prime_s()
    if not isfinite(prime_s):
        dry_lift = shown.text(site.pump.dry_lift_m, "length")
        raise NoSafeLimit(
            f"{site.name}: a pump that primes from {dry_lift} cannot lift water over "
            f"{shown.text(site.water.lift_m, 'length')}; lower the pump"
        )
    flow_m3_s = work.middle.point.flow_m3_s
    area_m2 = max(1, round(work.wet_area_m2()))
    return [
        Limit(
            "prime_ms",
            round(1000 * work.prime_allowance_s()),
            f"A dry line takes {duration_text(round(prime_s))} to draw water and fill; the pump "
            "may try for twice that and 20 s.",
        ),
        *_long_filling(prime_s),
        Limit(
            "flow_ml_min",
            round(flow_m3_s * 6e7),
            f"At its normal pressure the pump gives {shown.text(flow_m3_s, 'flow')}.",
        ),
        Limit(
            "static_pa",
            round(work.static_pa()),
            f"The nozzle stands {shown.text(abs(site.line.rise_m), 'length')} "
            f"{'above' if site.line.rise_m >= 0.0 else 'below'} the pump: the water in the line "
            "weighs so much by itself.",
        ),
        Limit(
            "wet_area_m2",
            area_m2,
            f"Wind and rim take their share: a litre lands on the plot as if it fell on "
            f"{shown.text(area_m2, 'area')}.",
        ),
    ]


def _slope(work: WorkingSite) -> int:
    """Change of the normal pressure with the voltage at the board [Pa/V]."""
    full, used = work.full, work.used
    volts = full.board_v - used.board_v
    slope = (full.point.pump_pa - used.point.pump_pa) / volts if volts > 0.05 else 0.0
    return min(max(round(slope), 0), SLOPE_MAX_PA_V)


@dataclass(frozen=True)
class DeadHead:
    """The limit on a shut line, and what it comes from."""

    limit_pa: float
    hold_ms: int
    start_peak_pa: float
    climb_pa_s: float
    top_pa: float
    """What the line may see before the relay is open, with the wave of a tap that snaps shut."""


def dead_head(work: WorkingSite) -> DeadHead:
    """Raises NoSafeLimit where no limit fits below the rating."""
    rating_pa = work.site.pump.max_pressure_pa
    highest_pa = work.full.point.pump_pa
    peak_pa = work.start_peak_pa()
    flow_m3_s = work.full.point.flow_m3_s
    wave_pa = first_wave_pa(work.site.line, work.plumbing.water, flow_m3_s)
    sound_pa = max(highest_pa, peak_pa)
    # As the board reckons it: what it takes for higher than a shut line may come.
    reached_pa = round(work.middle.point.pump_pa) // 100 * (DEAD_HEAD_PERMILLE_MAX // 10)
    apart_pa = max(
        STIFF_ROOM * _stiffer(work).start_peak_pa(),
        OFF_ROOM * _off(work).full.point.pump_pa,
    )
    lowest_pa, most_pa = SOUND_ROOM * sound_pa, min(NEAR_RATING * rating_pa, reached_pa)
    free_pa = min(most_pa, _answered_pa(work, rating_pa))
    if lowest_pa <= free_pa:
        lowest_pa = max(lowest_pa, min(apart_pa, free_pa))
    else:
        least_pa, most_pa = TIGHT_ROOM * sound_pa, min(TIGHT_RATING * rating_pa, reached_pa)
        if not work.site.board.pressure_fitted:
            least_pa = highest_pa  # Nothing trips falsely: it only has to stay below the rating.
        _check_room(work, least_pa, most_pa)
        # A moment above the rating, at a line that somebody has shut, is better than no water.
        lowest_pa = min(lowest_pa, most_pa, _answered_pa(work, PASSES * rating_pa))
    limit_pa = min(max(WANTED_ROOM * sound_pa, apart_pa), most_pa)
    if _is_answered(work):
        answered_pa = _answered_pa(work, rating_pa - wave_pa)
        limit_pa = min(limit_pa, max(answered_pa, lowest_pa))
    climb = work.climb_pa_s(limit_pa)
    room_s = (rating_pa - wave_pa - limit_pa * READING_ROOM) / climb - ANSWER_S
    hold_ms = 1e3 * min(HOLD_SHARE * (rating_pa - limit_pa) / climb, room_s)
    hold_ms = min(max(TICK_MS * int(hold_ms / TICK_MS), 0), HOLD_MS_MAX)
    top_pa = _climbed(work, limit_pa * READING_ROOM, ANSWER_S + hold_ms / 1e3) + wave_pa
    _check_wave(work, top_pa if _is_answered(work) else rating_pa + wave_pa)
    return DeadHead(limit_pa, int(hold_ms), peak_pa, climb, top_pa)


def _stiffer(work: WorkingSite) -> WorkingSite:
    line = replace(work.site.line, modulus_pa=STIFFER * work.site.line.modulus_pa)
    return WorkingSite(replace(work.site, line=line))


def _off(work: WorkingSite) -> WorkingSite:
    """With pump and nozzle beside their sheets, both to the side of more pressure."""
    site = work.site
    nozzle_m = (1.0 - NARROWER) * site.sprinkler.nozzle_bore_m
    flow_m3_s = (1.0 + STRONGER) * site.pump.open_flow_m3_s
    return WorkingSite(
        replace(
            site,
            sprinkler=replace(site.sprinkler, nozzle_bore_m=nozzle_m),
            pump=replace(site.pump, open_flow_m3_s=flow_m3_s),
        )
    )


def _check_wave(work: WorkingSite, top_pa: float) -> None:
    """The mean is held to the rating, the wave upon it to what bursts a hose: see `BURST`.

    Where the board reads the pressure, the climb has refused a line so stiff before; without, a
    switch of the pump's own holds the mean, and no switch is quick enough for a wave.
    """
    rating_pa = work.site.pump.max_pressure_pa
    if top_pa <= BURST * rating_pa:
        return
    top, rating, burst = (
        work.shown.text(pressure_pa, "pressure")
        for pressure_pa in (top_pa, rating_pa, BURST * rating_pa)
    )
    raise NoSafeLimit(
        f"{work.site.name}: a tap that snaps shut sends a wave of up to {top} through this line, "
        f"and a hose rated for {rating} may burst at {burst}; use a softer or wider hose, or a "
        "pump and hose of a higher rating"
    )


def _is_answered(work: WorkingSite) -> bool:
    """Whether it is the board that has to stop a pump at a shut line."""
    return work.site.board.pressure_fitted and not work.site.pump.pressure_switch


def _answered_pa(work: WorkingSite, top_pa: float) -> float:
    """The highest limit after which the relay still opens below a pressure."""
    if not _is_answered(work):
        return top_pa
    return _climbed(work, top_pa, -ANSWER_S) / READING_ROOM


def _climbed(work: WorkingSite, pressure_pa: float, for_s: float) -> float:
    """The pressure in a shut line so much later, or earlier: the higher, the less the pump gives.

    The faster climb of each step's lower end counts.
    """
    step_s = copysign(CLIMB_STEP_S, for_s)
    for _ in range(round(abs(for_s) / CLIMB_STEP_S)):
        lower_pa = pressure_pa + min(0.0, step_s * work.climb_pa_s(pressure_pa))
        pressure_pa += step_s * work.climb_pa_s(lower_pa)
    return pressure_pa


def _check_room(work: WorkingSite, lowest_pa: float, most_pa: float) -> None:
    shown, rating_pa = work.shown, work.site.pump.max_pressure_pa
    rating = shown.text(rating_pa, "pressure")
    if lowest_pa > most_pa and most_pa < TIGHT_RATING * rating_pa:
        peak = shown.text(work.start_peak_pa(), "pressure")
        raise NoSafeLimit(
            f"{work.site.name}: a start comes to {peak}, so far above the normal "
            f"{shown.text(work.middle.point.pump_pa, 'pressure')} that a limit above it might "
            "never be reached by a shut line; use a larger nozzle, or a softer or wider hose"
        )
    if lowest_pa > most_pa:
        raise NoSafeLimit(
            f"{work.site.name}: the normal pressure of "
            f"{shown.text(work.full.point.pump_pa, 'pressure')} is too near the pump's rating of "
            f"{rating}: a dead-head limit does not fit in between; use a larger nozzle, a wider "
            "hose or a pump with a higher rating"
        )
    if _answered_pa(work, PASSES * rating_pa) < lowest_pa:
        climb = shown.text(work.climb_pa_s(lowest_pa), "pressure")
        raise NoSafeLimit(
            f"{work.site.name}: a shut line climbs {climb} a second, from "
            f"{shown.text(lowest_pa, 'pressure')} past the pump's rating of {rating} before the "
            "relay is open; use a larger nozzle, a longer or softer hose, or a pump with a "
            "pressure switch of its own"
        )
