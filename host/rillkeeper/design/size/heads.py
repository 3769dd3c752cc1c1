"""Where the head goes, from the water to the spray: a staircase in metres of water."""

from dataclasses import dataclass

from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.water.fittings import foot_valve_k, minor_loss_pa
from rillsim.water.properties import GRAVITY_M_S2


@dataclass(frozen=True)
class HeadStep:
    """One step on the way of the water."""

    name: str
    gain_m: float
    """Head that the water gains here; below zero it loses it."""
    after_m: float
    """Pressure head after it, gauge: what a gauge would show there."""


@dataclass(frozen=True)
class Heads:
    """All steps at one flow; they begin and end in open air, at no pressure."""

    flow_m3_s: float
    steps: tuple[HeadStep, ...]

    def gain_m(self, name: str) -> float:
        """Gain of one step [m]."""
        return next(step.gain_m for step in self.steps if step.name == name)


LIFT, STRAINER, FOOT_VALVE = "lift to the pump", "strainer", "foot valve"
SUCTION, SUCTION_FITTINGS, PUMP = "suction line", "suction fittings", "pump"
HOSE, HOSE_FITTINGS, RISE, NOZZLE = "hose", "hose fittings", "rise to the nozzle", "nozzle"


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
    steps, after_m = [], 0.0
    for name, gain_pa in gains_pa.items():
        after_m += gain_pa / weight
        steps.append(HeadStep(name, gain_pa / weight, after_m))
    return Heads(flow, tuple(steps))
