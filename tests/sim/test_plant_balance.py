"""Water, charge and energy of whole nights: nothing appears and nothing is lost."""

from dataclasses import replace

import pytest

from rillsim import ledger
from rillsim.plant import Plant
from rillsim.site import BatteryTrip, FaultSpec, Site, SolarSpec
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


@pytest.fixture(params=SITES, scope="module")
def spent(request: pytest.FixtureRequest) -> Plant:
    plant = Plant(SITES[request.param], 3)
    night(plant, 1)
    night(plant, 2)
    return plant


def test_water_balances(spent: Plant) -> None:
    totals, end, rig = spent.totals, spent.present, spent.rig
    stretched = rig.line.compliance_m3_pa * (end.pressure_pa - rig.line.static_pa)
    in_suction = end.filled_m3 - rig.suction.volume_m3
    given = totals["taken_m3"] - totals["returned_m3"] + totals["breathed_m3"]
    kept = totals["sprinkled_m3"] + totals["burst_m3"] + stretched + in_suction
    assert totals["taken_m3"] > 0.0
    assert given == pytest.approx(kept, abs=1e-9 * totals["taken_m3"])


def test_charge_balances(spent: Plant) -> None:
    totals = spent.totals
    battery = spent.rig.stepper.battery
    full_as = 3600.0 * type(battery)(spent.site.battery).charge_ah
    battery.restore(spent.present.battery)
    left_as = 3600.0 * battery.charge_ah
    drawn = totals["pump_as"] + totals["board_as"] + totals["self_discharge_as"]
    drawn += totals["charging_lost_as"] - totals["panel_as"]
    assert drawn > 0.0
    swapped = totals["battery_swap_as"] + totals["battery_warmth_as"]
    assert full_as - left_as == pytest.approx(drawn - swapped, rel=1e-9)


def test_energy_balances(spent: Plant) -> None:
    """Within 0.1 %: what the battery gave is heat, lifted water, spray, or still in the hose."""
    totals = list(spent.totals.values())
    became = sum(totals[place] for place in SPENT)
    line, end = spent.rig.line, spent.present
    stored = 0.5 * line.compliance_m3_pa * (end.pressure_pa**2 - line.static_pa**2)
    stored += 0.5 * line.inertia_kg_m4 * end.flow_m3_s**2
    given = totals[ledger.CHEMICAL] + totals[ledger.PANEL]
    assert given > 1e3
    assert became + stored == pytest.approx(given, rel=1e-3)


def test_every_bin_of_energy_is_a_loss_or_a_use(spent: Plant) -> None:
    # Lift, rise and slip can be given back a little when water swings or runs back.
    little = 1e-3 * (spent.totals["chemical_j"] + spent.totals["panel_j"])
    names = [ledger.BINS[place] for place in SPENT]
    assert {name: spent.totals[name] for name in names if spent.totals[name] < -little} == {}


def test_a_run_costs_more_than_the_board() -> None:
    plant = Plant(SITE, 1)
    plant.read(0)
    plant.drive(0, 1)
    plant.read(10 * MINUTE)
    totals = plant.totals
    assert totals["pump_as"] > 100.0 * totals["board_as"] > 0.0
