"""A diaphragm pump: permanent-magnet motor, eccentric, elastic stroke and slip.

Equations, for a supply voltage V behind a series resistance::

    V = I R + k w                          R: winding and everything in series
    k I = Tf + b w + p D(p)                torque: friction, viscous, pressure
    D(p) = D0 (1 - kappa p)                displacement per radian; its loss is elastic
    Q = D(p) w - G p                       flow: stroke less slip through the valves

The stroke that the pressure takes away costs no energy (the diaphragm gives it back); the
slip G does. With both linear in w there is a closed form and no iteration. Past kappa p = 1/2,
well beyond what such a pump is rated for, the torque would fall with pressure; there the
stroke goes on as D0 / (4 kappa p), which joins smoothly and holds the torque. That branch is
an extrapolation.

References
----------
.. [1] Wenham, S. R. et al. Applied Photovoltaics, ch. 11: the torque of a volumetric pump
   follows pressure, its flow follows speed.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

from rillsim.root import root

DRY_FRICTION = 0.6
"""Friction without water over friction with it: common practice, no source."""
WORN_STROKE = 0.25
"""Part of the stroke that a pump has lost at the end of its life: common practice, no source."""
WORN_LEAK = 10.0
"""Slip at the end of its life over slip when new: common practice, no source."""
_SEIZED_NM = 1.0e9
_PRESSURE_MAX_PA = 1.0e8
"""No diaphragm pump gets there."""


class Powers(NamedTuple):
    """Where the electric power of a pump goes, [W]; ``electric`` is the sum of the others."""

    electric: float
    """At the pump's own terminals."""
    winding: float
    friction: float
    viscous: float
    slip: float
    hydraulic: float
    """Pressure rise times flow that leaves the pump."""


@dataclass(frozen=True, slots=True)
class Pump:
    """A pump, ready to run; :func:`rillsim.water.pump.fit_pump` makes one from a data sheet."""

    winding_ohm: float
    motor_v_s: float
    """k: volts per rad/s, and newton metres per ampere."""
    friction_nm: float
    viscous_nm_s: float
    stroke_m3_rad: float
    """D0: displacement per radian without pressure."""
    give_per_pa: float
    """kappa: part of the stroke lost per pascal."""
    slip_m3_s_pa: float
    """G: flow lost through the valves per pascal."""

    def stroke_at(self, pressure_pa: float) -> float:
        """Displacement per radian against a pressure, [m3/rad]."""
        give = self.give_per_pa * pressure_pa
        if give <= 0.0:
            return self.stroke_m3_rad
        if give <= 0.5:
            return self.stroke_m3_rad * (1.0 - give)
        return self.stroke_m3_rad * 0.25 / give

    def operate(
        self, supply_v: float, series_ohm: float, pressure_rise_pa: float
    ) -> tuple[float, float, float]:
        """Speed [rad/s], current [A] and flow [m3/s] against a pressure rise.

        The speed is never negative: where the torque does not suffice the motor stands, the
        current is V / R and the slip runs backwards. A pressure below zero (water that runs
        downhill through the pump) drives it along.

        Parameters
        ----------
        supply_v : float
            Voltage of the source, [V]
        series_ohm : float
            Resistance between source and motor winding: battery, cable, contacts, [ohm]
        pressure_rise_pa : float
            Pressure at the outlet less pressure at the inlet, [Pa]

        Examples
        --------
        A 20 L/min pump at 2 bar.

        >>> pump = Pump(0.15, 0.046878, 0.26252, 4.8835e-4, 1.44686e-6, 6.1675e-7, 1.6478e-11)
        >>> speed, current, flow = pump.operate(12.0, 0.0, 2.0e5)
        >>> round(current, 2), round(flow * 60000.0, 2)
        (13.24, 16.06)
        """
        ohm = self.winding_ohm + series_ohm
        give = self.give_per_pa * pressure_rise_pa
        if give <= 0.5:
            stroke = self.stroke_m3_rad * (1.0 - give) if give > 0.0 else self.stroke_m3_rad
        else:
            stroke = self.stroke_m3_rad * 0.25 / give
        constant = self.motor_v_s
        load = self.friction_nm + pressure_rise_pa * stroke
        speed = (constant * supply_v - load * ohm) / (
            constant * constant + self.viscous_nm_s * ohm
        )
        slip = self.slip_m3_s_pa * pressure_rise_pa
        if speed <= 0.0:
            return 0.0, supply_v / ohm, -slip
        return speed, (supply_v - constant * speed) / ohm, stroke * speed - slip

    def operate_dry(self, supply_v: float, series_ohm: float) -> tuple[float, float]:
        """Speed [rad/s] and current [A] with air in the pump: no pressure, less friction."""
        ohm = self.winding_ohm + series_ohm
        constant = self.motor_v_s
        speed = (constant * supply_v - DRY_FRICTION * self.friction_nm * ohm) / (
            constant * constant + DRY_FRICTION * self.viscous_nm_s * ohm
        )
        if speed <= 0.0:
            return 0.0, supply_v / ohm
        return speed, (supply_v - constant * speed) / ohm

    def stall_current_a(self, supply_v: float, series_ohm: float) -> float:
        """Current of a motor that stands, V / R, [A]."""
        return supply_v / (self.winding_ohm + series_ohm)

    def current_at(self, supply_v: float, series_ohm: float, pressure_rise_pa: float) -> float:
        """Current against a pressure rise, [A]."""
        return self.operate(supply_v, series_ohm, pressure_rise_pa)[1]

    def powers(self, supply_v: float, series_ohm: float, pressure_rise_pa: float) -> Powers:
        """The power balance of a pump that has water, [W]."""
        speed, current, flow = self.operate(supply_v, series_ohm, pressure_rise_pa)
        return Powers(
            electric=(supply_v - series_ohm * current) * current,
            winding=self.winding_ohm * current * current,
            friction=self.friction_nm * speed,
            viscous=self.viscous_nm_s * speed * speed,
            slip=self.slip_m3_s_pa * pressure_rise_pa * pressure_rise_pa,
            hydraulic=pressure_rise_pa * flow,
        )

    def dead_head_pa(self, supply_v: float, series_ohm: float) -> float:
        """Pressure rise at which no flow is left, 0 where the motor stands without any, [Pa]."""

        def flow_m3_s(pressure_rise_pa: float) -> float:
            return self.operate(supply_v, series_ohm, pressure_rise_pa)[2]

        if flow_m3_s(0.0) <= 0.0:
            return 0.0
        return root(flow_m3_s, 0.0, _PRESSURE_MAX_PA, tolerance=1e-9)

    def worn(self, wear: float) -> "Pump":
        """The same pump after some use: 0 new, 1 at the end of its life."""
        if not 0.0 <= wear <= 1.0:
            raise ValueError(f"pump wear is {wear}; it runs from 0 (new) to 1 (end of life)")
        return replace(
            self,
            stroke_m3_rad=self.stroke_m3_rad * (1.0 - WORN_STROKE * wear),
            slip_m3_s_pa=self.slip_m3_s_pa * (1.0 + (WORN_LEAK - 1.0) * wear),
        )

    def seized(self) -> "Pump":
        """The same pump with its shaft stuck: it draws the stall current and gives no water."""
        return replace(self, friction_nm=_SEIZED_NM)
