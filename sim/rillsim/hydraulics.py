"""The delivery line in motion: hose pressure and line flow, one linearly implicit step at a time.

The hose stores water by stretching, its water has inertia, and pump, burst and nozzle are
algebraic laws of these two states::

    C dp/dt = Q_pump(p) - q - Q_burst(p)
    M dq/dt = p - rho g z - loss(q) - p_nozzle(q)

The hose stays full between runs: after a stop the nozzle lets the pressure fall to the static
head, and the little water that swings back out of the riser is missing at the next start.

References
----------
.. [1] Wylie, E. B. and Streeter, V. L. (1993), Fluid Transients in Systems, lumped inertia and
   capacitance.
.. [2] Verwer, J. G., Spee, E. J., Blom, J. G. and Hundsdorfer, W. (1999), A second-order
   Rosenbrock method applied to photochemical dispersion problems, SIAM J. Sci. Comput. 20(4),
   1456-1480: ROS2, L-stable for gamma = 1 - 1/sqrt(2).
"""

from math import sqrt

from rillsim.circuit import PumpCircuit, PumpPoint
from rillsim.site import LineSpec, SprinklerSpec
from rillsim.water.pipe import LineLoss, bore_area_m2, hose_compliance_m3_pa
from rillsim.water.properties import GRAVITY_M_S2, Water
from rillsim.water.sprinkler import Sprinkler

GAMMA = 1.0 - 1.0 / sqrt(2.0)

STIFF = 4.0
"""Where gamma h times the brake of the flow passes this, ROS2 throws the flow of a square law
beyond rest, and beyond about 15 farther than it was: a part of a tick is then stepped damped."""

SHUT = 1e-3
"""An outlet open by less than this share is shut: nothing flows and the water is at rest."""

BURST_COEFFICIENT = 0.6
"""Discharge coefficient of a torn hole, as of a sharp one (Crane TP-410)."""

_SMOOTH_PA = 50.0
"""Below about this pressure a burst leaks in proportion: a root has no slope at nothing."""

LineStep = tuple[float, float, float, float, float, float, float, float, PumpPoint]
"""Pressure and flow at the end; litres through pump, line and burst in m3; relative error;
pressure and flow of the second stage; the pump at the second stage."""


