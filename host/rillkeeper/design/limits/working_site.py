"""The site at work, with a full, a middling and a used battery; and a limit drawn from it."""

from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, isfinite

from rillkeeper.display_units import Shown
from rillsim.garden.plot import SprayPlot
from rillsim.garden.spray import air_loss
from rillsim.garden.weather import WIND_SWING
from rillsim.plant import Plant
from rillsim.site import BatterySpec, HomeSpec, SetSpec, Site
from rillsim.supply.battery import Battery
from rillsim.supply.cable import circuit
from rillsim.water.operating_point import OperatingPoint, Plumbing, Supply, operating_point
from rillsim.water.pipe import bore_area_m2, hose_compliance_m3_pa
from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.pump import fit_pump

DEPTH_OF_DISCHARGE = {"flooded": 0.5, "agm": 0.5, "lfp": 0.8}
"""Share of its charge that a battery gives without losing its life early: common practice, no
source."""


def depth_of(battery: BatterySpec) -> float:
    """Share of its charge that this battery may give between two charges."""
    return battery.used_share or DEPTH_OF_DISCHARGE[battery.chemistry]


_LEARN_S = 5.0
_SPRAY_LITRES = 100.0
_START_TICKS = 100

ROOM = 1.20
"""A limit stands at least this far from what is normal (common practice, no source)."""


@dataclass(frozen=True)
class Limit:
    """One setting of the board, and why it is what it is."""

    key: str
    value: int
    reason: str


@dataclass(frozen=True)
class AtWork:
    """One operating point as the board sees it."""

    point: OperatingPoint
    board_v: float
    """At the board's terminals, loaded."""
    emf_v: float
    ohm: float
    """Between the battery's emf and the board's terminals."""


