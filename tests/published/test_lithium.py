"""The LiFePO4 battery: a measured cell at rest, and the charge by rate of PyBaMM's Prada2013."""

import csv
from pathlib import Path

import pytest

from rillsim.site import BatterySpec
from rillsim.supply.battery import Battery
from rillsim.supply.kibam import capacity_ah

pytestmark = pytest.mark.published

DATA = Path(__file__).parent / "data"
CELL_AH = 2.3
# Four cells in series of the reference's size; the rating is their 20 h charge.
PACK = BatterySpec(chemistry="lfp", capacity_ah=2.285, age=0.0, temperature_c=25.0)
DELIVERED_AT_C50_AH = 2.296
SURFACE_FROM = 0.99
"""Share of charge from which the measured curve climbs to the charger's voltage."""


def measured() -> list[tuple[float, float]]:
    with (DATA / "lfp_rested_cell.csv").open(newline="") as file:
        return [(float(row["share_left"]), float(row["V_cell"])) for row in csv.DictReader(file)]


def test_rested_curve() -> None:
    """Naumann 2018, published with SimSES 1.3.12: a measured cell, from 2.5 % under full down."""
    for left, cell_v in measured():
        if 0.10 <= left <= SURFACE_FROM:
            volt = Battery(PACK, left).rest_v / 4.0
            # The table is coarser than the steps of the plateau.
            assert volt == pytest.approx(cell_v, abs=0.012), left


def test_full_and_rested() -> None:
    """Rested full batteries of four cells read 13.3 to 13.6 V (from memory); a charger's limit is
    14.4 V and the last hundredth of the measured curve, 3.60 V, is what it leaves."""
    assert 13.3 < Battery(PACK).rest_v < 13.6
    assert measured()[-1] == (1.0, 3.6)
    battery = Battery(PACK)
    battery.step(-0.5 * CELL_AH, 3600.0)
    off_v = battery.emf_v
    assert 13.6 < off_v < 14.2
    battery.step(0.0, 3600.0)
    after_v = battery.emf_v
    battery.step(0.0, 5.0 * 3600.0)
    assert off_v > after_v > battery.emf_v
    assert battery.emf_v == pytest.approx(Battery(PACK).rest_v, abs=0.02)


def test_plateau_is_flat() -> None:
    """Naumann 2018: 0.075 V per 60 % from 10 to 70 % discharged; the set Prada2013 has 0.109 V."""
    high = Battery(PACK, 0.90).rest_v / 4.0
    low = Battery(PACK, 0.30).rest_v / 4.0
    assert (high - low) / 60.0 == pytest.approx(0.075 / 60.0, rel=0.05)


@pytest.mark.parametrize(("rate", "delivered_ah"), [(0.1, 2.266), (0.5, 2.119), (1.0, 1.939)])
def test_charge_by_rate(rate: float, delivered_ah: float) -> None:
    """PyBaMM 26.10, Prada2013: delivered at 0.1C and 0.5C (SPMe) and at 1C (DFN)."""
    battery = Battery(PACK)
    hours = delivered_ah / (rate * CELL_AH)
    assert battery.capacity_ah(hours) == pytest.approx(delivered_ah, rel=0.03)


def test_slow_discharge() -> None:
    """PyBaMM 26.10, Prada2013: 2.296 Ah at C/50; the wells were not fitted to this one."""
    assert Battery(PACK).capacity_ah(50.0) == pytest.approx(DELIVERED_AT_C50_AH, rel=0.01)
    assert capacity_ah(2.3028, 50.0, 0.535, 5.43) == pytest.approx(2.296, rel=0.005)


@pytest.mark.parametrize(
    ("charge", "cell_v"),
    [(0.90, 3.33), (0.50, 3.29), (0.20, 3.25)],
)
def test_usual_rest_voltage(charge: float, cell_v: float) -> None:
    """Usual figures of rested cells, from memory."""
    assert Battery(PACK, charge).rest_v / 4.0 == pytest.approx(cell_v, abs=0.030)
