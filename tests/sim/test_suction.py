"""Suction line: NPSH, the limit it sets, priming, leaks."""

from dataclasses import replace
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillsim.plant import Plant
from rillsim.site import FaultSpec, Site, SuctionSpec
from rillsim.water.properties import GRAVITY_M_S2, Water
from rillsim.water.suction import Suction, fill_ratio, npsh_required_m

WATER = Water.at(15.0)
OPEN_FLOW = 3.47e-4
SUCTION = Suction(SuctionSpec(), WATER, OPEN_FLOW)
WEIGHT = WATER.density_kg_m3 * GRAVITY_M_S2


def test_static_lift_alone() -> None:
    assert SUCTION.inlet_pressure_pa(0.0, 2.0) == pytest.approx(-2.0 * WEIGHT, rel=1e-12)
    available = (101325.0 - WATER.vapour_pa) / WEIGHT - 2.0
    assert SUCTION.npsh_available_m(0.0, 2.0) == pytest.approx(available, rel=1e-9)


def test_blocked_strainer_costs_the_square() -> None:
    """Half the openings: twice the speed, four times the strainer's loss."""
    spec = SuctionSpec(strainer_k=2.0)
    clean, bare = (
        Suction(spec, WATER, OPEN_FLOW),
        Suction(SuctionSpec(strainer_k=0.0), WATER, OPEN_FLOW),
    )
    strainer = clean.loss_pa(2e-4) - bare.loss_pa(2e-4)
    half = clean.loss_pa(2e-4, 0.5) - bare.loss_pa(2e-4)
    assert half == pytest.approx(4.0 * strainer, rel=1e-9)
    assert clean.loss_pa(-2e-4, 0.5) == -clean.loss_pa(2e-4, 0.5)


@given(lift=st.floats(-1.0, 7.0), block=st.floats(0.0, 1.0))
def test_limit_is_where_the_two_heads_meet(lift: float, block: float) -> None:
    limit = SUCTION.flow_limit_m3_s(lift, block)
    available = SUCTION.npsh_available_m(limit, lift, block)
    assert available == pytest.approx(SUCTION.npsh_required_m(limit), abs=1e-6)
    assert SUCTION.flow_limit_m3_s(lift + 0.2, block) < limit


def test_no_flow_above_the_highest_lift() -> None:
    assert SUCTION.flow_limit_m3_s(9.0) == 0.0
    assert npsh_required_m(0.0, OPEN_FLOW) < npsh_required_m(OPEN_FLOW, OPEN_FLOW)


@given(displaced=st.floats(1e-6, 1e-3), limit=st.floats(1e-6, 1e-3))
def test_fill_is_a_smooth_lesser(displaced: float, limit: float) -> None:
    flow = fill_ratio(displaced, limit) * displaced
    lesser = min(displaced, limit)
    assert 0.97 * lesser <= flow * (1 + 1e-6)
    assert flow <= lesser * (1 + 1e-9)


def test_fill_at_the_ends() -> None:
    assert fill_ratio(1e-4, 1e-4) == pytest.approx(0.97, rel=1e-9)
    assert fill_ratio(1e-4, 0.0) == 0.0
    assert fill_ratio(0.0, 1e-4) == 1.0
    assert fill_ratio(1.0, 1e-4) == pytest.approx(1e-4)


def prime_time_s(suction: Suction, displaced: float, lift: float, dry_lift: float) -> float:
    steps = 4000
    step = suction.volume_m3 / steps
    return sum(
        step / suction.prime_rate_m3_s((i + 0.5) * step, displaced, lift, dry_lift)
        for i in range(steps)
    )


def test_level_line_primes_at_the_displacement() -> None:
    """Without lift the air stays at one pressure and the water follows the pump."""
    assert SUCTION.prime_rate_m3_s(0.0, 1e-4, 0.0, 2.0) == pytest.approx(1e-4, rel=1e-12)
    assert prime_time_s(SUCTION, 1e-4, 0.0, 2.0) == pytest.approx(SUCTION.volume_m3 / 1e-4)


