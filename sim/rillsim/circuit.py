"""Battery, cable, contact, motor and suction line as one algebraic law of outlet pressure.

The board stands at the far end of the cable, before the relay: it sees the battery behind its
own resistance, the clamps, the fuse and the cable. Only the relay contact is behind it. The
motor's and the suction line's own inertia are far faster than a step and left out.
"""

from typing import NamedTuple

from rillsim.site import PumpSheet
from rillsim.water.diaphragm import DRY_FRICTION, Pump
from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.standing import OPENING_PA, OPENS_PA, StandingPump
from rillsim.water.suction import Suction, fill_ratio

HELD_SLIP = 0.05
"""Slip of the pump's valves at rest over that of a running pump: seated valves leak little.
Common practice, no source."""

BREATH_PA = 5e3
"""Pressure at which air passes the valves of a dry pump at its open flow. Common practice, no
source."""

RELIEF_OPENS = 1.3
"""Spring bypass of a diaphragm pump: outlet pressure over the pump's rating at which it opens,
and at which it passes the whole open flow. Without it a shut outlet would drive the model far
beyond what pump and hose stand. Common practice, no source."""
RELIEF_PASSES_ALL = 1.5

ROTOR_KG_M2 = 3e-5
"""Inertia of a motor of this class with its eccentric. Common practice, no source."""

_FLOW_TOLERANCE_M3_S = 1e-13
_ROUNDS_MAX = 40
_PROBE_PA = 200.0
_FULL_BELOW = 0.45
"""Under this share of the suction's limit the fill is 1 to eight digits."""


class PumpPoint(NamedTuple):
    """The pump at one instant; pressures are gauge."""

    flow_m3_s: float
    """Water that leaves the pump."""
    slope_m3_s_pa: float
    """Change of that flow with outlet pressure, where it was asked for."""
    current_a: float
    speed_rad_s: float
    inlet_pa: float
    rise_pa: float
    fill: float
    """Share of the displacement that is water."""


AT_REST = PumpPoint(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0)


