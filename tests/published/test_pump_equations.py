"""The pump against a motor with a volumetric load that was worked out apart from it.

No open numeric data set of small diaphragm pumps is known. The reference figures are the
closed form of a permanent-magnet motor that drives a volumetric load, as in Wenham et al.,
Applied Photovoltaics, ch. 11; the ranges of the class are from memory.
"""

import csv
from dataclasses import replace
from math import pi
from pathlib import Path

import numpy as np
import pytest

from rillsim.site import PumpSheet
from rillsim.water.pump import ImpossiblePump, Pump, fit_pump

pytestmark = pytest.mark.published

DATA = Path(__file__).parent / "data"
L_MIN = 1.0e-3 / 60.0
BAR = 1.0e5
SHEETS = {
    "G20": PumpSheet(
        open_flow_m3_s=20.0 * L_MIN,
        open_current_a=8.0,
        max_current_a=17.0,
        shutoff_pa=4.0 * BAR,
        max_pressure_pa=4.0 * BAR,
        speed_rad_s=2200.0 * pi / 30.0,
        winding_ohm=0.15,
    ),
    "G11": PumpSheet(
        open_flow_m3_s=11.0 * L_MIN,
        open_current_a=4.5,
        max_current_a=9.5,
        shutoff_pa=3.8 * BAR,
        max_pressure_pa=3.8 * BAR,
        speed_rad_s=2400.0 * pi / 30.0,
        winding_ohm=0.25,
    ),
}
PUMPS = {name: fit_pump(sheet) for name, sheet in SHEETS.items()}


@pytest.mark.parametrize(
    ("name", "ohm", "motor", "friction", "viscous", "stroke_cm3", "give_bar", "slip_l_min_bar"),
    [
        ("G20", 0.15, 0.046878, 0.26252, 4.8835e-4, 9.0909, 0.061675, 0.09887),
        ("G11", 0.25, 0.043270, 0.13630, 2.3243e-4, 4.5833, 0.051388, 0.06185),
    ],
)
def test_parameters(
    name: str,
    ohm: float,
    motor: float,
    friction: float,
    viscous: float,
    stroke_cm3: float,
    give_bar: float,
    slip_l_min_bar: float,
) -> None:
    """Solved by hand from the points of the sheet (30 % of the friction grows with speed)."""
    pump = PUMPS[name]
    assert pump.winding_ohm == pytest.approx(ohm, rel=1e-12)
    assert pump.motor_v_s == pytest.approx(motor, rel=1e-4)
    assert pump.friction_nm == pytest.approx(friction, rel=1e-4)
    assert pump.viscous_nm_s == pytest.approx(viscous, rel=1e-4)
    assert pump.stroke_m3_rad * 2.0 * pi * 1e6 == pytest.approx(stroke_cm3, rel=1e-4)
    assert pump.give_per_pa * BAR == pytest.approx(give_bar, rel=1e-4)
    assert pump.slip_m3_s_pa * BAR / L_MIN == pytest.approx(slip_l_min_bar, rel=1e-4)


@pytest.mark.parametrize(
    ("name", "flows", "currents", "efficiencies"),
    [
        (
            "G20",
            (20.000, 17.937, 16.060, 14.350, 12.787),
            (8.000, 10.803, 13.237, 15.303, 17.000),
            (0.0, 0.231, 0.337, 0.391, 0.418),
        ),
        (
            "G11",
            (11.000, 10.001, 9.080, 8.231, 7.448),
            (4.500, 6.051, 7.434, 8.649, 9.696),
            (0.0, 0.230, 0.339, 0.397, 0.427),
        ),
    ],
)
def test_curve_at_12_v(
    name: str,
    flows: tuple[float, ...],
    currents: tuple[float, ...],
    efficiencies: tuple[float, ...],
) -> None:
    """Flow, current and overall efficiency at 0 to 4 bar."""
    for bar, (l_min, ampere, efficiency) in enumerate(
        zip(flows, currents, efficiencies, strict=True)
    ):
        _, current, flow = PUMPS[name].operate(12.0, 0.0, bar * BAR)
        assert flow / L_MIN == pytest.approx(l_min, abs=1e-3)
        assert current == pytest.approx(ampere, abs=1e-3)
        assert bar * BAR * flow / (12.0 * current) == pytest.approx(efficiency, abs=1e-3)


