"""A tap that snaps shut in the plant: what the transducer at the pump reads, tick by tick.

Joukowsky (1898): the step is density, wave speed and water speed multiplied; at a pump that goes
on delivering it is thrown back and doubled (Wylie and Streeter 1993, chapters 1 and 3). The course
is held against the method of characteristics, written apart from the plant.
"""

from dataclasses import replace

import numpy as np
import pytest

from rillsim.accounts import energy_account, water_account
from rillsim.plant import Plant
from rillsim.replay import TICKS_PER_S as SECOND
from rillsim.site import FaultSpec, LineSpec, SetSpec, Site
from rillsim.water.hammer import TAP_S, first_wave_pa, there_and_back_s, wave_speed_m_s
from tests.sim.characteristics import pressure_at_pump_pa

pytestmark = pytest.mark.published

SHUT_S = 60.0
SHUT_N = 60 * SECOND
LONG = LineSpec(length_m=50.0, bore_m=0.0159, wall_m=0.0025, modulus_pa=40e6)
"""A stiff garden hose: a wave needs more than half a second through it."""


def plant_with(line: LineSpec, severity: float = 1.0) -> Plant:
    """Pumps from tick 0 on; after a minute somebody shuts the tap at once."""
    shut = FaultSpec("outlet_shut", 1, SHUT_S, severity)
    site = Site(line=line, faults=(shut,), sets=(SetSpec(start_s=12 * 3600),))
    plant = Plant(site)
    plant.read(0)
    plant.drive(0, 1)
    return plant


def pressures(plant: Plant, ticks: range) -> np.ndarray:
    found = []
    for n in ticks:
        plant.read(n)
        found.append(plant.truth(n).pressure_pa)
    return np.array(found)


def test_the_step_at_the_pump_is_twice_joukowskys() -> None:
    plant = plant_with(LONG)
    before = pressures(plant, range(SHUT_N - 5, SHUT_N + 1))
    flow = plant.truth(SHUT_N).flow_m3_s
    plant.read(SHUT_N + 1)
    water = plant.rig.line.water
    arrives_n = SHUT_N + round(5.0 * there_and_back_s(LONG, water))
    after = pressures(plant, range(SHUT_N + 2, arrives_n + 4))
    waiting = after[: arrives_n - SHUT_N - 3]
    step_pa = after[-1] - before[-1]
    joukowsky_pa = first_wave_pa(LONG, water, flow, 0.0)
    speed_m_s = flow / (0.25 * np.pi * LONG.bore_m**2)
    assert joukowsky_pa == pytest.approx(
        water.density_kg_m3 * wave_speed_m_s(LONG, water) * speed_m_s
    )
    assert waiting == pytest.approx(before[-1], abs=0.06 * joukowsky_pa)
    # A pump that is pushed back gives a little less, and the saw is damped.
    assert step_pa == pytest.approx(2.0 * joukowsky_pa, rel=0.12)


@pytest.mark.parametrize("length_m", [20.0, 50.0, 80.0])
def test_two_steps_by_the_method_of_characteristics(length_m: float) -> None:
    line = replace(LONG, length_m=length_m)
    plant = plant_with(line)
    first = pressures(plant, range(SHUT_N, SHUT_N + 1))[0]
    flow = plant.truth(SHUT_N).flow_m3_s
    water = plant.rig.line.water
    height_pa = first_wave_pa(line, water, flow, 0.0)
    last_n = round(10.0 * 1.4 * there_and_back_s(line, water))
    ticks = np.arange(2, last_n)
    found = pressures(plant, range(SHUT_N + 2, SHUT_N + last_n))
    # The plant's tap is shut in the middle of its closing time.
    wanted = pressure_at_pump_pa(
        length_m,
        wave_speed_m_s(line, water),
        height_pa / flow,
        flow,
        first,
        TAP_S,
        ticks / 10.0 + 0.5 * TAP_S,
    )
    # The reference has no damping, and its pump is not pushed back.
    assert np.abs(found - wanted).max() < 0.3 * height_pa
    assert np.abs(found - wanted).mean() < 0.2 * height_pa
    alone = first + height_pa * 2.0 * ticks / 10.0 / there_and_back_s(line, water)
    assert np.abs(alone - wanted).mean() > 1.5 * np.abs(found - wanted).mean()


def test_the_peak_stays_under_what_the_limits_reckon_with() -> None:
    """The mean of the hose and one wave on top (limits/water.py), until the pump is stopped."""
    plant = plant_with(LONG)
    pressures(plant, range(SHUT_N + 1))
    flow = plant.truth(SHUT_N).flow_m3_s
    wave_pa = first_wave_pa(LONG, plant.rig.line.water, flow)
    for n in range(SHUT_N + 1, SHUT_N + 30):
        plant.read(n)
        mean_pa = plant.present.pressure_pa
        assert plant.truth(n).pressure_pa < mean_pa + 1.02 * wave_pa


def test_a_pump_that_stops_lets_the_other_wave_run_and_both_die_away() -> None:
    plant = plant_with(LONG)
    stop_n = SHUT_N + 12
    running = pressures(plant, range(SHUT_N, stop_n + 1))[-1]
    plant.drive(stop_n, 0)
    after = pressures(plant, range(stop_n + 1, stop_n + 150))
    height_pa = first_wave_pa(LONG, plant.rig.line.water, plant.site.pump.open_flow_m3_s, 0.0)
    assert after[0] < running - 0.3 * height_pa
    assert np.ptp(after[:20]) > 0.3 * height_pa
    assert np.ptp(after[-20:]) < 0.01 * height_pa
    assert abs(water_account(plant).off) < 1e-9
    assert abs(energy_account(plant).off_percent) < 0.1


def test_a_tap_that_is_half_closed_or_opened_again_makes_no_saw() -> None:
    plant = plant_with(LONG, 0.5)
    pressures(plant, range(SHUT_N + 5))
    assert plant.truth(SHUT_N + 4).pressure_pa == pytest.approx(plant.present.pressure_pa)