class DeliveryLine:
    """Hose and sprinkler between the pump's outlet and the air."""

    def __init__(self, line: LineSpec, sprinkler: SprinklerSpec, water: Water) -> None:
        self.water = water
        self.sprinkler = Sprinkler(sprinkler, water.density_kg_m3)
        self.compliance_m3_pa = hose_compliance_m3_pa(
            line.length_m, water.bulk_modulus_pa, line.bore_m, line.wall_m, line.modulus_pa
        )
        self.loss = LineLoss(
            line.length_m,
            line.bore_m,
            line.roughness_m,
            line.fittings_k,
            water.density_kg_m3,
            water.viscosity_pa_s,
        )
        self.inertia_kg_m4 = self.loss.inertia_kg_m4
        self.static_pa = water.density_kg_m3 * GRAVITY_M_S2 * line.rise_m
        self._brake_pa_s_m3 = 2.0 * sqrt(self.inertia_kg_m4 / self.compliance_m3_pa)
        """Brakes water that swings back: the soft wall damps the swing within one period."""
        self._bore_area_m2 = bore_area_m2(line.bore_m)
        self._nozzle = self.sprinkler.pressure_pa(1.0)
        self.nozzle_pa_s2_m6 = self._nozzle
        self.kink_pa_s2_m6 = 0.0
        self.burst_m3_s_root_pa = 0.0
        self.shut = False

    def set_outlet(
        self, open_share: float, nozzle_area: float, kink_k: float, burst_m2: float
    ) -> None:
        """Set what is wrong with the line.

        ``open_share`` of 1 is an open outlet; ``nozzle_area`` is the area of the nozzles over
        the healthy one; ``kink_k`` is a loss in velocity heads of the hose; ``burst_m2`` is a
        hole near the pump.
        """
        area = open_share * nozzle_area
        self.shut = area < SHUT
        self.nozzle_pa_s2_m6 = self._nozzle / (max(area, SHUT) ** 2)
        density = self.water.density_kg_m3
        self.kink_pa_s2_m6 = 0.5 * kink_k * density / self._bore_area_m2**2
        self.burst_m3_s_root_pa = BURST_COEFFICIENT * burst_m2 * sqrt(2.0 / density)

    def nozzle_pa(self, flow_m3_s: float) -> float:
        """Pressure before the nozzle at a line flow."""
        return self.nozzle_pa_s2_m6 * flow_m3_s * flow_m3_s if flow_m3_s > 0.0 else 0.0

    def burst_m3_s(self, pressure_pa: float) -> float:
        """Flow out of the hole in the hose."""
        if pressure_pa <= 0.0:
            return 0.0
        return self.burst_m3_s_root_pa * pressure_pa / sqrt(pressure_pa + _SMOOTH_PA)

    def _burst_slope(self, pressure_pa: float) -> float:
        if pressure_pa <= 0.0:
            return 0.0
        smooth = pressure_pa + _SMOOTH_PA
        return self.burst_m3_s_root_pa * (1.0 - 0.5 * pressure_pa / smooth) / sqrt(smooth)

    def push_pa(self, pressure_pa: float, flow_m3_s: float) -> float:
        """Pressure left to accelerate the water in the line."""
        root = self.nozzle_pa_s2_m6 * flow_m3_s * abs(flow_m3_s)
        return pressure_pa - self.static_pa - self.friction_pa(flow_m3_s) - root

    def friction_pa(self, flow_m3_s: float) -> float:
        """Pressure lost on the way to the nozzle, odd in the flow but for the brake."""
        loss = self.loss.loss_pa(flow_m3_s)
        if self.kink_pa_s2_m6:
            loss += self.kink_pa_s2_m6 * flow_m3_s * abs(flow_m3_s)
        if flow_m3_s < 0.0:
            loss += self._brake_pa_s_m3 * flow_m3_s
        return loss

    def step(
        self,
        circuit: PumpCircuit,
        emf_v: float,
        start: PumpPoint,
        pressure_pa: float,
        flow_m3_s: float,
        dt_s: float,
        damped: bool = False,
    ) -> LineStep:
        r"""One ROS2 step of pressure and flow, with ``start`` the pump at the start.

        .. math:: (I - \gamma h J) k_1 = f(y), \quad
            (I - \gamma h J) k_2 = f(y + h k_1) - 2 k_1, \quad
            y' = y + h (3 k_1 + k_2) / 2

        The volumes are quadratures of the same two stages, so that what the hose stores is what
        came in less what went out, to the last digit. ``damped`` steps of a stiff line, a tap all
        but shut at once, are those of the linearly implicit Euler method: they halve the flow.
        """
        # A burst hose would run empty backwards; the model keeps it full up to the nozzle.
        still = self.burst_m3_s_root_pa and flow_m3_s <= 0.0 and pressure_pa <= self.static_pa
        if self.shut or still:
            return self._step_shut(circuit, emf_v, start, pressure_pa, dt_s)
        inverse_c = 1.0 / self.compliance_m3_pa
        inverse_m = 1.0 / self.inertia_kg_m4
        root = self.nozzle_pa_s2_m6 + self.kink_pa_s2_m6
        resist = self.loss.slope(flow_m3_s) + 2.0 * root * abs(flow_m3_s)
        if flow_m3_s < 0.0:
            resist += self._brake_pa_s_m3
        burst_slope = self._burst_slope(pressure_pa) if self.burst_m3_s_root_pa else 0.0
        euler = damped and GAMMA * dt_s * resist * inverse_m > STIFF
        gh = dt_s if euler else GAMMA * dt_s
        a11 = 1.0 - gh * (start.slope_m3_s_pa - burst_slope) * inverse_c
        a12 = gh * inverse_c
        a21 = -gh * inverse_m
        a22 = 1.0 + gh * resist * inverse_m
        scale = 1.0 / (a11 * a22 - a12 * a21)

        burst1 = self.burst_m3_s(pressure_pa) if self.burst_m3_s_root_pa else 0.0
        r1 = (start.flow_m3_s - flow_m3_s - burst1) * inverse_c
        r2 = self.push_pa(pressure_pa, flow_m3_s) * inverse_m
        kp1 = (a22 * r1 - a12 * r2) * scale
        kq1 = (a11 * r2 - a21 * r1) * scale

        pressure2 = pressure_pa + dt_s * kp1
        flow2 = flow_m3_s + dt_s * kq1
        pump2 = circuit.point(emf_v, pressure2, start)
        if euler:
            pumped = dt_s * (start.flow_m3_s + start.slope_m3_s_pa * dt_s * kp1)
            lost = dt_s * (burst1 + burst_slope * dt_s * kp1)
            return pressure2, flow2, pumped, dt_s * flow2, lost, 1.0, pressure2, flow2, pump2
        burst2 = self.burst_m3_s(pressure2) if self.burst_m3_s_root_pa else 0.0
        r1 = (pump2.flow_m3_s - flow2 - burst2) * inverse_c - 2.0 * kp1
        r2 = self.push_pa(pressure2, flow2) * inverse_m - 2.0 * kq1
        kp2 = (a22 * r1 - a12 * r2) * scale
        kq2 = (a11 * r2 - a21 * r1) * scale

        half = 0.5 * dt_s
        bend_p = GAMMA * dt_s * (kp1 + kp2)
        bend_q = GAMMA * dt_s * (kq1 + kq2)
        pumped = half * (start.flow_m3_s + pump2.flow_m3_s + start.slope_m3_s_pa * bend_p)
        passed = half * (flow_m3_s + flow2 + bend_q)
        lost = half * (burst1 + burst2 + burst_slope * bend_p)
        end_p = pressure_pa + (pumped - passed - lost) * inverse_c
        end_q = flow_m3_s + half * (3.0 * kq1 + kq2)
        error = half * (abs(kp1 + kp2) / (abs(end_p) + 2e3) + abs(kq1 + kq2) / (abs(end_q) + 1e-5))
        if self.burst_m3_s_root_pa and end_q < 0.0:
            end_q = 0.0
        return end_p, end_q, pumped, passed, lost, error, pressure2, flow2, pump2

    def _step_shut(
        self,
        circuit: PumpCircuit,
        emf_v: float,
        start: PumpPoint,
        pressure_pa: float,
        dt_s: float,
    ) -> LineStep:
        """The same with nothing flowing out of the line: pressure alone."""
        inverse_c = 1.0 / self.compliance_m3_pa
        burst_slope = self._burst_slope(pressure_pa)
        a11 = 1.0 - GAMMA * dt_s * (start.slope_m3_s_pa - burst_slope) * inverse_c
        burst1 = self.burst_m3_s(pressure_pa)
        kp1 = (start.flow_m3_s - burst1) * inverse_c / a11
        pressure2 = pressure_pa + dt_s * kp1
        pump2 = circuit.point(emf_v, pressure2, start)
        burst2 = self.burst_m3_s(pressure2)
        kp2 = ((pump2.flow_m3_s - burst2) * inverse_c - 2.0 * kp1) / a11
        half = 0.5 * dt_s
        bend_p = GAMMA * dt_s * (kp1 + kp2)
        pumped = half * (start.flow_m3_s + pump2.flow_m3_s + start.slope_m3_s_pa * bend_p)
        lost = half * (burst1 + burst2 + burst_slope * bend_p)
        end_p = pressure_pa + (pumped - lost) * inverse_c
        error = half * abs(kp1 + kp2) / (abs(end_p) + 2e3)
        return end_p, 0.0, pumped, 0.0, lost, error, pressure2, 0.0, pump2
