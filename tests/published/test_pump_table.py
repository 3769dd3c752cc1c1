"""A pump entered by its table, against the closed form that the table was taken from."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from rillsim.site import PumpSheet, SheetRow
from rillsim.water.diaphragm import Pump
from rillsim.water.pump import ImpossiblePump, fit_pump

pytestmark = pytest.mark.published

PSI_PA = 6894.757


def table(volts: float) -> list[SheetRow]:
    """G20 of the reference, 0 to 4 bar; written apart from this project's pump."""
    path = Path(__file__).parent / "data" / "pump_model.csv"
    with path.open(newline="") as file:
        return [
            SheetRow(1e5 * float(row["dP_bar"]), float(row["Q_Lmin"]) / 60000.0, float(row["I_A"]))
            for row in csv.DictReader(file)
            if row["pump"] == "G20" and float(row["V"]) == volts and float(row["dP_bar"]) <= 4.0
        ]


def entered() -> PumpSheet:
    return PumpSheet().with_table(tuple(table(12.0)))


@pytest.mark.parametrize(("volts", "off"), [(12.0, 0.005), (10.5, 0.02), (13.5, 0.02)])
def test_flow_and_current_of_every_row(volts: float, off: float) -> None:
    """Derived motor with a volumetric load: also at voltages that are not in the table."""
    pump = fit_pump(entered())
    for row in table(volts):
        _, current_a, flow_m3_s = pump.operate(volts, 0.0, row.pressure_pa)
        assert current_a == pytest.approx(row.current_a, rel=off)
        assert flow_m3_s == pytest.approx(row.flow_m3_s, rel=off)


def test_closer_than_the_four_figures() -> None:
    """A table as sheets of the class print it (made up): psi, gal/min, A. The four figures alone
    are 9 % beside its flow; the fit to all rows keeps within the roundness of a printed table."""
    printed = (
        *((0.0, 5.5, 8.0), (10.0, 5.2, 9.6), (20.0, 4.9, 11.4), (30.0, 4.6, 13.1)),
        *((40.0, 4.25, 14.6), (50.0, 3.9, 15.9), (60.0, 3.5, 17.0)),
    )
    rows = [
        SheetRow(psi * PSI_PA, gallons * 3.785411784e-3 / 60.0, ampere)
        for psi, gallons, ampere in printed
    ]
    sheet = PumpSheet().with_table(tuple(rows))

    def worst(pump: Pump) -> float:
        off = 0.0
        for row in rows:
            _, current_a, flow_m3_s = pump.operate(12.0, 0.0, row.pressure_pa)
            off = max(off, abs(flow_m3_s / row.flow_m3_s - 1.0))
            off = max(off, abs(current_a / row.current_a - 1.0))
        return off

    assert worst(fit_pump(sheet)) < 0.04
    assert worst(fit_pump(replace(sheet, points=()))) > 0.08


def test_a_slip_of_the_pen_is_found() -> None:
    rows = table(12.0)
    wrong = (*rows[:3], replace(rows[3], current_a=2.0 * rows[3].current_a), *rows[4:])
    with pytest.raises(ImpossiblePump, match="beside the pump that the others give"):
        fit_pump(PumpSheet().with_table(wrong))


def test_a_worn_pump_stretches_the_table() -> None:
    sheet = entered()
    worn = replace(sheet, open_flow_m3_s=0.9 * sheet.open_flow_m3_s, max_current_a=16.1)
    flow = fit_pump(worn).operate(12.0, 0.0, 0.0)[2]
    assert flow == pytest.approx(0.9 * fit_pump(sheet).operate(12.0, 0.0, 0.0)[2], rel=0.02)
