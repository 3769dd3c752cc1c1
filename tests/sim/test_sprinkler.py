"""Sprinkler: both directions of the nozzle law, and a throw that behaves at its ends."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillsim.site import SprinklerSpec
from rillsim.water.sprinkler import Sprinkler, jet_throw_m, vacuum_throw_m

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
