"""Water, charge and energy of whole nights: nothing appears and nothing is lost."""

from dataclasses import replace

import pytest

from rillsim import ledger
from rillsim.accounts import charge_account, energy_account, water_account
from rillsim.plant import Plant
from rillsim.site import BatteryTrip, FaultSpec, LineSpec, Site, SolarSpec, WaterSource
from rillsim.water.standing import runs_by_itself
from tests.sim.pumping import HOUR, MINUTE

SITE = Site()
SPENT = tuple(range(ledger.POLARISATION, ledger.TAKEN))
"""Bins that take up the chemical energy, but for what hose and water still hold."""
HYDRAULIC = ("outlet_shut", "hose_burst", "air_leak", "source_empty", "foot_valve_leak")
ELECTRIC = ("relay_chatter", "pump_stalled", "thin_cable", "flat_battery", "battery_lifted")


def night(plant: Plant, number: int) -> None:
    """Two runs of half an hour with a soak between them, and the rest of the day."""
    n = plant.timeline.night_n(number)
    for start in (n, n + HOUR):
        plant.read(start)
        plant.drive(start, 1)
        plant.read(start + HOUR // 2)
        plant.drive(start + HOUR // 2, 0)
    plant.read(n + 20 * HOUR)


def with_fault(name: str) -> Site:
    return replace(SITE, faults=(FaultSpec(name, 1, 200.0, duration_s=900.0),))


SITES = {"healthy": SITE, "a trip home": replace(SITE, battery_trips=(BatteryTrip(1),))}
SITES["a panel"] = replace(SITE, solar=SolarSpec(power_w=60.0))
SITES["a small panel"] = replace(SITE, solar=SolarSpec(power_w=10.0))
SITES |= {name: with_fault(name) for name in HYDRAULIC + ELECTRIC}
ABOVE = replace(SITE, water=WaterSource(lift_m=-3.0))
SITES["a source above"] = ABOVE
SITES["a siphon"] = replace(SITE, line=LineSpec(rise_m=-4.0))
for fault in ("outlet_shut", "hose_burst", "source_empty"):
    SITES[f"a source above, {fault}"] = replace(ABOVE, faults=with_fault(fault).faults)


@pytest.fixture(params=SITES, scope="module")
def spent(request: pytest.FixtureRequest) -> Plant:
    plant = Plant(SITES[request.param], 3)
    night(plant, 1)
    night(plant, 2)
    return plant


def test_water_balances(spent: Plant) -> None:
    water = water_account(spent)
    assert water.came["taken_m3"] > 0.0
    assert abs(water.off) < 1e-9 * water.came["taken_m3"]


def test_charge_balances(spent: Plant) -> None:
    charge = charge_account(spent)
    assert charge.turned_over > 0.0
    assert abs(charge.off) < 1e-9 * charge.turned_over


def test_energy_balances(spent: Plant) -> None:
    """Within 0.1 %: what the battery gave is heat, lifted water, spray, or still in the hose."""
    energy = energy_account(spent)
    assert sum(energy.came.values()) > 1e3
    assert abs(energy.off) < 1e-3 * sum(energy.came.values())


def test_every_bin_of_energy_is_a_loss_or_a_use(spent: Plant) -> None:
    # Lift, rise and slip can be given back a little when water swings or runs back.
    little = 1e-3 * (spent.totals["chemical_j"] + spent.totals["panel_j"])
    names = [ledger.BINS[place] for place in SPENT]
    if runs_by_itself(spent.site):  # There the height is what drives it.
        names = [name for name in names if name not in ("lift_j", "rise_j")]
    assert {name: spent.totals[name] for name in names if spent.totals[name] < -little} == {}


def test_a_run_costs_more_than_the_board() -> None:
    plant = Plant(SITE, 1)
    plant.read(0)
    plant.drive(0, 1)
    plant.read(10 * MINUTE)
    totals = plant.totals
    assert totals["pump_as"] > 100.0 * totals["board_as"] > 0.0
