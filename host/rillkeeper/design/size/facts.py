"""The figures that a verdict rests on, in one flat record.

It is worked out for the report, and again for each change that is tried and each draw of an
uncertain site; tables that only the report shows are not in it.
"""

from dataclasses import dataclass, replace
from math import hypot, inf

from rillkeeper.design.limits.derive import limits_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.nights import (
    NightLoad,
    load_of,
    nights_on_a_charge,
    nights_wanted,
    size_for,
)
from rillkeeper.design.size.source import Source, source_of
from rillkeeper.design.size.sun import sun_of
from rillkeeper.design.size.watering import Watering, reach_share, watering_of
from rillkeeper.design.size.wires import Wires, wires_of
from rillkeeper.display_units import Shown
from rillkeeper.errors import NoSafeLimit
from rillsim.garden.spray import ring_share
from rillsim.site import Site
from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.suction import NPSH_BASE_M


@dataclass(frozen=True)
class Facts:
    """A site at work with a battery half used, unless said otherwise; SI units."""

    wires: Wires
    watering: Watering
    runs: bool
    """Water comes at all."""
    stands_because: str
    """Why none comes; a sentence."""
    stands_change: str
    lift_m: float
    dry_lift_m: float
    source: Source
    primes: bool
    prime_s: float
    bare_days: float
    """Until the falling water leaves the strainer bare; endless where it does not fall."""
    prime_days: float
    """Until it stands so low that a dry line no longer primes."""
    flow_m3_s: float
    pump_pa: float
    nozzle_pa: float
    least_pa: float
    """That the sprinkler's sheet asks for at the nozzle; none where it is silent."""
    suction_loss_m: float
    npsh_margin_m: float
    throw_m: float
    corner_m: float
    """From the stand to the farthest corner of the plot."""
    centre_reach: float
    """Share of the plot within reach of a stand in its middle, as far as it throws now."""
    centre_x_m: float
    centre_y_m: float
    ring: float
    """Share of the water that falls in a ring because the pressure is too low."""
    current_a: float
    pump_v: float
    used_pump_v: float
    minimum_v: float
    no_limits: str
    """Why the board has no safe limits; empty where it has."""
    highest_pa: float
    rating_pa: float
    night_ah: float
    nights: float
    panel_w: float
    panel_nights: float
    """The same with the panel, on usual days; as without one where there is none."""
    wanted: int
    depth: float
    size_wanted_ah: float | None
    split: bool = False
    """The site's sets are given in several runs."""


def facts_of(
    site: Site, wanted: int | None = None, *, size_battery: bool = False, limits: bool = True
) -> Facts:
    """Work a site out.

    ``size_battery`` also looks for the battery that would do; without ``limits`` it is not
    asked whether the board has safe ones, which takes as long as all the rest.
    """
    work = WorkingSite(site)
    wires, watering = wires_of(work), watering_of(work)
    return facts_from(work, wires, watering, wanted, size_battery=size_battery, limits=limits)


def facts_from(
    work: WorkingSite,
    wires: Wires,
    watering: Watering,
    wanted: int | None = None,
    *,
    size_battery: bool = False,
    limits: bool = True,
) -> Facts:
    """The same from what is already worked out."""
    site, point = work.site, work.middle.point
    runs = point.flow_m3_s > 0.0
    because, change = ("", "") if runs else _why_not(work)
    load = load_of(work)
    wanted = nights_wanted(site) if wanted is None else wanted
    nights = nights_on_a_charge(site.battery, load, work.discharge)[0] if runs else 0.0
    prime_s = work.prime_s() if runs else float("inf")
    weight = work.plumbing.water.density_kg_m3 * GRAVITY_M_S2
    return Facts(
        wires=wires,
        watering=watering,
        runs=runs,
        stands_because=because,
        stands_change=change,
        lift_m=site.water.lift_m,
        dry_lift_m=site.pump.dry_lift_m,
        source=source_of(work),
        primes=site.water.lift_m < site.pump.dry_lift_m,
        prime_s=prime_s,
        bare_days=_days(site.water.cover_m, site),
        prime_days=_days(site.pump.dry_lift_m - site.water.lift_m, site),
        flow_m3_s=point.flow_m3_s,
        pump_pa=point.pump_pa,
        nozzle_pa=point.nozzle_pa,
        least_pa=site.sprinkler.least_pa,
        suction_loss_m=work.plumbing.suction.loss_pa(point.flow_m3_s) / weight,
        npsh_margin_m=point.npsh_margin_m,
        throw_m=point.throw_m,
        corner_m=_corner_m(site),
        centre_reach=reach_share(_centred(site), point.throw_m),
        centre_x_m=0.5 * site.plot.width_m,
        centre_y_m=0.5 * site.plot.depth_m,
        ring=ring_share(point.nozzle_pa),
        current_a=point.current_a,
        pump_v=point.pump_v,
        used_pump_v=max(0.0, work.used.point.pump_v),
        minimum_v=site.pump.minimum_v,
        split=all(one.runs > 1 for one in site.sets),
        no_limits=_no_limits(work) if limits else "",
        highest_pa=work.full.point.pump_pa,
        rating_pa=site.pump.max_pressure_pa,
        night_ah=load.pump_ah + load.board_ah,
        nights=nights,
        panel_w=site.solar.power_w,
        panel_nights=_panel_nights(work, load) if runs and site.solar.power_w else nights,
        wanted=wanted,
        depth=work.discharge,
        size_wanted_ah=size_for(site.battery, load, work.discharge, wanted)
        if size_battery and runs
        else None,
    )


