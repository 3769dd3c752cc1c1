"""The pump's curve against the line's: where they cross is where the site works."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.design.limits.working_site import AtWork, WorkingSite

Floats = NDArray[np.float64]
POINTS = 60
_BEYOND = 1.12


@dataclass(frozen=True)
class PumpCurve:
    """Flow of the pump against the pressure that it must add, with the volts of one battery."""

    name: str
    flow_m3_s: Floats
    rise_pa: Floats
    at: tuple[float, float]
    """The operating point: flow and pressure rise."""


@dataclass(frozen=True)
class Curves:
    """All curves of one site, SI units."""

    pumps: tuple[PumpCurve, ...]
    """Full, half used, used; with a flooded inlet."""
    line_flow_m3_s: Floats
    line_rise_pa: Floats
    """What both lines, the heights and the nozzle ask for."""
    suction_limit_m3_s: float
    """Flow at which NPSH available falls to NPSH required: the pump gets no more."""
    rating_pa: float


def curves_of(work: WorkingSite) -> Curves:
    """The curves of a site."""
    path = work.plumbing.path()
    rating_pa = work.site.pump.max_pressure_pa
    batteries = (("full", work.full), ("half used", work.middle), ("used", work.used))
    pumps = tuple(_pump_curve(work, name, at, rating_pa) for name, at in batteries)
    most = _BEYOND * max(float(pump.flow_m3_s.max()) for pump in pumps)
    flows = np.linspace(0.0, max(most, 1e-6), POINTS)
    return Curves(
        pumps=pumps,
        line_flow_m3_s=flows,
        line_rise_pa=np.array([path.pump_rise_pa(float(flow)) for flow in flows]),
        suction_limit_m3_s=work.plumbing.suction.flow_limit_m3_s(path.lift_m),
        rating_pa=rating_pa,
    )


def _pump_curve(work: WorkingSite, name: str, at: AtWork, rating_pa: float) -> PumpCurve:
    ohm = at.ohm + work.wires.relay_ohm
    rises = np.linspace(0.0, rating_pa * _BEYOND, POINTS)
    flows = np.array([work.pump.operate(at.emf_v, ohm, float(rise))[2] for rise in rises])
    kept = flows >= 0.0
    point = at.point
    rise_pa = point.pump_pa - point.inlet_pa
    return PumpCurve(name, flows[kept], rises[kept], (point.flow_m3_s, rise_pa))
