"""A source that can be emptied: what is left, how far it has sunk, and that it runs over."""

from dataclasses import replace
from math import inf

import pytest

from rillsim.accounts import energy_account, source_account, water_account
from rillsim.plant import Plant
from rillsim.site import FaultSpec, SetSpec, Site, WaterSource
from rillsim.water.store import nights_until_empty
from tests.sim.pumping import HOUR, MINUTE

CUBE = Site(water=WaterSource(stored_m3=1.0, cover_m=1.0))
"""A cube of a metre."""


def pumped(plant: Plant, ticks: int) -> Plant:
    plant.read(0)
    plant.drive(0, 1)
    plant.read(ticks)
    return plant


def test_the_level_sinks_by_what_is_taken_and_the_lift_grows() -> None:
    plant = pumped(Plant(CUBE), 30 * MINUTE)
    truth = plant.truth(30 * MINUTE)
    taken = plant.totals["taken_m3"] - plant.totals["returned_m3"]
    assert taken > 0.2
    assert truth.source_m3 == pytest.approx(1.0 - taken)
    assert plant.rig.circuit.lift_m == pytest.approx(CUBE.water.lift_m + taken, abs=5e-3)
    endless = pumped(Plant(Site()), 30 * MINUTE)
    assert truth.flow_m3_s < endless.truth(30 * MINUTE).flow_m3_s
    assert endless.truth(30 * MINUTE).source_m3 == inf


def test_an_empty_cistern_runs_the_pump_dry_and_its_accounts_close() -> None:
    small = replace(CUBE, water=replace(CUBE.water, stored_m3=0.1))
    plant = pumped(Plant(small), HOUR)
    truth = plant.truth(HOUR)
    assert truth.source_m3 == pytest.approx(0.0, abs=0.004)
    assert truth.flow_m3_s == pytest.approx(0.0, abs=1e-6)
    assert abs(water_account(plant).off) < 1e-9
    assert abs(energy_account(plant).off_percent) < 0.1


def test_spring_roof_and_brim() -> None:
    """A spring of 1 L/min, 4 mm of rain on 25 m2, and room for 50 L."""
    water = WaterSource(stored_m3=0.1, full_m3=0.15, roof_m2=25.0, inflow_m3_s=1e-3 / 60)
    plant = Plant(Site(water=water), rain_mm=lambda from_s, to_s: (to_s - from_s) / 900.0)
    plant.read(HOUR + MINUTE)
    assert plant.totals["inflow_m3"] == pytest.approx(0.06 + 0.8 * 25.0 * 0.004, rel=1e-9)
    assert plant.truth(HOUR + MINUTE).source_m3 == pytest.approx(0.15)
    assert plant.totals["overflow_m3"] == pytest.approx(0.09)
    source = source_account(plant)
    assert source.came == pytest.approx({"stored_m3": 0.1, "inflow_m3": 0.14})
    assert source.became["left_m3"] == pytest.approx(0.15)
    assert abs(source.off) < 1e-12
    assert source_account(Plant(Site())).off_percent == 0.0


def test_the_sums_of_a_tank_by_hand() -> None:
    """914 L a night from 1 m3: the second night finds 86 L."""
    assert nights_until_empty(CUBE, 0.914) == 2
    spring = replace(CUBE, water=replace(CUBE.water, inflow_m3_s=0.5 / 86400))
    assert nights_until_empty(spring, 0.5) == inf
    assert nights_until_empty(spring, 0.7) == 3
    assert nights_until_empty(Site(), 10.0) == inf
    seeps = replace(CUBE, water=replace(CUBE.water, fall_m_per_day=0.1))
    assert nights_until_empty(seeps, 0.3) == 3, "1000, 600 and 200 L"


def test_a_shower_that_is_a_fault_fills_it_as_rain_does() -> None:
    """1.5 mm/h at half severity, for 4 of the 6 h, on 40 m2 of roof."""
    water = WaterSource(stored_m3=0.2, full_m3=1.0, roof_m2=40.0)
    shower = FaultSpec("rain", 1, HOUR / 10.0, 0.5, 4 * HOUR / 10.0)
    site = Site(water=water, faults=(shower,), sets=(SetSpec(start_s=12 * 3600),))
    plant = Plant(site)
    plant.read(6 * HOUR)
    assert plant.totals["inflow_m3"] == pytest.approx(0.8 * 40.0 * 3.0e-3, rel=1e-9)