class WorkingSite:
    """Everything about a site at work that sizes and limits are drawn from."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.shown = Shown(site.units)
        """Quantities as this site's owner reads them."""
        self.pump = fit_pump(site.pump)
        self.plumbing = Plumbing(site)
        self.wires = circuit(site.cable, site.board.relays)
        self.discharge = depth_of(site.battery)
        self.full = self._at_work(1.0)
        self.charge = 1.0 - self.discharge / 2.0
        """Of the middling battery: half of what it may give is used [-]."""
        self.middle = self._at_work(self.charge)
        self.used = self._at_work(1.0 - self.discharge, hours=self.night_s() / 3600.0)

    def at_charge(self, charge: float) -> "WorkingSite":
        """The same with its middling battery at this charge."""
        other = copy(self)
        other.__dict__.pop("_wet_area_m2", None)
        other.charge = charge
        other.middle = other._at_work(charge)
        return other

    def battery(self, charge: float) -> Battery:
        """The site's battery, rested, with this share of its charge."""
        return Battery(self.site.battery, charge)

    def night_s(self) -> float:
        """Pumping time of all the sets of a night [s]."""
        return sum(self.pumping_s(entry) for entry in self.site.sets)

    def pump_on_s(self) -> float:
        """Time that the pump runs in a night [s].

        Without transducer and flow meter nothing tells the board that water came: at each start
        it waits for the whole prime allowance, and the set's minutes count from there.
        """
        if not isfinite(self.prime_s()):
            return self.night_s()
        starts = sum(entry.runs for entry in self.site.sets)
        return self.night_s() + starts * self._wait_s()

    def _at_work(self, charge: float, hours: float = 0.0) -> AtWork:
        """The operating point after pumping for so many hours down to this charge."""
        site = self.site
        battery = self.battery(charge)
        lift_m = site.water.lift_m
        point = operating_point(self.plumbing, self.pump, self._supply(battery), lift_m)
        if hours > 0.0:
            used_ah = point.current_a * hours
            battery = self.battery(min(1.0, charge + used_ah / self.battery(1.0).charge_ah))
            battery.step(point.current_a, hours * 3600.0)
        else:
            battery.step(point.current_a, _LEARN_S)
        point = operating_point(self.plumbing, self.pump, self._supply(battery), lift_m)
        ohm = battery.resistance_ohm + self.wires.total_ohm - self.wires.relay_ohm
        current_a = point.current_a + site.board.awake_a
        return AtWork(point, battery.emf_v - current_a * ohm, battery.emf_v, ohm)

    def _supply(self, battery: Battery) -> Supply:
        return Supply.of(battery, self.site.cable)

    def static_pa(self) -> float:
        """What the water standing in the line weighs at the pump's outlet [Pa]."""
        weight = self.plumbing.water.density_kg_m3 * GRAVITY_M_S2
        return weight * self.site.line.rise_m

    def current_at(self, pressure_pa: float) -> float:
        """Pump current at an outlet pressure that a valve is held to, middling battery [A]."""
        ohm = self.middle.ohm + self.wires.relay_ohm
        rise_pa = pressure_pa - self.middle.point.inlet_pa
        return self.pump.operate(self.middle.emf_v, ohm, rise_pa)[1]

    def climb_pa_s(self, pressure_pa: float) -> float:
        """How fast the pressure rises in a line that was just shut, full battery [Pa/s]."""
        line = self.site.line
        give = hose_compliance_m3_pa(
            line.length_m,
            self.plumbing.water.bulk_modulus_pa,
            line.bore_m,
            line.wall_m,
            line.modulus_pa,
        )
        ohm = self.full.ohm + self.wires.relay_ohm
        rise_pa = pressure_pa - self.full.point.inlet_pa
        return self.pump.operate(self.full.emf_v, ohm, rise_pa)[2] / give

    def learned_ohm(self, charge: float) -> float:
        """Supply resistance as the board learns it, at this share of the charge [ohm].

        It learns five seconds after prime. Without transducer and flow meter it first waits for
        the whole prime allowance, and takes what a full battery gives up meanwhile for
        resistance.
        """
        at_work = self._at_work(charge)
        current_a = at_work.point.current_a
        battery = self.battery(charge)
        rest_v = battery.rest_v
        battery.step(current_a, self._wait_s() + _LEARN_S)
        return (rest_v - battery.emf_v) / current_a + at_work.ohm

    def night_sag_v(self) -> float:
        """Deepest fall below the rest voltage in a night's pumping, full or nearly used [V]."""
        current_a = self.full.point.current_a
        battery = self.battery(1.0)
        full_v = battery.rest_v
        battery.step(current_a, self.night_s())
        from_full_v = full_v - (battery.emf_v - current_a * self.full.ohm)
        share = current_a * self.night_s() / 3600.0 / self.battery(1.0).charge_ah
        last_v = self.battery(min(1.0, 1.0 - self.discharge + share)).rest_v
        return max(from_full_v, last_v - self.used.board_v)

    def start_peak_pa(self) -> float:
        """Highest outlet pressure of a start with a full battery [Pa].

        A displacement pump delivers before the water in a long hose is in motion: the hose
        takes up the difference, and its pressure passes the operating point for a moment.
        """
        plant = Plant(replace(self.site, faults=(), battery_trips=(), home=HomeSpec()))
        plant.read(0)
        plant.drive(0, plant.whole)
        peak_pa = 0.0
        for tick in range(1, _START_TICKS):
            plant.read(tick)
            peak_pa = max(peak_pa, plant.truth(tick).pressure_pa)
        return peak_pa

    def wet_area_m2(self) -> float:
        """Litres over this area give the mean depth on the plot, on a usual night [m2]."""
        return self._wet_area_m2

    @cached_property
    def _wet_area_m2(self) -> float:
        point = self.middle.point
        weather = self.site.weather
        spray = SprayPlot(self.site.plot, self.site.sprinkler)
        loss = air_loss(weather.wind_m_s * (1.0 - WIND_SWING), weather.humidity_max)
        spray.add(_SPRAY_LITRES, point.throw_m, pressure_pa=point.nozzle_pa, lost_share=loss)
        return _SPRAY_LITRES / spray.mean_mm if spray.mean_mm > 0.0 else float("inf")

    def pumping_s(self, entry: SetSpec) -> float:
        """How long the pump runs for one set [s]."""
        if entry.unit == "minutes":
            return entry.amount * 60.0
        flow = self.flow_m3_s()
        if flow <= 0.0:
            return 0.0
        if entry.unit == "depth":
            return entry.amount * self.wet_area_m2() / 1000.0 / flow
        return entry.amount / 1000.0 / flow

    def flow_m3_s(self) -> float:
        """Flow with a middling battery [m3/s]."""
        return self.middle.point.flow_m3_s

    def _wait_s(self) -> float:
        """What each start is waited for where no sensor tells that water came [s]."""
        board = self.site.board
        told = board.pressure_fitted or board.flow_fitted
        return 0.0 if told else self.prime_allowance_s()

    def prime_allowance_s(self) -> float:
        """Time that the board gives the pump to prime [s]."""
        return ceil(20.0 + 2.0 * self.prime_s())

    def prime_s(self) -> float:
        """Time to raise water in a dry suction line, and to fill an empty hose [s]."""
        suction = self.plumbing.suction
        site = self.site
        ohm = self.used.ohm + self.wires.relay_ohm
        speed, _ = self.pump.operate_dry(self.used.emf_v, ohm)
        displaced = speed * self.pump.stroke_at(0.0)
        steps = 50
        part_m3 = suction.volume_m3 / steps
        total_s = 0.0
        for step in range(steps):
            rate = suction.prime_rate_m3_s(
                (step + 0.5) * part_m3, displaced, site.water.lift_m, site.pump.dry_lift_m
            )
            if rate <= 0.0:
                return float("inf")
            total_s += part_m3 / rate
        hose_m3 = site.line.length_m * bore_area_m2(site.line.bore_m)
        return total_s + hose_m3 / max(self.flow_m3_s(), 1e-9)
