"""The pump: its data sheet, what is refused and why, and the corners of its running."""

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillsim.site import PumpSheet
from rillsim.water.pump import ImpossiblePump, Pump, fit_pump

BAR = 1.0e5
L_MIN = 1.0e-3 / 60.0
GAL_MIN = 3.785411784e-3 / 60.0
PSI = 6894.757
SHEET = PumpSheet()
PUMP = fit_pump(SHEET)
SMALL = PumpSheet(
    open_flow_m3_s=3.0 * GAL_MIN,
    open_current_a=4.5,
    max_current_a=9.5,
    shutoff_pa=55.0 * PSI,
    max_pressure_pa=55.0 * PSI,
)


@pytest.mark.parametrize(
    "sheet", [SHEET, SMALL, replace(SHEET, rated_v=24.0, open_current_a=4.0, max_current_a=8.5)]
)
def test_pump_passes_through_its_sheet(sheet: PumpSheet) -> None:
    pump = fit_pump(sheet)
    speed, current, flow = pump.operate(sheet.rated_v, 0.0, 0.0)
    assert speed == pytest.approx(sheet.speed_rad_s, rel=1e-12)
    assert current == pytest.approx(sheet.open_current_a, rel=1e-12)
    assert flow == pytest.approx(sheet.open_flow_m3_s, rel=1e-12)
    full_load_a = pump.operate(sheet.rated_v, 0.0, sheet.shutoff_pa)[1]
    assert full_load_a == pytest.approx(sheet.max_current_a, rel=1e-12)


def fit_or_refusal(sheet: PumpSheet) -> Pump | ImpossiblePump:
    try:
        return fit_pump(sheet)
    except ImpossiblePump as refusal:
        return refusal


@given(
    open_l_min=st.floats(3.0, 40.0),
    open_a=st.floats(1.0, 12.0),
    over=st.floats(1.05, 4.0),
    bar=st.floats(1.0, 8.0),
    switch=st.booleans(),
)
def test_any_sheet_is_met_or_refused(
    open_l_min: float, open_a: float, over: float, bar: float, switch: bool
) -> None:
    """Either one clear sentence, or a pump that keeps the first law at every pressure."""
    sheet = PumpSheet(
        open_flow_m3_s=open_l_min * L_MIN,
        open_current_a=open_a,
        max_current_a=open_a * over,
        shutoff_pa=bar * BAR,
        max_pressure_pa=bar * BAR,
        pressure_switch=switch,
    )
    pump = fit_or_refusal(sheet)
    if isinstance(pump, ImpossiblePump):
        sentence = str(pump)
        assert hasattr(sheet, pump.field)
        assert sentence.startswith(f"{pump.field} ")
        assert " is impossible: " in sentence
        assert sentence.endswith("would be possible")
        assert "\n" not in sentence
        return
    current_before = 0.0
    for step in range(11):
        pressure_pa = sheet.shutoff_pa * step / 10.0
        power = pump.powers(12.0, 0.0, pressure_pa)
        current = power.electric / 12.0
        assert sum(power[1:]) == pytest.approx(power.electric, rel=1e-9)
        assert power.hydraulic <= 0.501 * power.electric
        assert current > current_before
        current_before = current
    assert current_before <= sheet.max_current_a * (1.0 + 1e-9)
    assert pump.operate(12.0, 0.0, 0.0)[2] == pytest.approx(sheet.open_flow_m3_s)


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"shutoff_pa": 8.0 * BAR}, "shutoff_pa", "are less power than 8 bar (116 psi) takes"),
        ({"shutoff_pa": 2.0 * BAR}, "max_current_a", "are more power than 2 bar (29 psi) takes"),
        ({"max_current_a": 30.0}, "max_current_a", "15.5 to 20.9 A at 4.14 bar (60 psi)"),
        ({"max_current_a": 7.0}, "max_current_a", "current rises with pressure"),
        ({"max_current_a": 8.0}, "max_current_a", "anything over the open-flow current of 8 A"),
        ({"open_current_a": 2.0, "max_current_a": 11.0}, "open_current_a", "passes 50 %"),
        ({"winding_ohm": 0.5}, "winding_ohm", "up to 0.35 ohm would be possible"),
        ({"speed_rad_s": 20.0}, "speed_rad_s", "191 rpm"),
        ({"rated_v": 230.0}, "rated_v", "6 to 48 V would be possible"),
        ({"open_flow_m3_s": 0.0}, "open_flow_m3_s", "a figure over 0"),
        ({"open_flow_m3_s": math.nan}, "open_flow_m3_s", "a figure over 0"),
        ({"open_current_a": -8.0}, "open_current_a", "-8 A"),
        ({"max_pressure_pa": 1.0 * BAR}, "max_pressure_pa", "4.14 bar (60 psi) or more"),
        ({"winding_ohm": -0.1}, "winding_ohm", "0 (unknown) or more"),
    ],
)
def test_impossible_sheets(fields: dict[str, float], field: str, says: str) -> None:
    if "max_pressure_pa" not in fields:
        fields = {"max_pressure_pa": 10.0 * BAR, **fields}
    with pytest.raises(ImpossiblePump) as refusal:
        fit_pump(replace(SHEET, **fields))
    assert refusal.value.field == field
    assert str(refusal.value).startswith(f"{field} ")
    assert says in str(refusal.value)


