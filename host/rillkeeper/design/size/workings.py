"""Everything that sizing a site works out, in one record."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.facts import Facts, facts_from
from rillkeeper.design.size.motor import motor_c
from rillkeeper.design.size.nights import Nights, nights_of
from rillkeeper.design.size.shopping import Shopping, shopping_of
from rillkeeper.design.size.staircases import Heads, Volts, heads_of, volts_of
from rillkeeper.design.size.suction import SuctionSide, suction_of
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.design.size.watering import Watering, spray_map, watering_of
from rillkeeper.design.size.wires import Wires, wires_of
from rillkeeper.display_units import Shown
from rillkeeper.verdict import Verdict
from rillsim.site import Site
from rillsim.water.operating_point import OperatingPoint


@dataclass(frozen=True)
class Power:
    """Where the power goes, battery half used."""

    battery_w: float
    """Chemical: rested voltage times current."""
    pump_w: float
    """At the motor's terminals."""
    water_w: float
    """Pressure rise of the pump times flow."""
    spray_w: float
    """What is left at the nozzle: its pressure times flow."""

    @property
    def pump_efficiency(self) -> float:
        """Water power over electric power of the pump [-]."""
        return self.water_w / self.pump_w if self.pump_w > 0.0 else 0.0

    @property
    def whole_efficiency(self) -> float:
        """From the battery's chemistry to the nozzle [-]."""
        return self.spray_w / self.battery_w if self.battery_w > 0.0 else 0.0


@dataclass(frozen=True)
class Points:
    """The operating point as the battery empties."""

    full: OperatingPoint
    half: OperatingPoint
    used: OperatingPoint
    """At the end of the last night's pumping."""


@dataclass(frozen=True)
class Workings:
    """The whole working of one site."""

    site: Site
    facts: Facts
    verdict: Verdict
    points: Points
    power: Power
    heads: Heads
    volts: Volts
    wires: Wires
    shopping: Shopping
    nights: Nights
    suction: SuctionSide
    watering: Watering
    motor_c: float | None
    """Highest winding temperature in a night; None where the sheet has no duty rating."""
    depth_mm_h: NDArray[np.float64]
    """On a calm night, rows from the south, columns from the west."""


def work_out(site: Site, wanted: int | None = None) -> Workings:
    """Size a site; ``wanted`` are the nights that a charge should last."""
    work = WorkingSite(site)
    wires, watering = wires_of(work), watering_of(work)
    facts = facts_from(work, wires, watering, wanted, size_battery=True)
    volts = volts_of(work)
    point = work.middle.point
    return Workings(
        site=site,
        facts=facts,
        verdict=verdict_of(facts, Shown(site.units)),
        points=Points(work.full.point, point, work.used.point),
        power=Power(
            battery_w=volts.rest_v * point.current_a,
            pump_w=point.pump_power_w,
            water_w=(point.pump_pa - point.inlet_pa) * point.flow_m3_s,
            spray_w=point.nozzle_pa * point.flow_m3_s,
        ),
        heads=heads_of(work),
        volts=volts,
        wires=wires,
        shopping=shopping_of(work, wires),
        nights=nights_of(work, wanted),
        suction=suction_of(work),
        watering=watering,
        motor_c=motor_c(work),
        depth_mm_h=spray_map(work) * point.flow_m3_s * 3.6e6,
    )
