"""The battery that stands in for PyBaMM's, against the nights that PyBaMM itself went through."""

import csv
from itertools import groupby

import pytest

from rillsim.site import BatterySpec
from tests.published.porous_battery import COLD_C, DATA, RATED_AH, SET_C, PorousBattery

pytestmark = pytest.mark.published

IDLE_A = 0.002
DEEP_V = 11.5
"""Below this no board pumps, and the table is coarse."""


def nights(acid: str, current_a: str, minutes: str) -> list[tuple[float, float]]:
    """Volts of PyBaMM and of the stand-in, at every look of these nights."""
    with (DATA / "pybamm_nights.csv").open(newline="") as file:
        rows = [
            row
            for row in csv.DictReader(file)
            if (row["acid"], row["current_a"], row["minutes"]) == (acid, current_a, minutes)
        ]
    spec = BatterySpec(chemistry="agm", capacity_ah=RATED_AH, age=0.0)
    battery = PorousBattery(spec, temperature_c=SET_C if acid == "set" else COLD_C)
    # The trace is of one cell, and of the charge that it has: no part of it is lost to the cold.
    battery._parallel, battery.self_discharge_a = 1.0, 0.0
    load_a, run_s, found = float(current_a), 60.0 * float(minutes), []
    battery.step(IDLE_A, 3600.0)
    for _, looks in groupby(rows, lambda row: row["night"]):
        now_s = 0.0
        for look in looks:
            at_s = float(look["at_s"]) + (run_s if look["phase"] == "after" else 0.0)
            if look["phase"] == "after" and now_s < run_s:
                battery.step(load_a, run_s - now_s)
                now_s = run_s
            pumping = look["phase"] == "run"
            if at_s > now_s:
                battery.step(load_a if pumping else IDLE_A, at_s - now_s)
                now_s = at_s
            found.append((float(look["volt"]), battery.terminal_v(load_a if pumping else 0.0)))
        battery.step(IDLE_A, 86400.0 - now_s)
    return [(theirs, ours) for theirs, ours in found if theirs > DEEP_V]


@pytest.mark.parametrize("acid", ["set", "cold"])
@pytest.mark.parametrize(
    ("current_a", "minutes"), [("1.36", "60"), ("2.5", "20"), ("2.5", "40"), ("4.25", "40")]
)
def test_it_goes_through_the_nights_as_pybamm_does(
    acid: str, current_a: str, minutes: str
) -> None:
    """PyBaMM 26.10.1.1, Full, Sulzer2019: at work, after the run and at rest; of the eight
    traces two were fitted. A converter's step is 4.5 mV."""
    looks = nights(acid, current_a, minutes)
    assert len(looks) > 30
    off_mv = [1000.0 * (theirs - ours) for theirs, ours in looks]
    rms_mv = (sum(off * off for off in off_mv) / len(off_mv)) ** 0.5
    assert rms_mv < 7.0
    assert max(map(abs, off_mv)) < 25.0


def test_more_cells_are_a_larger_battery() -> None:
    small = PorousBattery(BatterySpec(chemistry="agm", capacity_ah=20.0, age=0.0))
    large = PorousBattery(BatterySpec(chemistry="agm", capacity_ah=60.0, age=0.0))
    for _ in range(10):
        small.step(4.0, 600.0)
        large.step(12.0, 600.0)
    assert large.terminal_v(12.0) == pytest.approx(small.terminal_v(4.0), abs=0.002)
