"""The parts of one site put together, and spoiled or mended as the conditions ask."""

from dataclasses import replace

from rillsim import ledger
from rillsim.circuit import AT_REST, PumpCircuit
from rillsim.faults.conditions import COLD_C, Conditions
from rillsim.hydraulics import DeliveryLine
from rillsim.site import Site
from rillsim.stepper import AS_PER_AH, State, Stepper
from rillsim.supply import panel
from rillsim.supply.battery import Battery
from rillsim.supply.cable import circuit as cable_circuit
from rillsim.supply.fuse import COLD, Fuse
from rillsim.water.diaphragm import Pump
from rillsim.water.meter_wheel import MeterWheel
from rillsim.water.motor_heat import Winding
from rillsim.water.operating_point import Plumbing
from rillsim.water.priming import SuctionLine
from rillsim.water.pump import fit_pump
from rillsim.water.store import Store

DAY_TICKS = 864000.0
NEAR_M = 0.01
NEAR = 1.1
NEAR_C = 5.0
"""So far from drawing air, from a current that melts the fuse, and from the motor's cut-out a
step may be long."""


class Rig:
    """Battery, cable, pump, lines and sprinkler of one site."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.store = Store(site.water)
        self.fallen_m = 0.0
        self.plumbing = Plumbing(site)
        self.pump = fit_pump(site.pump)
        wires = cable_circuit(site.cable, site.board.relays)
        self.wiring_ohm = wires.total_ohm - wires.relay_ohm
        self.relay_ohm = wires.relay_ohm
        suction = self.plumbing.suction
        self.circuit = PumpCircuit(self.pump, site.pump, suction, wires.relay_ohm)
        self.line = DeliveryLine(site.line, site.sprinkler, self.plumbing.water)
        self.suction = SuctionLine(suction, site.pump.dry_lift_m)
        self.sound_battery = Battery(site.battery)
        self.fuse = Fuse(site.cable.fuse_a)
        self.fuse_blown = False
        self.switched_off = False
        """Whether the hand switch behind the fuse is off."""
        self.battery_c = site.battery.temperature_c
        self.stepper = Stepper(
            self.sound_battery,
            self.fuse,
            Winding(site.pump),
            self.circuit,
            self.line,
            self.suction,
        )
        if site.board.flow_fitted:
            self.stepper.wheel = MeterWheel()
        self._batteries = {(0.0, 0.0, 0.0): self.sound_battery}
        self._pumps: dict[tuple[float, float, bool], Pump] = {(0.0, 1.0, False): self.pump}
        self._lift: tuple[float, float, float] | None = None

    def full_and_still(self) -> State:
        """Full lines, a full battery, nothing moving."""
        battery = self.sound_battery.save()
        still = State(0, self.line.static_pa, 0.0, self.suction.volume_m3, battery, ledger.empty())
        return self.stepper.look(still, AT_REST)

    def new_fuse(self, state: State) -> None:
        """Somebody puts a sound fuse in."""
        self.fuse_blown = False
        state.fuse = COLD

    def fall_m(self, state: State) -> float:
        """How far the source has sunk, by itself and by what was taken, to the millimetre."""
        by_itself = self.site.water.fall_m_per_day * state.n / DAY_TICKS
        return round(by_itself + self.store.sunk_m(state.totals), 3)

    def near_trouble(self, state: State, fallen_m: float, air_c: float) -> bool:
        """Whether source, fuse or motor may give up soon after this state, to which the source
        came from ``fallen_m``."""
        fall_m = self.fall_m(state)
        margin_m = 2.0 * abs(fall_m - fallen_m) + NEAR_M
        dry = self.site.water.cover_m - fall_m < margin_m
        melts = self.fuse.overloaded(NEAR * state.point.current_a)
        winding = self.stepper.winding
        hot = winding.cuts_out(state.motor, air_c + NEAR_C, False)
        return dry or melts or hot

    def apply(self, now: Conditions, state: State, battery_away: bool) -> None:
        """Turn every part to what the conditions say."""
        self.fallen_m = self.fall_m(state)
        self._supply(now, battery_away)
        circuit = self.circuit
        circuit.pump = self._pump(now)
        self.line.set_outlet(now.open_share, now.nozzle_area, now.kink_k, now.burst_m2)
        sunk = self.fallen_m + now.source_drop_m
        water = self.site.water
        if self.stepper.wheel is not None:
            self.stepper.wheel.held = now.meter_held
        self.suction.leak_m2 = now.foot_leak_m2
        self.suction.air_hole_m2 = now.air_hole_m2
        self.suction.source_gone = now.source_gone or sunk >= water.cover_m
        lift = (water.lift_m + sunk, now.strainer_block, now.air_hole_m2)
        if lift != self._lift:
            circuit.set_suction(*lift)
            self._lift = lift

    def _supply(self, now: Conditions, battery_away: bool) -> None:
        stepper = self.stepper
        unfed = self.fuse_blown or self.switched_off
        dark = unfed and not self.site.board.own_fuse
        stepper.connected = not (now.battery_lifted or battery_away or dark)
        stepper.added_v = now.added_v
        self.circuit.wiring_ohm = self.wiring_ohm + now.added_ohm
        self.circuit.contact_ohm = self.relay_ohm + now.contact_added_ohm
        stepper.battery = self._battery(now)

    def _battery(self, now: Conditions) -> Battery:
        key = (now.weak_cell, now.battery_wear, now.battery_cold)
        if key not in self._batteries:
            self._batteries[key] = Battery(
                self.site.battery,
                temperature_c=self._cooled_c(now.battery_cold),
                weak_cell=now.weak_cell,
                wear=now.battery_wear,
            )
        return self._batteries[key]

    def _cooled_c(self, cold: float) -> float:
        return self.battery_c + min(COLD_C - self.battery_c, 0.0) * cold

    def shine(self, state: State, sun_mj: float, span_s: float, dt_s: float) -> bool:
        """Let the panel give what the battery takes of a span's sun; True where that is other
        than it was. ``sun_mj`` falls on a square metre in ``span_s``."""
        circuit, stepper = self.circuit, self.stepper
        before = circuit.panel_a, stepper.held_v
        now = 0.0, 0.0
        if stepper.connected:
            stepper.battery.restore(state.battery)
            load_a = state.point.current_a + circuit.board_a
            offered_a = panel.offered_a(self.site.solar, sun_mj, span_s)
            now = panel.taken(stepper.battery, offered_a, load_a, dt_s)
        circuit.panel_a, stepper.held_v = now
        return now != before

    def warm(self, battery_c: float, state: State) -> None:
        """Give the battery another temperature: what was taken stays taken, what is left does
        not."""
        battery = self.stepper.battery
        battery.restore(state.battery)
        before_ah = battery.charge_ah
        self.battery_c = battery_c
        for (_, _, cold), one in self._batteries.items():
            one.temperature_c = self._cooled_c(cold)
        state.totals[ledger.BATTERY_WARMTH] += (battery.charge_ah - before_ah) * AS_PER_AH

    def _pump(self, now: Conditions) -> Pump:
        key = (now.pump_wear, now.pump_drag, now.pump_seized)
        if key not in self._pumps:
            pump = self.pump.worn(now.pump_wear)
            pump = replace(pump, friction_nm=pump.friction_nm * now.pump_drag)
            self._pumps[key] = pump.seized() if now.pump_seized else pump
        return self._pumps[key]
