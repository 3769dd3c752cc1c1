"""The LiFePO4 battery against PyBaMM's Prada2013 cell."""

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


def rested_cell_v(discharged_ah: float) -> float:
    battery = Battery(PACK)
    charge = 1.0 - discharged_ah / PACK.capacity_ah
    if charge >= 0.0:
        return Battery(PACK, charge).rest_v / 4.0
    battery.step(discharged_ah, 3600.0)
    return battery.rest_v / 4.0


@pytest.mark.parametrize(
    ("discharged", "cell_v"),
    [
        (0.02, 3.348),
        (0.10, 3.312),
        (0.20, 3.308),
        (0.30, 3.272),
        (0.50, 3.264),
        (0.70, 3.204),
        (0.80, 3.166),
        (0.90, 2.975),
        (0.95, 2.782),
    ],
)
def test_open_circuit_curve(discharged: float, cell_v: float) -> None:
    """PyBaMM 26.10, Prada2013, C/50 to 2.0 V: cell voltage against the fraction discharged."""
    volt = rested_cell_v(discharged * DELIVERED_AT_C50_AH)
    assert volt == pytest.approx(cell_v, abs=0.010)


def test_open_circuit_curve_of_the_data_file() -> None:
    """PyBaMM 26.10, Prada2013: every row of the stored curve."""
    with (DATA / "pybamm_lfp_C50.csv").open(newline="") as file:
        for row in csv.DictReader(file):
            volt = rested_cell_v(float(row["frac_discharged"]) * DELIVERED_AT_C50_AH)
            # The last step falls by 0.8 V in 5 % of the charge.
            tolerance = 0.06 if float(row["frac_discharged"]) == 1.0 else 0.010
            assert volt == pytest.approx(float(row["V_cell"]), abs=tolerance), row


def test_plateau_is_flat() -> None:
    """PyBaMM 26.10, Prada2013: 0.109 V per 60 % from 10 to 70 % discharged, a cell."""
    high = rested_cell_v(0.10 * DELIVERED_AT_C50_AH)
    low = rested_cell_v(0.70 * DELIVERED_AT_C50_AH)
    assert (high - low) / 60.0 == pytest.approx(0.0018, rel=0.30)


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
    [
        (0.90, 3.33),
        (0.50, 3.29),
        pytest.param(
            0.20,
            3.25,
            marks=pytest.mark.xfail(
                reason="the Prada2013 cell rests at 3.17 V here, 0.08 V under the usual figure"
            ),
        ),
    ],
)
def test_usual_rest_voltage(charge: float, cell_v: float) -> None:
    """Usual figures of rested cells, from memory."""
    assert Battery(PACK, charge).rest_v / 4.0 == pytest.approx(cell_v, abs=0.030)