def test_what_the_refusal_offers_is_possible() -> None:
    """The ranges named in the sentence are accepted inside and refused outside."""
    sheet = replace(SHEET, shutoff_pa=8.0 * BAR, max_pressure_pa=20.0 * BAR)
    with pytest.raises(ImpossiblePump) as refusal:
        fit_pump(sheet)
    found = re.search(
        r"about ([\d.]+) bar .* to ([\d.]+) bar .* at 17 A, or ([\d.]+) to ([\d.]+) A",
        str(refusal.value),
    )
    assert found is not None
    low_bar, high_bar, low_a, high_a = (float(figure) for figure in found.groups())
    for bar in (low_bar * 1.01, 0.5 * (low_bar + high_bar), high_bar * 0.99):
        fit_pump(replace(sheet, shutoff_pa=bar * BAR))
    for ampere in (low_a * 1.01, 0.5 * (low_a + high_a), high_a * 0.99):
        fit_pump(replace(sheet, max_current_a=ampere))
    # The winding, which the sheet leaves open, shifts the edges by some per cent.
    for bar in (low_bar * 0.85, high_bar * 1.10):
        with pytest.raises(ImpossiblePump):
            fit_pump(replace(sheet, shutoff_pa=bar * BAR))
    for ampere in (low_a * 0.90, high_a * 1.20):
        with pytest.raises(ImpossiblePump):
            fit_pump(replace(sheet, max_current_a=ampere))


@pytest.mark.parametrize(("open_a", "most_a"), [(2.0, 11.0), (1.3, 4.6), (5.0, 17.0)])
def test_offered_open_current_is_the_edge(open_a: float, most_a: float) -> None:
    """The open-flow current that the sentence offers brings the efficiency to one half."""
    sheet = replace(SHEET, open_current_a=open_a, max_current_a=most_a, winding_ohm=0.15)
    # A pressure that a slightly elastic stroke meets, so that only the efficiency is wrong.
    spare_w = (most_a - open_a) * (12.0 - 0.7 * open_a * 0.15)
    rigid_pa = spare_w / sheet.open_flow_m3_s
    sheet = replace(sheet, shutoff_pa=1.02 * rigid_pa, max_pressure_pa=20.0 * BAR)
    with pytest.raises(ImpossiblePump) as refusal:
        fit_pump(sheet)
    found = re.search(r"about ([\d.]+) A or more", str(refusal.value))
    assert found is not None
    offered_a = float(found.group(1))
    assert open_a < offered_a < most_a
    for open_current_a, possible in ((1.03 * offered_a, True), (0.95 * offered_a, False)):
        trial = replace(sheet, open_current_a=open_current_a)
        rigid_w = (most_a - open_current_a) * (12.0 - 0.7 * open_current_a * 0.15)
        trial = replace(trial, shutoff_pa=1.02 * rigid_w / sheet.open_flow_m3_s)
        assert isinstance(fit_or_refusal(trial), Pump) is possible


def test_pressure_switch_makes_the_current_a_bound() -> None:
    """With a switch the highest current may never be reached; without one it must be."""
    sheet = replace(SHEET, max_current_a=30.0)
    with pytest.raises(ImpossiblePump):
        fit_pump(sheet)
    pump = fit_pump(replace(sheet, pressure_switch=True))
    assert pump.give_per_pa == 0.0
    assert 17.0 < pump.operate(12.0, 0.0, sheet.shutoff_pa)[1] < 30.0
    # A bound that is too low stays impossible, and one that fits is still the current there.
    with pytest.raises(ImpossiblePump):
        fit_pump(replace(SHEET, max_current_a=10.0, pressure_switch=True))
    fitted = fit_pump(replace(SHEET, pressure_switch=True))
    assert fitted == PUMP


