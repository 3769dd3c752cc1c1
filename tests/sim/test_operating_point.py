"""Operating point: it balances, it moves the right way, and it survives poor sites."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rillsim.site import Site
from rillsim.supply.battery import Battery
from rillsim.supply.cable import circuit
from rillsim.water.operating_point import (
    Plumbing,
    Supply,
    operating_point,
)
from rillsim.water.pump import fit_pump

SITE = Site()
PLUMBING = Plumbing(SITE)
PUMP = fit_pump(SITE.pump)
SUPPLY = Supply(12.65, 0.015, 0.03)


def test_everything_agrees_at_the_point() -> None:
    point = operating_point(PLUMBING, PUMP, SUPPLY)
    speed, current, flow = PUMP.operate(
        12.65, 0.045, point.fill * (point.pump_pa - point.inlet_pa)
    )
    assert point.flow_m3_s == pytest.approx(point.fill * flow, rel=1e-7)
    assert (point.speed_rad_s, point.current_a) == pytest.approx((speed, current), rel=1e-6)
    assert point.flow_m3_s == pytest.approx(
        PLUMBING.sprinkler.flow_m3_s(point.nozzle_pa), rel=1e-9
    )
    static = PLUMBING.water.density_kg_m3 * 9.80665 * SITE.line.rise_m
    assert point.pump_pa - point.nozzle_pa == pytest.approx(
        static + PLUMBING.line.loss_pa(point.flow_m3_s), rel=1e-9
    )
    assert point.battery_v - point.pump_v == pytest.approx(0.03 * point.current_a)
    assert point.battery_v == pytest.approx(12.65 - 0.015 * point.current_a)
    assert point.inlet_pa < 0.0


def test_electric_power_covers_the_water() -> None:
    point = operating_point(PLUMBING, PUMP, SUPPLY)
    hydraulic = (point.pump_pa - point.inlet_pa) * point.flow_m3_s
    assert 0.1 * point.pump_power_w < hydraulic < 0.5 * point.pump_power_w


@settings(max_examples=40)
@given(
    lift=st.floats(-1.0, 9.5),
    block=st.floats(0.0, 1.0),
    emf=st.floats(0.5, 15.0),
    wiring=st.floats(0.0, 3.0),
    nozzle=st.floats(0.0005, 0.02),
)
def test_point_is_found_everywhere(
    lift: float, block: float, emf: float, wiring: float, nozzle: float
) -> None:
    site = replace(SITE, sprinkler=replace(SITE.sprinkler, nozzle_bore_m=nozzle))
    supply = Supply(emf, 0.02, wiring)
    point = operating_point(Plumbing(site), PUMP, supply, lift, block)
    assert point.flow_m3_s >= 0.0
    assert 0.0 <= point.fill <= 1.0
    assert 0.0 <= point.current_a <= emf / (PUMP.winding_ohm + wiring + 0.02) + 1e-9
    weaker = operating_point(Plumbing(site), PUMP, replace(supply, emf_v=0.95 * emf), lift, block)
    assert weaker.flow_m3_s <= point.flow_m3_s + 1e-11


def test_starved_pump_gives_the_limit() -> None:
    """With the strainer nearly shut the suction alone decides."""
    point = operating_point(PLUMBING, PUMP, SUPPLY, lift_m=4.0, strainer_block=0.9)
    limit = PLUMBING.suction.flow_limit_m3_s(4.0, 0.9)
    assert point.flow_m3_s == pytest.approx(limit, rel=0.03)
    assert point.npsh_margin_m < 0.0
    assert point.fill < 0.7
    assert point.current_a < operating_point(PLUMBING, PUMP, SUPPLY).current_a


def test_worse_sites_get_less_water() -> None:
    whole = operating_point(PLUMBING, PUMP, SUPPLY)
    for worse in (
        operating_point(PLUMBING, PUMP, replace(SUPPLY, wiring_ohm=0.2)),
        operating_point(PLUMBING, PUMP, SUPPLY, lift_m=3.0),
        operating_point(PLUMBING, PUMP, SUPPLY, strainer_block=0.8),
        operating_point(PLUMBING, PUMP.worn(0.5), SUPPLY),
    ):
        assert worse.flow_m3_s < whole.flow_m3_s
        assert worse.throw_m < whole.throw_m


def test_stuck_pump_and_flat_battery_give_nothing() -> None:
    stuck = operating_point(PLUMBING, PUMP.seized(), SUPPLY)
    assert (stuck.flow_m3_s, stuck.throw_m, stuck.speed_rad_s) == (0.0, 0.0, 0.0)
    assert stuck.current_a == pytest.approx(12.65 / (PUMP.winding_ohm + 0.045))
    assert operating_point(PLUMBING, PUMP, replace(SUPPLY, emf_v=0.0)).flow_m3_s == 0.0


def test_supply_of_a_battery_and_a_cable() -> None:
    battery = Battery(SITE.battery)
    supply = Supply.of(battery, SITE.cable)
    assert supply.emf_v == battery.emf_v
    assert supply.wiring_ohm == pytest.approx(circuit(SITE.cable).total_ohm)
    assert supply.battery_v(10.0) == pytest.approx(battery.terminal_v(10.0))
