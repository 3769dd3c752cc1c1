"""One step of the whole plant, from one state to the next.

Pressure and line flow take a linearly implicit step; the battery takes the exact step of the
mean current, with its emf held at the start of the step; the suction line follows. States are
never changed once made, so that going back is keeping the old one.
"""

from math import exp

from rillsim import ledger
from rillsim.circuit import AT_REST, HELD_SLIP, PumpCircuit, PumpPoint
from rillsim.hydraulics import DeliveryLine
from rillsim.supply.battery import Battery, Kept
from rillsim.supply.fuse import COLD, Fuse, Warmth
from rillsim.water import motor_heat
from rillsim.water.meter_wheel import MeterWheel
from rillsim.water.motor_heat import Rises, Winding
from rillsim.water.priming import SuctionLine

TICK_S = 0.1
AS_PER_AH = 3600.0

_CALM_PA = 20.0
_CALM_M3_S = 1e-7
"""Closer than this to the static head, and slower, the hose is at rest."""
_EVEN_PA = 1.0
"""With less than this left to hasten it, water that runs by itself runs evenly."""


class State:
    """Everything that the plant remembers at one tick."""

    __slots__ = (
        "battery",
        "board_v",
        "emf_v",
        "filled_m3",
        "flow_m3_s",
        "fuse",
        "motor",
        "n",
        "ohm",
        "open_v",
        "point",
        "pressure_pa",
        "totals",
    )

    def __init__(
        self,
        n: int,
        pressure_pa: float,
        flow_m3_s: float,
        filled_m3: float,
        battery: Kept,
        totals: ledger.Totals,
        fuse: Warmth = COLD,
        motor: Rises = motor_heat.COLD,
    ) -> None:
        self.n = n
        self.pressure_pa = pressure_pa
        self.flow_m3_s = flow_m3_s
        self.filled_m3 = filled_m3
        self.battery = battery
        self.totals = totals
        self.fuse = fuse
        self.motor = motor
        self.open_v = 0.0
        self.emf_v = 0.0
        self.ohm = 0.0
        self.board_v = 0.0
        self.point: PumpPoint = AT_REST

    def copy(self) -> "State":
        """The same state, to be looked at under other conditions."""
        return State(
            self.n,
            self.pressure_pa,
            self.flow_m3_s,
            self.filled_m3,
            self.battery,
            self.totals.copy(),
            self.fuse,
            self.motor,
        )


