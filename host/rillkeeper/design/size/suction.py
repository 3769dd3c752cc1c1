"""The suction side: how long a line of each bore may be, how high the pump may stand."""

from dataclasses import dataclass, replace
from math import isfinite

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.parts import SUCTION_BORES_M, SUCTION_BORES_US_M
from rillsim.water.pipe import LineLoss
from rillsim.water.properties import GRAVITY_M_S2, Water
from rillsim.water.suction import Suction

LONGEST_M = 50.0
_SAME_M = 0.1e-3
ALTITUDES_M = (0.0, 500.0, 1000.0, 2000.0)
TEMPERATURES_C = (5.0, 15.0, 25.0)


@dataclass(frozen=True)
class BoreRow:
    """One bore in place of the fitted one, all else the same."""

    bore_m: float
    fitted: bool
    loss_m: float
    """Head lost between the water and the pump at the site's length."""
    margin_m: float
    """NPSH available less required; below zero the pump starves."""
    longest_m: float
    """Longest line without starving; 0 where even a short one starves, LONGEST_M for more."""
    prime_s: float | None
    """From a dry line to water at the nozzle; none where the pump cannot prime it."""


@dataclass(frozen=True)
class LiftRow:
    """Highest lift at which the fitted line does not starve the pump, at one altitude."""

    altitude_m: float
    lift_m: tuple[float, ...]
    """For each of TEMPERATURES_C; 0 where it starves even with the pump at the water."""


@dataclass(frozen=True)
class SuctionSide:
    """Both tables, at the flow that the pump asks for."""

    flow_m3_s: float
    lift_m: float
    dry_lift_m: float
    bores: tuple[BoreRow, ...]
    lifts: tuple[LiftRow, ...]


def suction_of(work: WorkingSite) -> SuctionSide:
    """The suction side of a site; without any flow, at the pump's open flow."""
    point, site = work.middle.point, work.site
    flow = point.flow_m3_s / point.fill if point.flow_m3_s > 0.0 else site.pump.open_flow_m3_s
    fitted_m = site.suction.bore_m
    sold = SUCTION_BORES_US_M if site.units == "us" else SUCTION_BORES_M
    others = [bore_m for bore_m in sold if abs(bore_m - fitted_m) > _SAME_M]
    bores = sorted([*others, fitted_m])
    return SuctionSide(
        flow_m3_s=flow,
        lift_m=site.water.lift_m,
        dry_lift_m=site.pump.dry_lift_m,
        bores=tuple(_bore_row(work, bore_m, flow) for bore_m in bores),
        lifts=tuple(_lift_row(work, altitude_m, flow) for altitude_m in ALTITUDES_M),
    )


def longest_line_m(work: WorkingSite, bore_m: float, flow_m3_s: float) -> float:
    """Longest suction line of a bore at which NPSH available still meets what is required [m]."""
    site = work.site
    water = work.plumbing.water
    spec = replace(site.suction, bore_m=bore_m)
    suction = Suction(spec, water, site.pump.open_flow_m3_s, site.water.altitude_m)
    margin_m = _margin_m(suction, flow_m3_s, site.water.lift_m)
    metre = LineLoss(1.0, bore_m, spec.roughness_m, 0.0, water.density_kg_m3, water.viscosity_pa_s)
    loss_m = metre.loss_pa(flow_m3_s) / (water.density_kg_m3 * GRAVITY_M_S2)
    longest_m = min(spec.length_m + margin_m / loss_m, LONGEST_M)
    # A line that does not reach down to the water is none.
    return longest_m if longest_m >= abs(site.water.lift_m) else 0.0


def _bore_row(work: WorkingSite, bore_m: float, flow: float) -> BoreRow:
    site = work.site
    other = WorkingSite(replace(site, suction=replace(site.suction, bore_m=bore_m)))
    suction = other.plumbing.suction
    weight = work.plumbing.water.density_kg_m3 * GRAVITY_M_S2
    prime_s = other.prime_s() if other.middle.point.flow_m3_s > 0.0 else float("inf")
    return BoreRow(
        bore_m=bore_m,
        fitted=bore_m == site.suction.bore_m,
        loss_m=suction.loss_pa(flow) / weight,
        margin_m=_margin_m(suction, flow, site.water.lift_m),
        longest_m=longest_line_m(work, bore_m, flow),
        prime_s=prime_s if isfinite(prime_s) else None,
    )


def _lift_row(work: WorkingSite, altitude_m: float, flow: float) -> LiftRow:
    site = work.site
    lifts = []
    for temperature_c in TEMPERATURES_C:
        water = Water.at(temperature_c)
        suction = Suction(site.suction, water, site.pump.open_flow_m3_s, altitude_m)
        lifts.append(max(0.0, _margin_m(suction, flow, 0.0)))
    return LiftRow(altitude_m, tuple(lifts))


def _margin_m(suction: Suction, flow_m3_s: float, lift_m: float) -> float:
    return suction.npsh_available_m(flow_m3_s, lift_m) - suction.npsh_required_m(flow_m3_s)