def test_every_row_of_the_table() -> None:
    """Both pumps at 10.5, 12 and 13.5 V, 0 to 4 bar."""
    with (DATA / "pump_model.csv").open(newline="") as file:
        table = list(csv.DictReader(file))
    assert len(table) == 54
    for row in table:
        speed, current, flow = PUMPS[row["pump"]].operate(
            float(row["V"]), 0.0, float(row["dP_bar"]) * BAR
        )
        assert speed * 30.0 / pi == pytest.approx(float(row["rpm"]), abs=0.06)
        assert current == pytest.approx(float(row["I_A"]), abs=6e-4)
        assert flow / L_MIN == pytest.approx(float(row["Q_Lmin"]), abs=6e-4)


@pytest.mark.parametrize("pump", [*PUMPS.values(), fit_pump(PumpSheet())])
@pytest.mark.parametrize("supply_v", [2.0, 9.0, 12.0, 14.4])
@pytest.mark.parametrize("series_ohm", [0.0, 0.9])
def test_first_law(pump: Pump, supply_v: float, series_ohm: float) -> None:
    """V I = p Q + I2 R + Tf w + b w2 + G p2, to 1e-9, standing still and past the rating too."""
    for pressure_pa in np.linspace(0.0, 12.0 * BAR, 49):
        power = pump.powers(supply_v, series_ohm, float(pressure_pa))
        assert sum(power[1:]) == pytest.approx(power.electric, rel=1e-9)


@pytest.mark.parametrize("pump", [*PUMPS.values(), fit_pump(PumpSheet())])
def test_shape_of_the_curve(pump: Pump) -> None:
    """Flow falls and current rises with pressure; efficiency stays between 0 and 0.5."""
    flow_before, current_before = 1.0, 0.0
    for bar in np.linspace(0.0, 4.0, 41):
        _, current, flow = pump.operate(12.0, 0.0, float(bar) * BAR)
        assert flow < flow_before
        assert current > current_before
        assert 0.0 <= bar * BAR * flow / (12.0 * current) <= 0.5
        flow_before, current_before = flow, current


def test_curve_is_nearly_straight() -> None:
    """Best straight line through the flow from 0 to 4 bar: off by less than 0.25 L/min."""
    bars = np.linspace(0.0, 4.0, 41)
    flows = [PUMPS["G20"].operate(12.0, 0.0, float(bar) * BAR)[2] / L_MIN for bar in bars]
    line = np.polyval(np.polyfit(bars, flows, 1), bars)
    assert float(np.abs(line - flows).max()) < 0.25


def test_flow_grows_a_little_faster_than_voltage() -> None:
    """13.5 V against 12 V (a ratio of 1.125) at 1 bar: 1.1406."""
    high = PUMPS["G20"].operate(13.5, 0.0, BAR)[2]
    low = PUMPS["G20"].operate(12.0, 0.0, BAR)[2]
    assert high / low == pytest.approx(1.1406, abs=1e-4)


def test_rated_figures_need_an_elastic_stroke() -> None:
    """Energy conservation: rigid, (Imax - I0)(V - I0 R) = Q0 p gives 2.92 bar at 17 A."""
    sheet = SHEETS["G20"]
    rigid_pa = 9.0 * (12.0 - 8.0 * 0.15) / sheet.open_flow_m3_s
    assert rigid_pa / BAR == pytest.approx(2.92, abs=0.005)
    loss = PUMPS["G20"].give_per_pa * sheet.shutoff_pa
    assert loss == pytest.approx(0.25, abs=0.01)
    # At the rigid point the stroke hardly gives; below it no pump exists.
    near_rigid = fit_pump(replace(sheet, shutoff_pa=3.05 * BAR))
    assert near_rigid.give_per_pa * 3.05 * BAR < 0.02
    with pytest.raises(ImpossiblePump):
        fit_pump(replace(sheet, shutoff_pa=2.8 * BAR))


@pytest.mark.parametrize("pump", [*PUMPS.values(), fit_pump(PumpSheet())])
def test_parameters_are_of_the_class(pump: Pump) -> None:
    """Plausible ranges of the class, from memory."""
    assert 0.08 <= pump.winding_ohm <= 0.4
    assert 0.03 <= pump.motor_v_s <= 0.06
    speed, full_load_a, _ = pump.operate(12.0, 0.0, 4.0 * BAR)
    friction = pump.friction_nm + pump.viscous_nm_s * speed
    assert 0.3 <= friction / (pump.motor_v_s * full_load_a) <= 0.5
    assert 1800.0 <= pump.operate(12.0, 0.0, 0.0)[0] * 30.0 / pi <= 3000.0
    assert 0.0 <= pump.give_per_pa * BAR <= 0.1
    assert 0.02 <= pump.slip_m3_s_pa * BAR / L_MIN <= 0.3