def _panel_nights(work: WorkingSite, load: NightLoad) -> float:
    """Nights on a charge that the panel adds to on usual days."""
    sun = sun_of(work.site)
    assert sun
    spec = work.site.battery
    return nights_on_a_charge(spec, load, work.discharge, sun.usual_ah, sun.daylight_h)[0]


def _centred(site: Site) -> Site:
    """The site with its stand in the middle of the plot."""
    plot, sprinkler = site.plot, site.sprinkler
    middle = replace(sprinkler, x_m=0.5 * plot.width_m, y_m=0.5 * plot.depth_m)
    return replace(site, sprinkler=middle)


def _days(room_m: float, site: Site) -> float:
    """Until the falling water has used up a height [d]."""
    fall_m = site.water.fall_m_per_day
    return max(0.0, room_m) / fall_m if fall_m > 0.0 else inf


def _no_limits(work: WorkingSite) -> str:
    try:
        limits_of(work.site)
    except NoSafeLimit as refusal:
        return sentence_of(refusal, work.site)
    return ""


def sentence_of(refusal: NoSafeLimit, site: Site) -> str:
    """A refusal as a sentence of its own, without the site's name before it."""
    text = str(refusal).removeprefix(f"{site.name}: ")
    return f"{text[:1].upper()}{text[1:]}."


def _corner_m(site: Site) -> float:
    far_x = max(abs(site.sprinkler.x_m), abs(site.plot.width_m - site.sprinkler.x_m))
    far_y = max(abs(site.sprinkler.y_m), abs(site.plot.depth_m - site.sprinkler.y_m))
    return hypot(far_x, far_y)


def _why_not(work: WorkingSite) -> tuple[str, str]:
    """Why no water comes, and what to do about it."""
    site, suction, shown = work.site, work.plumbing.suction, Shown(work.site.units)
    lift_m = site.water.lift_m
    if suction.npsh_available_m(0.0, lift_m) <= NPSH_BASE_M:
        most_m = suction.npsh_available_m(0.0, 0.0) - NPSH_BASE_M
        most = shown.text(most_m, "length")
        return (
            f"The pump stands {shown.text(lift_m, 'length')} above the water; "
            f"{shown.text(site.water.altitude_m, 'length')} above the sea and with water of "
            f"{shown.text(site.water.temperature_c, 'temperature')} the air pushes water up to "
            f"such a pump over {most} at most, and no pump can draw it higher.",
            f"Set the pump lower than {most} above the lowest water.",
        )
    supply = work.middle
    still_pa = work.plumbing.path().pump_rise_pa(0.0)
    most_pa = work.pump.dead_head_pa(supply.emf_v, supply.ohm + work.wires.relay_ohm)
    return (
        f"Lift and rise ask for {shown.text(still_pa, 'pressure')} before any water moves, and "
        f"with this battery and cable the pump makes {shown.text(most_pa, 'pressure')}.",
        "Lower the nozzle or the pump, shorten the cable, or take a stronger pump.",
    )
