"""What came in and what became of it: energy, charge and water of a plant, and water of the soil.

The two sides of an account are equal but for the rounding of the integration: what they differ
by is told with them.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from rillsim import ledger
from rillsim.garden.garden import SoilAccount, SoilTruth
from rillsim.plant import Plant
from rillsim.stepper import AS_PER_AH
from rillsim.supply.battery import Battery

_ENERGY_TO = ledger.BINS[ledger.POLARISATION : ledger.TAKEN]
_CHARGE_TO = ("pump_as", "board_as", "self_discharge_as", "charging_lost_as")


@dataclass(frozen=True)
class Account:
    """Two sides by name; all amounts of an account have one unit, which ends each name."""

    came: Mapping[str, float]
    became: Mapping[str, float]

    @property
    def off(self) -> float:
        """What came and did not become anything."""
        return sum(self.came.values()) - sum(self.became.values())

    @property
    def turned_over(self) -> float:
        """The larger side, each amount counted without its sign."""
        return max(sum(map(abs, side.values())) for side in (self.came, self.became))

    @property
    def off_percent(self) -> float:
        """What is off, as a share of what was turned over [%]; 0 where nothing was."""
        return 100.0 * self.off / self.turned_over if self.turned_over else 0.0


@dataclass(frozen=True)
class Accounts:
    """Those of a replay."""

    energy: Account
    charge: Account
    water: Account
    source: Account
    """Of one that can be emptied; empty for any other."""
    soil_mean: Account
    soil_driest: Account
    """Of the quarter of the plot that lacks most at the end."""


def accounts_of(plant: Plant, soil: SoilTruth) -> Accounts:
    """Close the accounts of a plant and of the garden that its sprinkler stood in."""
    water = water_account(plant)
    became = dict(water.became)
    became.pop("sprinkled_m3")
    sprayed = {
        "on_plot_m3": soil.on_plot_l / 1e3,
        "beside_plot_m3": soil.beside_l / 1e3,
        "lost_in_air_m3": soil.air_l / 1e3,
        "drawn_back_m3": -soil.back_l / 1e3,
    }
    return Accounts(
        energy=energy_account(plant),
        charge=charge_account(plant),
        water=Account(water.came, {**sprayed, **became}),
        source=source_account(plant),
        soil_mean=soil_account(soil.mean),
        soil_driest=soil_account(soil.driest),
    )


def energy_account(plant: Plant) -> Account:
    """Out of the battery's chemistry and a panel, into heat, height, spray and the hose [J]."""
    totals, line, end = plant.totals, plant.rig.line, plant.present
    held = 0.5 * line.compliance_m3_pa * (end.pressure_pa**2 - line.static_pa**2)
    held += 0.5 * line.inertia_kg_m4 * end.flow_m3_s**2
    return Account(
        {name: totals[name] for name in ("chemical_j", "panel_j")},
        {**{name: totals[name] for name in _ENERGY_TO}, "held_in_hose_j": held},
    )


def charge_account(plant: Plant) -> Account:
    """Out of the battery, into pump and board and its own losses [A s]."""
    totals = plant.totals
    battery = plant.rig.stepper.battery
    battery.restore(plant.present.battery)
    given_ah = Battery(plant.site.battery).charge_ah - battery.charge_ah
    came = {"battery_as": given_ah * AS_PER_AH}
    came |= {name: totals[name] for name in ("battery_swap_as", "battery_warmth_as", "panel_as")}
    return Account(came, {name: totals[name] for name in _CHARGE_TO})


def water_account(plant: Plant) -> Account:
    """Out of the source, through the sprinkler or a hole, or still in the lines [m3]."""
    totals, rig, end = plant.totals, plant.rig, plant.present
    return Account(
        {
            "taken_m3": totals["taken_m3"],
            "returned_m3": -totals["returned_m3"],
            "breathed_m3": totals["breathed_m3"],
        },
        {
            "sprinkled_m3": totals["sprinkled_m3"],
            "burst_m3": totals["burst_m3"],
            "held_in_hose_m3": rig.line.compliance_m3_pa * (end.pressure_pa - rig.line.static_pa),
            "held_in_suction_m3": end.filled_m3 - rig.suction.volume_m3,
        },
    )


def source_account(plant: Plant) -> Account:
    """Stored at first and come in since, into the suction line, over the brim, or left [m3]."""
    store, totals = plant.rig.store, plant.totals
    if not store.ends:
        return Account({}, {})
    return Account(
        {"stored_m3": plant.site.water.stored_m3, "inflow_m3": totals["inflow_m3"]},
        {
            "taken_m3": totals["taken_m3"],
            "returned_m3": -totals["returned_m3"],
            "overflow_m3": totals["overflow_m3"],
            "left_m3": store.left_m3(plant.present.totals),
        },
    )


def soil_account(soil: SoilAccount) -> Account:
    """Rain and spray, into the air, away, and into the root zone [mm]."""
    parts = asdict(soil)
    return Account({name: parts.pop(name) for name in ("spray_mm", "rain_mm")}, parts)
