"""Two staircases: head from the water to the spray, and volts from the battery to the motor.

Both are shown loaded beside idle. The second teaches the trap of the trade: a meter on an idle
cable reads the full voltage, however thin the cable is, because what carries no current loses
nothing.
"""

from dataclasses import dataclass

from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.site import Site
from rillsim.water.fittings import foot_valve_k, minor_loss_pa
from rillsim.water.properties import GRAVITY_M_S2

LIFT, STRAINER, FOOT_VALVE = "lift to the pump", "strainer", "foot valve"
SUCTION, SUCTION_FITTINGS, PUMP = "suction line", "suction fittings", "pump"
HOSE, HOSE_FITTINGS, RISE, NOZZLE = "hose", "hose fittings", "rise to the nozzle", "nozzle"
BATTERY = "battery inside"
_WAY = ("clamps", "fuse", "cable out", "relay contact", "cable back")


@dataclass(frozen=True)
class HeadStep:
    """One step on the way of the water."""

    name: str
    gain_m: float
    """Head that the water gains here; below zero it loses it."""
    after_m: float
    """Pressure head after it, gauge: what a gauge would show there."""
    still_m: float
    """The same with the pump off and the lines full, as far as valves keep them so."""


@dataclass(frozen=True)
class Heads:
    """All steps at one flow; they begin and end in open air, at no pressure."""

    flow_m3_s: float
    steps: tuple[HeadStep, ...]

    def gain_m(self, name: str) -> float:
        """Gain of one step [m]."""
        return self._step(name).gain_m

    def still_m(self, name: str) -> float:
        """Pressure head after one step with the pump off [m]."""
        return self._step(name).still_m

    def _step(self, name: str) -> HeadStep:
        return next(step for step in self.steps if step.name == name)


def heads_of(work: WorkingSite) -> Heads:
    """The staircase with a battery half used.

    The line's friction is the whole loss less that of its fittings, so that the steps close
    exactly on the pressures of the operating point.
    """
    site, plumbing, point = work.site, work.plumbing, work.middle.point
    flow, density = point.flow_m3_s, plumbing.water.density_kg_m3

    def minor(k: float, bore_m: float) -> float:
        return minor_loss_pa(k, flow, bore_m, density)

    suction_m = site.suction.bore_m
    strainer = minor(site.suction.strainer_k, suction_m)
    foot_valve = minor(foot_valve_k(site.suction.foot_valve, suction_m), suction_m)
    bends = minor(site.suction.fittings_k, suction_m)
    couplings = minor(site.line.fittings_k, site.line.bore_m)
    weight = density * GRAVITY_M_S2
    gains_pa = {
        LIFT: -weight * site.water.lift_m,
        STRAINER: -strainer,
        FOOT_VALVE: -foot_valve,
        SUCTION: -(plumbing.suction.loss_pa(flow) - strainer - foot_valve - bends),
        SUCTION_FITTINGS: -bends,
        PUMP: point.pump_pa - point.inlet_pa,
        HOSE: -(plumbing.line.loss_pa(flow) - couplings),
        HOSE_FITTINGS: -couplings,
        RISE: -weight * site.line.rise_m,
        NOZZLE: -point.nozzle_pa,
    }
    held_m = _held_m(site)
    steps, after_m, still_m = [], 0.0, 0.0
    for name, gain_pa in gains_pa.items():
        after_m += gain_pa / weight
        still_m += held_m.get(name, 0.0)
        steps.append(HeadStep(name, gain_pa / weight, after_m, still_m))
    return Heads(flow, tuple(steps))


def _held_m(site: Site) -> dict[str, float]:
    """Head that standing water gains on its way.

    The pump's valves hold what stands in the hose, the foot valve what hangs in the suction
    line: without one that line drains.
    """
    lift_m, rise_m = site.water.lift_m, max(0.0, site.line.rise_m)
    if site.suction.foot_valve == "none":
        lift_m = min(lift_m, 0.0)
    return {LIFT: -lift_m, PUMP: lift_m + rise_m, RISE: -rise_m}


@dataclass(frozen=True)
class VoltStep:
    """One step from the battery to the motor."""

    name: str
    drop_v: float
    """Lost here under load."""
    loaded_v: float
    """Left after it under load."""
    idle_v: float
    """Left after it with the pump off."""


@dataclass(frozen=True)
class Volts:
    """All steps at one current."""

    current_a: float
    rest_v: float
    """The battery after a long rest."""
    steps: tuple[VoltStep, ...]

    @property
    def posts_v(self) -> float:
        """At the battery's posts under load [V]."""
        return self.steps[0].loaded_v

    @property
    def motor_v(self) -> float:
        """At the motor under load [V]."""
        return self.steps[-1].loaded_v


def volts_of(work: WorkingSite) -> Volts:
    """The staircase with a battery half used, five seconds after the start."""
    point = work.middle.point
    rest_v = work.battery(work.charge).rest_v
    drops_v = {BATTERY: rest_v - point.battery_v}
    lost_v = work.wires.drops_v(point.current_a)
    drops_v.update({name: lost_v[name] for name in _WAY})
    steps, loaded_v = [], rest_v
    for name, drop_v in drops_v.items():
        loaded_v -= drop_v
        steps.append(VoltStep(name, drop_v, loaded_v, rest_v))
    return Volts(point.current_a, rest_v, tuple(steps))
