"""One shopping list for a site: what to buy, by rating, with spares and kilograms.

The parts page of the notes shows the list of the demonstration site, made by this code. What is
marked "common practice" below has no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi

from rillkeeper import units
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.wires import Wires
from rillkeeper.display_units import Shown
from rillsim.site import Site

COPPER_KG_M3 = 8960.0
PVC_KG_M3 = 1300.0
SHEATH = 1.5
"""Mass of a two-wire cable over that of its copper (common practice)."""
BATTERY_KG_AH = {"flooded": 0.27, "agm": 0.30, "lfp": 0.12}
"""Of a 12 V battery, for each ampere-hour of its label (common practice)."""
CARRY_MOST_KG = 25.0
"""More is for two people: the guideline figure for a man who lifts close to the body, of the
British guide to manual handling; from memory. For a woman it is 16 kg."""
POST_FUSE = "30 to 60 A, breaks 10000 A at 14 V DC"


@dataclass(frozen=True)
class Item:
    """One line of the list."""

    part: str
    rating: str
    quantity: int = 1
    spares: int = 0
    mass_kg: float | None = None
    """Of all of them; none where it does not count."""


@dataclass(frozen=True)
class Shopping:
    """The whole list."""

    items: tuple[Item, ...]

    @property
    def battery_kg(self) -> float:
        """What is carried home [kg]."""
        return next(item.mass_kg or 0.0 for item in self.items if item.part == "battery")


def shopping_of(work: WorkingSite, wires: Wires) -> Shopping:
    """What this site takes, as its file has it."""
    shown = Shown(work.site.units)
    return Shopping(
        (*_power(work, wires, shown), *_water(work.site, shown), *_board(work.site, shown))
    )


def battery_kg(chemistry: str, capacity_ah: float) -> float:
    """About what a 12 V battery weighs, [kg].

    Examples
    --------
    >>> round(battery_kg("flooded", 116.0))
    31
    """
    return BATTERY_KG_AH[chemistry] * capacity_ah


def _power(work: WorkingSite, wires: Wires, shown: Shown) -> Iterator[Item]:
    site = work.site
    battery, cable = site.battery, site.cable
    fuse_a = wires.fuse_wanted_a or wires.fuse_a
    yield Item(
        "battery",
        f"12 V {battery.chemistry}, {battery.capacity_ah:g} Ah over 20 h",
        mass_kg=battery_kg(battery.chemistry, battery.capacity_ah),
    )
    if not wires.blade_breaks:
        yield Item("fuse on the post", POST_FUSE, spares=1)
    yield Item("main fuse and holder", f"blade {fuse_a:g} A, 32 V DC; holder with a cap", spares=2)
    yield Item("board's own fuse and holder", "1 A, at the post beside the other", spares=2)
    section = units.format(cable.area_m2, "wire section", shown.system, 3)
    copper_kg = 2.0 * cable.length_m * cable.area_m2 * COPPER_KG_M3
    yield Item(
        "cable, two wires",
        f"{shown.text(cable.length_m, 'length')} of {section}, fine strands, insulation "
        f"{cable.insulation}",
        mass_kg=SHEATH * copper_kg,
    )
    yield Item("clamps or ring terminals", f"for {fuse_a:g} A or more, one red, one black", 2, 1)
    yield Item("hand switch", f"{wires.switch_a:g} A or more at 14 V DC")
    yield Item(
        "relay",
        f"12 V coil, closed only while powered; contact {wires.relay_contact_a:g} A or more at "
        f"14 V DC, makes {wires.relay_makes_a:g} A",
        quantity=site.board.relays,
        spares=1,
    )
    if site.board.second_relay_fitted:
        yield Item(
            "driver of the second relay",
            "transistor, 470 ohm, 10 kohm and a diode over the coil, as for the first",
        )
        yield Item("wire from relay to relay", f"{section}, crimped for {fuse_a:g} A or more")
    if not site.pump.pressure_switch:
        opens = shown.text(site.pump.max_pressure_pa, "pressure")
        yield Item(
            "pressure switch at the pump's outlet",
            f"for {site.pump.max_current_a:g} A DC, opens below {opens}",
        )


def _water(site: Site, shown: Shown) -> Iterator[Item]:
    pump, suction, line, sprinkler = site.pump, site.suction, site.line, site.sprinkler
    yield Item(
        "pump, diaphragm",
        f"{pump.rated_v:g} V, {shown.text(pump.open_flow_m3_s, 'flow')} open, "
        f"{shown.text(pump.max_pressure_pa, 'pressure')}, {pump.max_current_a:g} A at most",
    )
    yield Item(
        "suction hose that does not collapse",
        f"{shown.text(suction.length_m, 'length')} of {shown.text(suction.bore_m, 'bore')}",
    )
    yield Item("strainer", "for that hose")
    if suction.foot_valve != "none":
        yield Item("foot valve", f"{suction.foot_valve}, for that hose")
    wall_m3 = pi * (line.bore_m + line.wall_m) * line.wall_m * line.length_m
    yield Item(
        "hose",
        f"{shown.text(line.length_m, 'length')} of {shown.text(line.bore_m, 'bore')}, for "
        f"{shown.text(pump.max_pressure_pa, 'pressure')} or more",
        mass_kg=PVC_KG_M3 * wall_m3,
    )
    yield Item(
        "sprinkler on a stand",
        f"{sprinkler.nozzle_count} x {shown.text(sprinkler.nozzle_bore_m, 'bore')}, "
        f"{sprinkler.elevation_deg:g} deg, arc {sprinkler.arc_deg:g} deg",
    )


def _board(site: Site, shown: Shown) -> Iterator[Item]:
    board = site.board
    yield Item("board", "RP2040 class or ESP32, with a box of IP65 or better")
    if board.clock_backed:
        yield Item("clock chip with its own cell", "I2C, compensated", spares=1)
    if board.pressure_fitted:
        span = shown.text(board.pressure_span_pa, "pressure")
        yield Item("pressure transducer", f"0 to {span} gauge, 5 V, 0.5 to 4.5 V")
    if board.frost_fitted:
        yield Item("temperature sensor", "500 mV at 0 C, 10 mV/C, runs at 3.3 V")
    if board.rain_fitted:
        yield Item("rain contact", "closes to ground")
    if board.button_fitted:
        yield Item("push button", "closes to ground")
    if board.flow_fitted:
        open_flow = shown.text(site.pump.open_flow_m3_s, "flow")
        yield Item(
            "flow meter",
            f"{board.flow_pulses_per_l:g} pulses per litre to ground, for {open_flow} and "
            f"{shown.text(site.pump.max_pressure_pa, 'pressure')} or more",
        )
    if board.current_fitted:
        yield Item("current sensor", f"0 to {board.current_span_a:g} A for 0 to 3.3 V")
