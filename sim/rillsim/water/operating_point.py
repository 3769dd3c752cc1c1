"""Steady operating point: where battery, cable, pump, both lines and sprinkler agree."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from rillsim.root import root
from rillsim.site import CableSpec, Site
from rillsim.supply.battery import Battery
from rillsim.supply.cable import circuit
from rillsim.water.pipe import LineLoss
from rillsim.water.properties import GRAVITY_M_S2, Water
from rillsim.water.sprinkler import Sprinkler
from rillsim.water.suction import Suction, fill_ratio

PressureOfFlow = Callable[[float], float]
"""Pressure [Pa] as a function of flow [m3/s], rising."""

_FLOW_TOLERANCE_M3_S = 1e-12
_FILL_TOLERANCE = 1e-12


class ElectricPump(Protocol):
    """The pump as the operating point sees it: a closed form of supply and pressure."""

    def operate(
        self, supply_v: float, series_ohm: float, pressure_rise_pa: float
    ) -> tuple[float, float, float]:
        """Speed [rad/s], current [A] and flow [m3/s]."""


@dataclass(frozen=True)
class Supply:
    """Battery and wiring as one source: open voltage behind two resistances."""

    emf_v: float
    """Open circuit voltage of the battery."""
    battery_ohm: float
    wiring_ohm: float
    """Cable there and back, clamps, fuse and relay contact."""

    @classmethod
    def of(cls, battery: Battery, cable: CableSpec) -> "Supply":
        """What a battery in its present state and a cable record make together."""
        return cls(battery.emf_v, battery.resistance_ohm, circuit(cable).total_ohm)

    def battery_v(self, current_a: float) -> float:
        """Voltage at the battery's terminals under a current [V]."""
        return self.emf_v - current_a * self.battery_ohm

    def pump_v(self, current_a: float) -> float:
        """Voltage at the pump; without current the same as at the battery [V]."""
        return self.battery_v(current_a) - current_a * self.wiring_ohm


@dataclass(frozen=True)
class FlowPath:
    """The way of the water: source, pump ``lift_m`` above it, nozzle ``rise_m`` above the pump."""

    lift_m: float
    rise_m: float
    suction_loss_pa: PressureOfFlow
    line_loss_pa: PressureOfFlow
    nozzle_pressure_pa: PressureOfFlow
    density_kg_m3: float = 998.2

    def inlet_pa(self, flow_m3_s: float) -> float:
        """Gauge pressure at the pump's inlet [Pa]."""
        static = self.density_kg_m3 * GRAVITY_M_S2 * self.lift_m
        return -static - self.suction_loss_pa(flow_m3_s)

    def outlet_pa(self, flow_m3_s: float) -> float:
        """Gauge pressure at the pump's outlet [Pa]."""
        static = self.density_kg_m3 * GRAVITY_M_S2 * self.rise_m
        return static + self.line_loss_pa(flow_m3_s) + self.nozzle_pressure_pa(flow_m3_s)

    def pump_rise_pa(self, flow_m3_s: float) -> float:
        """Pressure that the pump must add at a flow: the system curve [Pa]."""
        return self.outlet_pa(flow_m3_s) - self.inlet_pa(flow_m3_s)


@dataclass(frozen=True)
class OperatingPoint:
    """Everything steady about a running site; pressures are gauge."""

    flow_m3_s: float
    inlet_pa: float
    """At the pump's inlet: below zero when it lifts."""
    pump_pa: float
    """At the pump's outlet."""
    nozzle_pa: float
    npsh_available_m: float
    npsh_required_m: float
    npsh_margin_m: float
    """Available less required at the flow the pump asks for; below zero the suction limits it."""
    fill: float
    """Share of the displacement that water fills."""
    battery_v: float
    """At the battery's terminals under load."""
    pump_v: float
    current_a: float
    speed_rad_s: float
    throw_m: float

    @property
    def pump_power_w(self) -> float:
        """Electric power at the pump [W]."""
        return self.pump_v * self.current_a


