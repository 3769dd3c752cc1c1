"""Limits on the water's side: dead head, dry run, prime, flow."""

from math import isfinite

from rillkeeper.design.limits.dead_head import dead_head
from rillkeeper.design.limits.limit import ROOM, Limit, shown_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.display_units import duration_text
from rillkeeper.errors import NoSafeLimit

SLOPE_MAX_PA_V = 400000
"""The most that the board takes for the pressure's change with the voltage."""


def pressures(work: WorkingSite) -> list[Limit]:
    """The normal pressure, and the limits on both sides of it."""
    return [*_normal(work), *_shut_line(work), *_dry_pump(work)]


def _normal(work: WorkingSite) -> list[Limit]:
    middle = work.middle
    normal = shown_of(work).text(middle.point.pump_pa, "pressure")
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
        shown_of(work).text(pressure_pa, "pressure")
        for pressure_pa in (
            work.full.point.pump_pa,
            rating_pa,
            shut.start_peak_pa,
            shut.climb_pa_s,
            shut.limit_pa,
        )
    )
    hold = duration_text(shut.hold_ms / 1e3) if shut.hold_ms else "no time at all"
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
            f"A shut line climbs {climb} a second, so the relay waits for {hold} and opens before "
            "the rating is reached.",
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
        shown_of(work).text(pressure_pa, "pressure")
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
    ]


def prime_and_flow(work: WorkingSite) -> list[Limit]:
    """How long a dry line takes, and what then flows."""
    site, shown = work.site, shown_of(work)
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
