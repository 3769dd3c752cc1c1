"""Where a pump that is known by its head curve alone meets a system curve."""

from collections.abc import Callable
from typing import NamedTuple

from scipy.optimize import brentq

from rillsim.water.operating_point import FlowPath
from rillsim.water.properties import GRAVITY_M_S2


class FlowPoint(NamedTuple):
    """Flow, and gauge pressures."""

    flow_m3_s: float
    inlet_pa: float
    outlet_pa: float
    nozzle_pa: float


def head_curve_point(
    pump_head_m: Callable[[float], float], path: FlowPath, flow_max_m3_s: float
) -> FlowPoint:
    """The flow at which rho g H(Q) is the system's pressure; none where it cannot lift so high."""
    weight = path.density_kg_m3 * GRAVITY_M_S2

    def excess(flow_m3_s: float) -> float:
        return weight * pump_head_m(flow_m3_s) - path.pump_rise_pa(flow_m3_s)

    flow = brentq(excess, 0.0, flow_max_m3_s, xtol=1e-12) if excess(0.0) > 0.0 else 0.0
    return FlowPoint(
        flow, path.inlet_pa(flow), path.outlet_pa(flow), path.nozzle_pressure_pa(flow)
    )