def test_prime_keeps_the_mass_of_air() -> None:
    """Isothermal air: p V_air falls by what the pump takes, p Q eta, all along the way."""
    displaced, lift, dry_lift, dt = 1e-4, 1.5, 2.0, 1e-3
    filled, taken = 0.0, 0.0
    lowest = SUCTION.air_pa - WEIGHT * dry_lift

    def pressure(filled: float) -> float:
        return SUCTION.air_pa - WEIGHT * lift * filled / SUCTION.volume_m3

    start = SUCTION.air_pa * SUCTION.volume_m3
    for _ in range(5000):
        middle = filled + 0.5 * dt * SUCTION.prime_rate_m3_s(filled, displaced, lift, dry_lift)
        p = pressure(middle)
        eta = 1.0 - lowest * (SUCTION.air_pa - p) / (p * (SUCTION.air_pa - lowest))
        taken += p * displaced * eta * dt
        filled += dt * SUCTION.prime_rate_m3_s(middle, displaced, lift, dry_lift)
    left = pressure(filled) * (SUCTION.volume_m3 - filled)
    assert 0.3 < filled / SUCTION.volume_m3 < 1.0
    assert start - left == pytest.approx(taken, rel=1e-6)


def test_prime_gives_out_at_the_dry_lift() -> None:
    low, high = prime_time_s(SUCTION, 1e-4, 1.0, 2.0), prime_time_s(SUCTION, 1e-4, 1.9, 2.0)
    assert 0.0 < low < high
    top = SUCTION.volume_m3 * 2.0 / 3.0
    assert SUCTION.prime_rate_m3_s(1.001 * top, 1e-4, 3.0, 2.0) == 0.0
    assert SUCTION.prime_rate_m3_s(0.999 * top, 1e-4, 3.0, 2.0) > 0.0


def test_air_leak_stops_the_prime() -> None:
    assert SUCTION.prime_rate_m3_s(0.0, 1e-4, 1.5, 2.0, air_leak_m3_s=1e-4) <= 1e-12
    assert SUCTION.prime_rate_m3_s(2e-4, 1e-4, 1.5, 2.0, air_leak_m3_s=1e-4) < 0.0


def test_air_leak_through_a_hole() -> None:
    """20 kPa of suction: 182 m/s times Cd A."""
    speed = sqrt(2.0 * 20e3 / 1.2041)
    assert SUCTION.air_leak_m3_s(1e-7, -20e3) == pytest.approx(0.6 * 1e-7 * speed, rel=1e-9)
    assert SUCTION.air_leak_m3_s(1e-7, 5e3) == 0.0


def test_air_takes_its_share_of_the_stroke() -> None:
    """Free air doubles its volume at half an atmosphere."""
    share = SUCTION.water_share(2e-4, 2e-5, -0.5 * SUCTION.air_pa)
    assert share == pytest.approx(1.0 - 2.0 * 2e-5 / 2e-4, rel=1e-9)
    assert SUCTION.water_share(2e-4, 1e-3, -20e3) == 0.0
    assert SUCTION.water_share(0.0, 1e-3, -20e3) == 1.0


def test_foot_valve_leak_in_closed_form() -> None:
    """One long pause equals many short ones, and Torricelli's time to empty is met."""
    full, leak = SUCTION.volume_m3, 1e-7
    once = SUCTION.drained_m3(full, 1.5, leak, 600.0)
    filled = full
    for _ in range(60):
        filled = SUCTION.drained_m3(filled, 1.5, leak, 10.0)
    assert filled == pytest.approx(once, rel=1e-9)
    empty_s = 2.0 * full / (0.6 * leak * sqrt(2.0 * GRAVITY_M_S2 * 1.5))
    assert SUCTION.drained_m3(full, 1.5, leak, 0.999 * empty_s) > 0.0
    assert SUCTION.drained_m3(full, 1.5, leak, empty_s) == pytest.approx(0.0, abs=1e-12)
    outflow = (full - SUCTION.drained_m3(full, 1.5, leak, 1.0)) / 1.0
    assert outflow == pytest.approx(0.6 * leak * sqrt(2.0 * GRAVITY_M_S2 * 1.5), rel=1e-2)


def test_flooded_line_does_not_drain() -> None:
    assert SUCTION.drained_m3(5e-4, -0.5, 1e-6, 1e6) == 5e-4


def test_unknown_foot_valve_is_named() -> None:
    with pytest.raises(ValueError, match='foot valve "ball"'):
        Suction(SuctionSpec(foot_valve="ball"), WATER, OPEN_FLOW)


def test_a_pump_that_runs_dry_lets_air_through_to_the_hose() -> None:
    """The water that runs on draws air through both valves: no vacuum at the outlet."""
    fault = FaultSpec("source_empty", 1, 60.0, duration_s=600.0)
    plant = Plant(replace(Site(), faults=(fault,)), 1)
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    outlets = []
    for tick in range(n + 600, n + 6000):
        plant.read(tick)
        outlets.append(plant.truth(tick).pressure_pa)
    assert -5e3 < min(outlets) < 0.0
    assert outlets[-1] == pytest.approx(plant.rig.line.static_pa, abs=200.0)
    assert 0.0 < plant.totals["breathed_m3"] < 1e-3
