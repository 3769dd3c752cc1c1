"""The loss table against the formula it stands for, and the transition it bridges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillsim.water.pipe import (
    LAMINAR_RE,
    TURBULENT_RE,
    LineLoss,
    friction_factor,
    friction_loss_pa,
)
from rillsim.water.properties import Water

WATER = Water.at(15.0)
RHO, MU = WATER.density_kg_m3, WATER.viscosity_pa_s

bores = st.floats(0.006, 0.05)
roughnesses = st.floats(0.0, 1e-4)


@given(bore=bores, roughness=roughnesses, k=st.floats(0.0, 20.0), share=st.floats(1e-4, 0.999))
def test_table_is_within_its_error(bore: float, roughness: float, k: float, share: float) -> None:
    line = LineLoss(10.0, bore, roughness, k, RHO, MU)
    plain = LineLoss(10.0, bore, roughness, 0.0, RHO, MU)
    flow = share * line.flow_max_m3_s
    exact = friction_loss_pa(flow, 10.0, bore, roughness, RHO, MU)
    assert plain.loss_pa(flow) == pytest.approx(exact, rel=5e-4)
    area = 3.141592653589793 / 4.0 * bore * bore
    fittings = k * 0.5 * RHO * (flow / area) ** 2
    assert line.loss_pa(flow) - plain.loss_pa(flow) == pytest.approx(
        fittings, rel=1e-6, abs=1e-9 * exact
    )


def test_laminar_branch_is_exact() -> None:
    """Hagen-Poiseuille: 128 mu L Q / (pi D^4)."""
    line = LineLoss(10.0, 0.0127, 1.5e-6, 0.0, RHO, MU)
    for flow in (1e-9, 1e-6, 1.5e-5):
        poiseuille = 128.0 * MU * 10.0 * flow / (3.141592653589793 * 0.0127**4)
        assert line.loss_pa(flow) == pytest.approx(poiseuille, rel=1e-12)
    assert line.loss_pa(0.0) == 0.0


@given(bore=bores, flow=st.floats(1e-8, 2e-3))
def test_odd_and_rising(bore: float, flow: float) -> None:
    line = LineLoss(10.0, bore, 1.5e-6, 3.0, RHO, MU)
    assert line.loss_pa(-flow) == -line.loss_pa(flow)
    assert line.slope(-flow) == line.slope(flow)
    assert line.slope(flow) > 0.0
    assert line.loss_pa(1.01 * flow) > line.loss_pa(flow)


@pytest.mark.parametrize("share", [0.001, 0.01, 0.03, 0.1, 0.4, 0.9])
def test_slope_is_the_derivative(share: float) -> None:
    line = LineLoss(10.0, 0.0127, 1.5e-6, 3.0, RHO, MU)
    flow = share * line.flow_max_m3_s
    step = 1e-5 * flow
    numeric = (line.loss_pa(flow + step) - line.loss_pa(flow - step)) / (2.0 * step)
    assert line.slope(flow) == pytest.approx(numeric, rel=2e-2)


def test_table_is_continuous() -> None:
    line = LineLoss(10.0, 0.0127, 1.5e-6, 3.0, RHO, MU)
    node = line.flow_max_m3_s / len(line._pieces)
    for index in (64, 65, 128, 129, 200, 1000):
        below, above = line.loss_pa(index * node * (1 - 1e-10)), line.loss_pa(index * node)
        assert below == pytest.approx(above, rel=1e-8)


def test_goes_on_beyond_the_table() -> None:
    line = LineLoss(10.0, 0.0127, 1.5e-6, 3.0, RHO, MU)
    end = line.flow_max_m3_s
    assert line.loss_pa(end * (1 + 1e-9)) == pytest.approx(
        line.loss_pa(end * (1 - 1e-9)), rel=1e-6
    )
    exact = friction_loss_pa(3.0 * end, 10.0, 0.0127, 1.5e-6, RHO, MU)
    plain = LineLoss(10.0, 0.0127, 1.5e-6, 0.0, RHO, MU)
    assert plain.loss_pa(3.0 * end) == pytest.approx(exact, rel=0.25)


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-2])
def test_transition_meets_both_ends(roughness: float) -> None:
    for end in (LAMINAR_RE, TURBULENT_RE):
        step = 1e-3
        below, at, above = (friction_factor(end + k * step, roughness) for k in (-1, 0, 1))
        assert below == pytest.approx(above, rel=1e-5)
        assert (at - below) / step == pytest.approx((above - at) / step, abs=3e-8)


def test_length_scales_the_friction() -> None:
    short, long = (LineLoss(m, 0.0127, 1.5e-6, 0.0, RHO, MU) for m in (10.0, 30.0))
    assert long.loss_pa(2e-4) == pytest.approx(3.0 * short.loss_pa(2e-4), rel=1e-9)