class Stepper:
    """The parts of one plant, and how they move together."""

    def __init__(
        self,
        battery: Battery,
        fuse: Fuse,
        winding: Winding,
        circuit: PumpCircuit,
        line: DeliveryLine,
        suction: SuctionLine,
    ) -> None:
        self.battery = battery
        self.fuse = fuse
        self.winding = winding
        self.circuit = circuit
        self.line = line
        self.suction = suction
        self.wheel: MeterWheel | None = None
        """That of a flow meter at the outlet, where one is fitted."""
        self.added_v = 0.0
        self.held_v = 0.0
        """What the controller of a panel lifts the posts by."""
        self.connected = True
        """False while the battery is off: nothing can flow."""
        circuit.held_pa = line.static_pa

    def look(self, state: State, near: PumpPoint) -> State:
        """Fill in what follows from the state under the present conditions."""
        circuit = self.circuit
        if not self.connected:
            state.emf_v = state.board_v = 0.0
            state.point = circuit.point(0.0, state.pressure_pa, near)
            return state
        battery = self.battery
        battery.restore(state.battery)
        state.open_v = open_v = battery.open_v
        state.emf_v = emf = open_v - battery.polarisation_v + self.added_v + self.held_v
        state.ohm = circuit.battery_ohm = battery.resistance_ohm
        self._judge_dry(state.filled_m3)
        state.point = point = circuit.point(emf, state.pressure_pa, near, sloped=True)
        state.board_v = circuit.board_v(emf, point.current_a)
        return state

    def step(
        self, state: State, ticks: float, extra_a: float = 0.0, damped: bool = False
    ) -> tuple[State, float]:
        """The state ``ticks`` later, and the relative error of pressure and flow.

        ``extra_a`` is the mean inrush current over the step; ``damped`` is for a part of a tick.
        """
        dt = ticks * TICK_S
        circuit = self.circuit
        start = state.point
        emf = state.emf_v
        circuit.battery_ohm = state.ohm
        self._judge_dry(state.filled_m3)
        pressure = state.pressure_pa
        flow = state.flow_m3_s
        end_p, end_q, pumped, passed, lost, error, pressure2, flow2, pump2 = self.line.step(
            circuit, emf, start, pressure, flow, dt, damped
        )
        totals = state.totals.copy()
        half = 0.5 * dt
        pump_a = 0.5 * (start.current_a + pump2.current_a)
        if self.connected:
            ledger.add_electric(totals, circuit, start.current_a, start, half)
            ledger.add_electric(totals, circuit, pump2.current_a, pump2, half)
        ledger.add_hydraulic(totals, circuit, self.line, start, pressure, flow, half)
        ledger.add_hydraulic(totals, circuit, self.line, pump2, pressure2, flow2, half)
        totals[ledger.PUMPED] += pumped
        totals[ledger.SPRINKLED] += passed
        totals[ledger.BURST_M3] += lost
        if self.wheel is not None and not circuit.dry:
            totals[ledger.METERED] += self.wheel.turned_m3(pumped, dt)
        filled = self._suction(state, totals, pumped, start, pump2, dt)
        battery = self._discharge(state, totals, pump_a, extra_a, dt)
        square = 0.5 * (start.current_a**2 + pump2.current_a**2)
        fuse = self.fuse.after(state.fuse, square, dt)
        motor = state.motor
        if self.winding.per_w:
            loss_w = 0.5 * (circuit.motor_loss_w(start) + circuit.motor_loss_w(pump2))
            motor = self.winding.after(motor, loss_w, dt)
        after = State(state.n + int(ticks), end_p, end_q, filled, battery, totals, fuse, motor)
        return self.look(after, pump2), error

    def rest(self, state: State, ticks: int) -> State:
        """The state of a resting plant after any length of time, in closed form."""
        dt = ticks * TICK_S
        totals = state.totals.copy()
        pressure = state.pressure_pa
        line, held_pa = self.line, self.circuit.rest_pa
        if line.shut and pressure > held_pa:
            slip = HELD_SLIP * self.circuit.pump.slip_m3_s_pa
            above = pressure - held_pa
            left = above * exp(-dt * slip / line.compliance_m3_pa)
            back = line.compliance_m3_pa * (above - left)
            totals[ledger.RETURNED] += back
            totals[ledger.PUMPED] -= back
            totals[ledger.HELD_SLIP_J] += back * (held_pa + 0.5 * (above + left))
            pressure = held_pa + left
        flow = state.point.flow_m3_s if state.point.flow_m3_s > 0.0 else 0.0
        if flow:
            ledger.add_hydraulic(totals, self.circuit, line, state.point, pressure, flow, dt)
            for place in (ledger.TAKEN, ledger.PUMPED, ledger.SPRINKLED):
                totals[place] += flow * dt
            if self.wheel is not None:
                totals[ledger.METERED] += self.wheel.turned_m3(flow * dt, dt)
        filled = self._drained(state, totals, dt)
        self.circuit.battery_ohm = state.ohm
        if self.connected:
            ledger.add_electric(totals, self.circuit, 0.0, AT_REST, dt)
        battery = self._discharge(state, totals, 0.0, 0.0, dt)
        fuse = self.fuse.after(state.fuse, 0.0, dt)
        motor = self.winding.after(state.motor, 0.0, dt)
        after = State(state.n + ticks, pressure, flow, filled, battery, totals, fuse, motor)
        return self.look(after, AT_REST)

    def calm(self, state: State) -> bool:
        """True where nothing but closed forms is left: contact open and hose at rest."""
        if self.circuit.closed:
            return False
        line = self.line
        if state.point.flow_m3_s > 0.0:
            return self._runs_evenly(state)
        if line.burst_m3_s_root_pa and state.pressure_pa > _CALM_PA:
            return False
        if line.shut:
            return state.pressure_pa <= self.circuit.relief_pa
        if line.burst_m3_s_root_pa:
            return state.flow_m3_s == 0.0
        off_pa = abs(state.pressure_pa - line.static_pa)
        return off_pa < _CALM_PA and abs(state.flow_m3_s) < _CALM_M3_S

    def _runs_evenly(self, state: State) -> bool:
        """True where water runs through the standing pump, and as much out of the nozzle."""
        line = self.line
        if line.shut or line.burst_m3_s_root_pa or self.suction.source_gone:
            return False
        push_pa = line.push_pa(state.pressure_pa, state.flow_m3_s)
        apart = abs(state.point.flow_m3_s - state.flow_m3_s)
        return abs(push_pa) < _EVEN_PA and apart < _CALM_M3_S

    def settle_shut(self, state: State) -> None:
        """The outlet was shut: the water in the line stops, and its motion becomes heat."""
        if self.line.shut and state.flow_m3_s:
            moving = 0.5 * self.line.inertia_kg_m4 * state.flow_m3_s**2
            state.totals[ledger.CLOSURE] += moving
            state.flow_m3_s = 0.0

    def _judge_dry(self, filled_m3: float) -> None:
        """Is there air at the pump's inlet, and at what pressure? A column hangs below it."""
        circuit = self.circuit
        circuit.dry = dry = self.suction.is_dry(filled_m3)
        if dry:
            circuit.dry_inlet_pa = -circuit.lift_pa * filled_m3 / self.suction.volume_m3

    def _suction(
        self,
        state: State,
        totals: ledger.Totals,
        pumped_m3: float,
        start: PumpPoint,
        pump2: PumpPoint,
        dt_s: float,
    ) -> float:
        """Water in the suction line at the end, and what the source gave or got back."""
        circuit, suction = self.circuit, self.suction
        before = state.filled_m3
        if not circuit.closed and pumped_m3 <= 0.0:
            totals[ledger.RETURNED] -= pumped_m3
            return self._drained(state, totals, dt_s)
        if circuit.dry:
            displaced = 0.5 * (start.speed_rad_s + pump2.speed_rad_s) * circuit.pump.stroke_m3_rad
            filled = suction.prime(before, displaced, circuit.lift_m, dt_s)
            totals[ledger.BREATHED] += pumped_m3
            pumped_m3 = 0.0
        else:
            share = min(start.fill, pump2.fill) if circuit.air_hole_m2 else 1.0
            filled = suction.pumped(before, pumped_m3, share)
        from_source = pumped_m3 + filled - before
        totals[ledger.TAKEN if from_source > 0.0 else ledger.RETURNED] += abs(from_source)
        return filled

    def _drained(self, state: State, totals: ledger.Totals, dt_s: float) -> float:
        filled = self.suction.rest(state.filled_m3, self.circuit.lift_m, dt_s)
        totals[ledger.RETURNED] += state.filled_m3 - filled
        return filled

    def _discharge(
        self, state: State, totals: ledger.Totals, pump_a: float, extra_a: float, dt_s: float
    ) -> Kept:
        """Take the step's mean current from the battery."""
        battery = self.battery
        if not self.connected:
            return state.battery
        battery.restore(state.battery)
        panel_a = self.circuit.panel_a
        current = pump_a + extra_a + self.circuit.board_a - panel_a
        drawn_as = current * dt_s
        totals[ledger.CHEMICAL] += (state.open_v + self.added_v + self.held_v) * drawn_as
        posts_v = state.emf_v - (current - extra_a) * state.ohm
        totals[ledger.PANEL] += posts_v * panel_a * dt_s
        totals[ledger.PANEL_AS] += panel_a * dt_s
        totals[ledger.POLARISATION] += battery.polarisation_v * drawn_as
        totals[ledger.INRUSH] += state.emf_v * extra_a * dt_s
        board_a = self.circuit.board_a
        board_v = self.circuit.board_v(state.emf_v, pump_a)
        totals[ledger.BOARD] += board_v * board_a * dt_s
        totals[ledger.PUMP_AS] += (pump_a + extra_a) * dt_s
        totals[ledger.BOARD_AS] += board_a * dt_s
        totals[ledger.SELF_DISCHARGE] += battery.self_discharge_a * dt_s
        lost_ah = battery.lost_ah
        battery.step(current, dt_s)
        totals[ledger.CHARGING_LOST] += (battery.lost_ah - lost_ah) * AS_PER_AH
        return battery.save()