class Plumbing:
    """Suction line, delivery line and sprinkler of one site, ready to be solved many times."""

    def __init__(self, site: Site) -> None:
        self.water = Water.at(site.water.temperature_c)
        self.lift_m = site.water.lift_m
        self.rise_m = site.line.rise_m
        self.suction = Suction(
            site.suction, self.water, site.pump.open_flow_m3_s, site.water.altitude_m
        )
        self.line = LineLoss(
            site.line.length_m,
            site.line.bore_m,
            site.line.roughness_m,
            site.line.fittings_k,
            self.water.density_kg_m3,
            self.water.viscosity_pa_s,
        )
        self.sprinkler = Sprinkler(site.sprinkler, self.water.density_kg_m3)

    def path(self, lift_m: float | None = None, strainer_block: float = 0.0) -> FlowPath:
        """The way of the water at a lift, and with a share of the strainer blocked."""
        return FlowPath(
            lift_m=self.lift_m if lift_m is None else lift_m,
            rise_m=self.rise_m,
            suction_loss_pa=lambda flow: self.suction.loss_pa(flow, strainer_block),
            line_loss_pa=self.line.loss_pa,
            nozzle_pressure_pa=self.sprinkler.pressure_pa,
            density_kg_m3=self.water.density_kg_m3,
        )


def operating_point(
    plumbing: Plumbing,
    pump: ElectricPump,
    supply: Supply,
    lift_m: float | None = None,
    strainer_block: float = 0.0,
) -> OperatingPoint:
    r"""Steady flow, pressures, voltages and throw of a running site.

    .. math:: Q = \phi \, Q_p(U, R, \phi \, \Delta p(Q))

    Parameters
    ----------
    plumbing : Plumbing
        Lines and sprinkler of the site
    pump : ElectricPump
        Fitted pump
    supply : Supply
        Battery and wiring
    lift_m : float, optional
        Height of the pump above the water, where it is not the site's own [m]
    strainer_block : float, optional
        Share of the strainer that is blocked [-]

    Returns
    -------
    point : OperatingPoint
        The one flow at which pump and system agree; 0 when the pump cannot lift at all

    Notes
    -----
    Phi is the fill of the displacement: 1 with enough NPSH. The pump's flow falls and the
    system's pressure rises with flow, so there is one answer.
    """
    path = plumbing.path(lift_m, strainer_block)
    limit = plumbing.suction.flow_limit_m3_s(path.lift_m, strainer_block)
    series = supply.battery_ohm + supply.wiring_ohm

    def filled(flow_m3_s: float) -> tuple[float, float, float, float]:
        return _filled_pump(pump, supply.emf_v, series, path.pump_rise_pa(flow_m3_s), limit)

    def excess(flow_m3_s: float) -> float:
        fill, _, _, displaced = filled(flow_m3_s)
        return fill * displaced - flow_m3_s

    flow = _falling_root(excess, 0.0, max(excess(0.0), 0.0))
    fill, speed, current, displaced = filled(flow)
    suction, asked = plumbing.suction, max(displaced, 0.0)
    nozzle = path.nozzle_pressure_pa(flow)
    return OperatingPoint(
        flow_m3_s=flow,
        inlet_pa=path.inlet_pa(flow),
        pump_pa=path.outlet_pa(flow),
        nozzle_pa=nozzle,
        npsh_available_m=suction.npsh_available_m(flow, path.lift_m, strainer_block),
        npsh_required_m=suction.npsh_required_m(flow),
        npsh_margin_m=suction.npsh_available_m(asked, path.lift_m, strainer_block)
        - suction.npsh_required_m(asked),
        fill=fill,
        battery_v=supply.battery_v(current),
        pump_v=supply.pump_v(current),
        current_a=current,
        speed_rad_s=speed,
        throw_m=plumbing.sprinkler.throw_m(nozzle),
    )


def _filled_pump(
    pump: ElectricPump, emf_v: float, series_ohm: float, rise_pa: float, limit_m3_s: float
) -> tuple[float, float, float, float]:
    """Fill, speed, current and displaced flow of a pump whose suction may not keep up.

    The fill unloads the motor, which then runs faster and fills less: the two are repeated until
    they agree. The motor's flow changes far less than its load, so this closes in fast.
    """
    fill = 1.0
    speed, current, displaced = pump.operate(emf_v, series_ohm, rise_pa)
    for _ in range(60):
        closer = fill_ratio(displaced, limit_m3_s)
        if abs(closer - fill) < _FILL_TOLERANCE:
            break
        fill = closer
        speed, current, displaced = pump.operate(emf_v, series_ohm, fill * rise_pa)
    return fill, speed, current, displaced


def _falling_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Zero of a falling function; where it has none, the end of the interval nearest to one."""
    if function(low) <= 0.0:
        return low
    if function(high) >= 0.0:
        return high
    return root(function, low, high, tolerance=_FLOW_TOLERANCE_M3_S)
