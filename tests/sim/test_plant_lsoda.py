"""One pump hour against scipy's LSODA on the same equations (ODEPACK, Hindmarsh 1983)."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from rillsim.chemistry import CHEMISTRY
from rillsim.circuit import AT_REST
from rillsim.plant import Plant
from rillsim.rig import Rig
from rillsim.site import Site

HOUR_S = 3600
Vector = NDArray[np.float64]


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
        self.battery.restore((taken_ah, near_ah, polarisation_v, 0.0))
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


@pytest.mark.parametrize("nozzle_bore_m", [0.0045, 0.0035])
def test_a_pump_hour_agrees_with_lsoda(nozzle_bore_m: float) -> None:
    site = replace(Site(), sprinkler=replace(Site().sprinkler, nozzle_bore_m=nozzle_bore_m))
    equations = Equations(site)
    start = [equations.rig.line.static_pa, 0.0, 0.0, 0.0, 0.0, 0.0]
    exact = solve_ivp(
        equations.slopes,
        (0.0, HOUR_S),
        start,
        method="LSODA",
        rtol=1e-8,
        atol=[1e-2, 1e-10, 1e-9, 1e-9, 1e-9, 1e-9],
        t_eval=np.arange(0, HOUR_S + 1),
    )
    assert exact.success, exact.message

    plant = Plant(site)
    plant.read(0)
    plant.drive(0, 1)
    taken = []
    pressure = []
    for second in range(HOUR_S + 1):
        plant.read(10 * second)
        truth = plant.truth(10 * second)
        pressure.append(truth.pressure_pa)
        taken.append((truth.pump_as + truth.board_as) / 3600.0)
    off = np.abs(np.array(pressure) / exact.y[0] - 1.0)
    assert off[10:].max() < 0.005
    assert off[1:].max() < 0.03
    by_board = exact.y[2][-1] - equations.battery.self_discharge_a
    assert taken[-1] == pytest.approx(by_board, rel=1e-3)
    assert plant.truth(36000).sprinkled_m3 == pytest.approx(exact.y[5][-1], rel=1e-3)
