"""The plant's equations for LSODA, and a pump hour by either (ODEPACK, Hindmarsh 1983)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from rillsim.circuit import AT_REST
from rillsim.plant import TICK_S, Plant
from rillsim.rig import Rig
from rillsim.site import Site
from rillsim.supply.chemistry import CHEMISTRY

HOUR_S = 3600
SECOND_TICKS = round(1 / TICK_S)
Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Course:
    """From the closing of the relay on: pressure second by second, and the sums at the end."""

    pressure_pa: Vector
    charge_ah: float
    """Taken by pump and board."""
    sprinkled_m3: float


class Equations:
    """Hose pressure, line flow, two wells and RC pair as one system of ODEs."""

    def __init__(self, site: Site) -> None:
        self.rig = rig = Rig(site)
        rig.circuit.set_suction(site.water.lift_m, 0.0, 0.0)
        rig.circuit.closed = True
        rig.circuit.board_a = site.board.awake_a
        rig.circuit.wiring_ohm = rig.wiring_ohm
        self.battery = rig.sound_battery
        self.chemistry = CHEMISTRY[site.battery.chemistry]
        self.ohm_full = self.battery.resistance_ohm
        self.near_point = AT_REST

    def slopes(self, _t: float, y: Vector) -> list[float]:
        pressure, flow, taken_ah, near_ah, polarisation_v, _sprinkled = y
        rig, kind = self.rig, self.chemistry
        self.battery.restore((taken_ah, near_ah, polarisation_v, 0.0, 0.0))
        rig.circuit.battery_ohm = self.battery.resistance_ohm
        pump = rig.circuit.point(self.battery.emf_v, pressure, self.near_point)
        self.near_point = pump
        current = pump.current_a + rig.circuit.board_a
        drawn = current + self.battery.self_discharge_a
        line = rig.line
        push = pressure - line.static_pa - line.friction_pa(flow) - line.nozzle_pa(flow)
        valve = kind.rate_per_h * (kind.share * (taken_ah - near_ah) - (1 - kind.share) * near_ah)
        settled_v = kind.polarisation * self.ohm_full * current
        return [
            (pump.flow_m3_s - flow) / line.compliance_m3_pa,
            push / line.inertia_kg_m4,
            drawn / 3600.0,
            (drawn + valve) / 3600.0,
            (settled_v - polarisation_v) / kind.polarisation_s,
            flow,
        ]


def lsoda_course(site: Site, seconds: int = HOUR_S, rtol: float = 1e-8) -> Course:
    """What LSODA makes of the equations."""
    equations = Equations(site)
    exact = solve_ivp(
        equations.slopes,
        (0.0, seconds),
        [equations.rig.line.static_pa, 0.0, 0.0, 0.0, 0.0, 0.0],
        method="LSODA",
        rtol=rtol,
        atol=np.array([1e6, 1e-2, 1e-1, 1e-1, 1e-1, 1e-1]) * rtol,
        t_eval=np.arange(0, seconds + 1),
    )
    assert exact.success, exact.message
    own_ah = equations.battery.self_discharge_a * seconds / 3600.0
    return Course(exact.y[0], exact.y[2][-1] - own_ah, exact.y[5][-1])


def plant_course(site: Site, seconds: int = HOUR_S) -> Course:
    """What the plant makes of them."""
    plant = Plant(site)
    plant.read(0)
    plant.drive(0, 1)
    pressure = []
    for second in range(seconds + 1):
        plant.read(SECOND_TICKS * second)
        truth = plant.truth(SECOND_TICKS * second)
        pressure.append(truth.pressure_pa)
    charge_ah = (truth.pump_as + truth.board_as) / 3600.0
    return Course(np.array(pressure), charge_ah, truth.sprinkled_m3)
