"""The inputs of a site that its owner can only guess, and what else may differ from the model.

Each has the value in the site file and a spread around it within which real ones lie. The first
list is what is learned and written down. The second is not the site's: errors of the sensors,
the water's level on the day. It is fitted along, so that nothing else has to answer for it.
"""

from dataclasses import dataclass, replace
from math import exp, inf, log

from rillkeeper.site.change import find_row, value_of, with_value
from rillkeeper.site.schema import Row
from rillsim.site import Site
from rillsim.supply.chemistry import CHEMISTRY


@dataclass(frozen=True)
class Input:
    """One input of the site file."""

    key: str
    """As in the site file: "sprinkler.nozzle_bore"."""
    name: str
    """In words."""
    centre: float
    """The site file's value, in the field's own unit."""
    spread: float
    """Deviation before any reading: relative where ``relative``, else in the field's unit."""
    relative: bool
    low: float
    high: float
    row: Row

    def value(self, z: float) -> float:
        """The value that lies z spreads from the site file's."""
        free = self.centre * exp(self.spread * z) if self.relative else self._straight(z)
        return min(self.high, max(self.low, free))

    def _straight(self, z: float) -> float:
        return self.centre + self.spread * z

    def z_of(self, value: float) -> float:
        """How many spreads a value lies from the site file's."""
        if self.relative:
            return log(value / self.centre) / self.spread if value > 0.0 else -inf
        return (value - self.centre) / self.spread

    def spread_at(self, value: float, share: float = 1.0) -> float:
        """So many spreads in the field's unit."""
        return share * self.spread * (value if self.relative else 1.0)


@dataclass(frozen=True)
class Aside:
    """Something fitted along that is not written down."""

    name: str
    spread: float


# Spreads: common practice, no source, but for the sensors', which are those of parts of 1 %. The
# friction of a hose goes with the fifth power of its bore, so 4 % of it are a fifth of the loss.
RELATIVE = {
    "sprinkler.nozzle_bore": ("nozzle bore", 0.06),
    "pump.open_flow": ("flow of the pump with an open outlet", 0.06),
    "battery.capacity": ("battery capacity", 0.15),
    "line.bore": ("bore of the hose, for its loss", 0.04),
    "suction.strainer_k": ("strainer and suction loss", 0.7),
}
STRAIGHT = {
    "cable.clamps": ("clamps and joints of the cable", 0.010),
    "battery.age": ("battery age", 0.25),
}
LEAST_STRAINER_K = 0.5
"""What a site file gives as no loss at all is taken for a little."""
ASIDES = (
    Aside("lift [m]", 0.15),
    Aside("battery resistance, share", 0.15),
    Aside("pressure gain", 0.005),
    Aside("pressure zero [Pa]", 1300.0),
    Aside("voltage gain", 0.003),
)
LIFT, BATTERY_OHM, PRESSURE_GAIN, PRESSURE_ZERO, VOLTAGE_GAIN = range(len(ASIDES))
CHARGE_SPREAD = 0.02
"""How full a battery comes from the charger, one more of these for each charge."""
CHARGE_LEAST = 0.05
"""An emptier battery would not have pumped."""
CHARGED_SHARE = 0.985
"""Chargers stop a little early (common practice, no source)."""


def inputs_of(site: Site) -> list[Input]:
    """What is to be learned of a site."""
    found = []
    for key, (name, spread) in {**RELATIVE, **STRAIGHT}.items():
        if key == "battery.age" and site.battery.measured_ah > 0.0:
            continue
        _, row = find_row(key)
        centre = float(value_of(site, key))
        if key == "suction.strainer_k":
            centre = max(centre, LEAST_STRAINER_K)
        low, high = row.limit(row.low), row.limit(row.high)
        found.append(Input(key, name, centre, spread, key in RELATIVE, low, high, row))
    return found


def site_at(site: Site, values: dict[str, float]) -> Site:
    """The site with other values of these inputs.

    A pump that gives less with an open outlet than its sheet has worn: the current that goes
    into pressure falls with the stroke.
    """
    for key, value in values.items():
        if key == "pump.open_flow":
            pump = site.pump
            share = value / pump.open_flow_m3_s
            over_a = pump.max_current_a - pump.open_current_a
            site = with_value(site, "pump.max_current", pump.open_current_a + over_a * share)
        site = with_value(site, key, value)
    return site


def with_battery_ohm(site: Site, share: float) -> Site:
    """The site with a battery of so many times the resistance that is usual for its kind."""
    battery = site.battery
    kind = CHEMISTRY[battery.chemistry]
    usual = kind.ohm_ah / battery.capacity_ah * (1.0 + kind.ohm_aged * battery.lived)
    ohm = share * (battery.resistance_ohm or usual)
    return replace(site, battery=replace(battery, resistance_ohm=ohm))