def stall_v(series_ohm: float, pressure_pa: float) -> float:
    """Supply at which k V / R is just the torque of friction and pressure [V]."""
    load_nm = PUMP.friction_nm + pressure_pa * PUMP.stroke_at(pressure_pa)
    return load_nm * (PUMP.winding_ohm + series_ohm) / PUMP.motor_v_s


@pytest.mark.parametrize("pressure_pa", [0.0, 2.0 * BAR, 4.0 * BAR])
@pytest.mark.parametrize("series_ohm", [0.0, 0.2, 1.0])
def test_low_voltage_stalls_it(pressure_pa: float, series_ohm: float) -> None:
    """Speed falls to nothing at the stall voltage and is never negative below it."""
    least_v = stall_v(series_ohm, pressure_pa)
    assert least_v > 0.0
    assert PUMP.operate(1.01 * least_v, series_ohm, pressure_pa)[0] > 0.0
    for share in (0.99, 0.5, 0.01):
        supply_v = share * least_v
        speed, current, flow = PUMP.operate(supply_v, series_ohm, pressure_pa)
        assert speed == 0.0
        assert current == pytest.approx(supply_v / (PUMP.winding_ohm + series_ohm), rel=1e-12)
        assert current == PUMP.stall_current_a(supply_v, series_ohm)
        assert flow == -PUMP.slip_m3_s_pa * pressure_pa


def test_current_is_continuous_at_the_stall() -> None:
    least_v = stall_v(0.1, 3.0 * BAR)
    below = PUMP.operate(least_v * (1.0 - 1e-9), 0.1, 3.0 * BAR)
    above = PUMP.operate(least_v * (1.0 + 1e-9), 0.1, 3.0 * BAR)
    for one, other in zip(below, above, strict=True):
        assert one == pytest.approx(other, rel=1e-6, abs=1e-6)


def test_curve_is_smooth_past_the_rating() -> None:
    """At half the stroke the elastic law changes over without a jump or a kink."""
    bend_pa = 0.5 / PUMP.give_per_pa
    low, middle, high = (PUMP.operate(12.0, 0.05, bend_pa + d) for d in (-100.0, 0.0, 100.0))
    assert high[2] - middle[2] == pytest.approx(middle[2] - low[2], rel=1e-2)
    # The current has its top there and stays on it.
    assert high[1] == pytest.approx(middle[1], abs=1e-9)
    assert low[1] == pytest.approx(middle[1], abs=1e-5)


def test_dry_pump_is_fast_and_idle() -> None:
    speed, current = PUMP.operate_dry(12.0, 0.05)
    wet_speed, wet_current, _ = PUMP.operate(12.0, 0.05, 0.0)
    assert speed > wet_speed
    assert 0.5 * wet_current < current < 0.8 * wet_current
    assert PUMP.operate_dry(0.3, 0.05) == (0.0, PUMP.stall_current_a(0.3, 0.05))


def test_water_that_runs_downhill_drives_it_along() -> None:
    speed, current, flow = PUMP.operate(12.0, 0.0, -0.2 * BAR)
    assert speed > SHEET.speed_rad_s
    assert current < SHEET.open_current_a
    assert flow > SHEET.open_flow_m3_s


def test_dead_head_lies_past_the_rating() -> None:
    pressure_pa = PUMP.dead_head_pa(12.0, 0.05)
    assert pressure_pa > SHEET.shutoff_pa
    assert PUMP.operate(12.0, 0.05, pressure_pa)[2] == pytest.approx(0.0, abs=1e-9)
    assert PUMP.dead_head_pa(0.3, 0.05) == 0.0, "the motor stands without any pressure"


def test_worn_pump_gives_less() -> None:
    flows = [PUMP.worn(wear).operate(12.0, 0.0, 2.0 * BAR)[2] for wear in (0.0, 0.3, 0.6, 1.0)]
    assert flows[0] == PUMP.operate(12.0, 0.0, 2.0 * BAR)[2]
    assert all(less < more for more, less in zip(flows, flows[1:], strict=False))
    assert flows[-1] == pytest.approx(0.65 * flows[0], rel=0.05)
    power = PUMP.worn(0.5).powers(12.0, 0.0, 2.0 * BAR)
    assert sum(power[1:]) == pytest.approx(power.electric, rel=1e-9)
    with pytest.raises(ValueError, match="pump wear is 2; it runs from 0"):
        PUMP.worn(2)


def test_seized_pump_draws_the_stall_current() -> None:
    speed, current, flow = PUMP.seized().operate(12.0, 0.05, 0.0)
    assert (speed, flow) == (0.0, 0.0)
    assert current == pytest.approx(12.0 / 0.20, rel=1e-9)
