"""Sprinkler: both directions of the nozzle law, and a throw that behaves at its ends."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillsim.site import SprinklerSpec
from rillsim.water.drops import drop_drag, drop_throw_m, terminal_velocity_m_s, vacuum_throw_m
from rillsim.water.sprinkler import Sprinkler, jet_throw_m

SPRINKLER = Sprinkler(SprinklerSpec(nozzle_count=3, nozzle_bore_m=0.0025))


@given(pressure=st.floats(1.0, 1e6))
def test_pressure_and_flow_are_inverse(pressure: float) -> None:
    assert SPRINKLER.pressure_pa(SPRINKLER.flow_m3_s(pressure)) == pytest.approx(pressure)


def test_nozzles_add_up() -> None:
    one = Sprinkler(SprinklerSpec(nozzle_count=1, nozzle_bore_m=0.0025))
    assert SPRINKLER.flow_m3_s(1e5) == pytest.approx(3.0 * one.flow_m3_s(1e5))
    assert SPRINKLER.throw_m(1e5) == one.throw_m(1e5)


def test_nothing_flows_back() -> None:
    assert SPRINKLER.flow_m3_s(-1e4) == 0.0
    assert SPRINKLER.flow_m3_s(0.0) == 0.0
    assert SPRINKLER.pressure_pa(-1e-5) == 0.0
    assert SPRINKLER.throw_m(0.0) == 0.0
    assert SPRINKLER.application_rate_mm_h(0.0) == 0.0


@given(pressure=st.floats(10.0, 8e5), bore=st.floats(0.001, 0.008))
def test_throw_rises_and_never_beats_a_vacuum(pressure: float, bore: float) -> None:
    throw = jet_throw_m(pressure, bore)
    speed = (2.0 * pressure / 998.2) ** 0.5
    assert 0.0 < throw < vacuum_throw_m(speed, 25.0, 1.0)
    assert jet_throw_m(1.1 * pressure, bore) > throw
    assert jet_throw_m(pressure, 1.1 * bore) > throw


def test_small_arc_gets_more() -> None:
    whole = Sprinkler(SprinklerSpec()).application_rate_mm_h(1.5e5)
    quarter = Sprinkler(SprinklerSpec(arc_deg=90.0)).application_rate_mm_h(1.5e5)
    assert quarter == pytest.approx(4.0 * whole)


def test_drag_pieces_nearly_meet() -> None:
    for join in (128.0, 1440.0):
        assert drop_drag(join) == pytest.approx(drop_drag(join * 1.0001), rel=0.07)


def test_slow_drops_obey_their_own_balance() -> None:
    """At terminal speed drag equals weight less buoyancy."""
    drop = 0.0015
    speed = terminal_velocity_m_s(drop)
    drag = (
        drop_drag(speed * drop / 1.516e-5) * 0.5 * 1.2041 * speed**2 * 0.25 * 3.14159265 * drop**2
    )
    weight = (998.2 - 1.2041) * 9.80665 * 3.14159265 / 6.0 * drop**3
    assert drag == pytest.approx(weight, rel=1e-6)


def test_huge_drop_flies_like_in_a_vacuum() -> None:
    assert drop_throw_m(1.0, 10.0, 30.0, 1.0) == pytest.approx(
        vacuum_throw_m(10.0, 30.0, 1.0), rel=0.01
    )


def test_larger_drops_fly_farther() -> None:
    throws = [drop_throw_m(mm / 1000.0, 15.0) for mm in (0.3, 0.5, 1, 2, 3, 5)]
    assert throws == sorted(throws)