class PumpCircuit:
    """What stands between the battery's emf and the flow into the hose.

    The plant sets the plain attributes whenever something changes; ``point`` only reads them.
    """

    def __init__(self, pump: Pump, sheet: PumpSheet, suction: Suction, contact_ohm: float) -> None:
        self.pump = pump
        self.suction = suction
        self.standing = StandingPump(suction, sheet.open_flow_m3_s)
        self.contact_ohm = contact_ohm
        self.relief_pa = RELIEF_OPENS * sheet.max_pressure_pa
        width_pa = (RELIEF_PASSES_ALL - RELIEF_OPENS) * sheet.max_pressure_pa
        self._relief_m3_s_pa = sheet.open_flow_m3_s / width_pa
        self._breath_m3_s_pa = sheet.open_flow_m3_s / BREATH_PA
        self.battery_ohm = 0.0
        self.wiring_ohm = 0.0
        self.board_a = 0.0
        self.panel_a = 0.0
        """What a solar panel puts in at the battery's posts."""
        self.closed = False
        self.dry = False
        self.dry_inlet_pa = 0.0
        """Pressure of the air at the inlet of a dry pump."""
        self.lift_m = 0.0
        self.strainer_block = 0.0
        self.air_hole_m2 = 0.0
        self.held_pa = 0.0
        """What the water standing in the line weighs at the outlet: that is held for ever."""
        self.lift_pa = 0.0
        self._limit_m3_s = 1.0

    def set_suction(self, lift_m: float, strainer_block: float, air_hole_m2: float) -> None:
        """Source level, strainer and air leak; solves the flow that the suction can give."""
        self.lift_m = lift_m
        self.strainer_block = strainer_block
        self.air_hole_m2 = air_hole_m2
        self.lift_pa = self.suction.water.density_kg_m3 * GRAVITY_M_S2 * lift_m
        self._limit_m3_s = self.suction.flow_limit_m3_s(lift_m, strainer_block)

    def supply_ohm(self) -> float:
        """Resistance between the emf and the board's terminals."""
        return self.battery_ohm + self.wiring_ohm

    def board_v(self, emf_v: float, current_a: float) -> float:
        """Voltage at the board's terminals while the pump draws ``current_a``."""
        posts_v = emf_v + self.panel_a * self.battery_ohm
        return posts_v - (current_a + self.board_a) * (self.battery_ohm + self.wiring_ohm)

    def point(
        self, emf_v: float, pressure_pa: float, near: PumpPoint, sloped: bool = False
    ) -> PumpPoint:
        r"""Flow, current and speed against an outlet pressure.

        .. math:: Q = \phi \, Q_p(U, R, \phi \, (p - p_{in}(Q)))

        ``near`` is a point not far from it, from which the fixed-point search starts; the
        suction loss and the fill change the flow by little, so that it closes in two rounds.
        ``sloped`` asks for the slope of the flow, by a small probe.
        """
        supply = self.battery_ohm + self.wiring_ohm
        volts = emf_v + self.panel_a * self.battery_ohm - self.board_a * supply
        if not self.closed or volts <= 0.0:
            return self._held(pressure_pa)
        series = supply + self.contact_ohm
        if self.dry:
            speed, current = self.pump.operate_dry(volts, series)
            breath = self.breath_m3_s(pressure_pa)
            slope = -self._breath_m3_s_pa if breath else 0.0
            return PumpPoint(breath, slope, current, speed, 0.0, 0.0, 0.0)
        operate = self.pump.operate
        loss = self.suction.loss_pa
        block = self.strainer_block
        full = _FULL_BELOW * self._limit_m3_s
        bypass = self.relief_m3_s(pressure_pa)
        flow = near.flow_m3_s
        fill = near.fill if near.fill > 0.0 else 1.0
        for _ in range(_ROUNDS_MAX):
            inlet = -self.lift_pa - loss(flow, block)
            rise = pressure_pa - inlet
            filled = fill
            speed, current, displaced = operate(volts, series, fill * rise)
            fill = 1.0 if displaced < full else fill_ratio(displaced, self._limit_m3_s)
            if self.air_hole_m2:
                fill *= self._water_share(displaced, inlet)
            closer = fill * displaced - bypass
            if abs(closer - flow) < _FLOW_TOLERANCE_M3_S:
                break
            flow = closer
        slope = 0.0
        if sloped and speed > 0.0:
            pressed = fill * rise
            here = displaced if fill == filled else operate(volts, series, pressed)[2]
            there = operate(volts, series, pressed + _PROBE_PA)[2]
            slope = fill * fill * (there - here) / _PROBE_PA
            if rise + inlet > self.relief_pa:
                slope -= self._relief_m3_s_pa
        return PumpPoint(closer, slope, current, speed, inlet, rise, fill)

    def _held(self, pressure_pa: float) -> PumpPoint:
        """The pump at rest: its valves leak backwards a little, and open forwards."""
        if -self.lift_pa - pressure_pa > OPENS_PA - OPENING_PA and not self.dry:
            block = self.strainer_block
            flow, slope = self.standing.flow_m3_s(-self.lift_pa - pressure_pa, block)
            inlet = -self.lift_pa - self.suction.loss_pa(flow, block)
            return PumpPoint(flow, slope, 0.0, 0.0, inlet, 0.0, 1.0)
        slip = HELD_SLIP * self.pump.slip_m3_s_pa
        back = slip * max(pressure_pa - self.rest_pa, 0.0) + self.relief_m3_s(pressure_pa)
        return PumpPoint(-back, -slip if back else 0.0, 0.0, 0.0, -self.lift_pa, 0.0, 1.0)

    @property
    def rest_pa(self) -> float:
        """Outlet pressure below which nothing goes back through the valves of a resting pump."""
        return max(self.held_pa, -self.lift_pa)

    def relief_m3_s(self, pressure_pa: float) -> float:
        """Water that goes round through the pump's bypass."""
        if pressure_pa <= self.relief_pa:
            return 0.0
        return self._relief_m3_s_pa * (pressure_pa - self.relief_pa)

    def breath_m3_s(self, pressure_pa: float) -> float:
        """Air that the water running on in the hose draws through a dry pump.

        Both valves open towards the hose: its pressure cannot fall far below that of the air at
        the inlet.
        """
        if pressure_pa >= self.dry_inlet_pa:
            return 0.0
        return self._breath_m3_s_pa * (self.dry_inlet_pa - pressure_pa)

    def inrush_as(self, speed_rad_s: float) -> float:
        """Charge that brings the rotor up to a speed, J w / k."""
        return ROTOR_KG_M2 * speed_rad_s / self.pump.motor_v_s

    def inrush_a(self, emf_v: float) -> float:
        """Current at the instant of closing, while the rotor stands."""
        return self.pump.stall_current_a(emf_v, self.supply_ohm() + self.contact_ohm)

    def friction_w(self, point: PumpPoint) -> float:
        """Power lost to friction in the pump at this point."""
        speed = point.speed_rad_s
        # A dry pump has less friction, and a seized one does not turn.
        share = DRY_FRICTION if self.dry else 1.0
        return share * speed * (self.pump.friction_nm + self.pump.viscous_nm_s * speed)

    def motor_loss_w(self, point: PumpPoint) -> float:
        """What warms the motor at this point: its winding's loss and its friction."""
        square = point.current_a * point.current_a
        return square * self.pump.winding_ohm + self.friction_w(point)

    def _water_share(self, displaced_m3_s: float, inlet_pa: float) -> float:
        air = self.suction.air_leak_m3_s(self.air_hole_m2, inlet_pa)
        return self.suction.water_share(displaced_m3_s, air, inlet_pa)
