"""Losses of valves and fittings against Crane and EPANET."""

import pytest
from fluids.fittings import (
    K_foot_valve_Crane,
    entrance_sharp,
    exit_normal,
    ft_Crane,
)

from rillsim.water.fittings import (
    FITTING_K,
    crane_turbulent_factor,
    foot_valve_k,
    minor_loss_pa,
)

pytestmark = pytest.mark.published

INCH = 0.0254
SCHEDULE_40_IN = {0.5: 0.622, 0.75: 0.824, 1.0: 1.049, 1.25: 1.38, 1.5: 1.61, 2.0: 2.067}


@pytest.mark.parametrize(
    ("size_in", "factor"),
    [(0.5, 0.027), (0.75, 0.025), (1.0, 0.023), (1.25, 0.022), (1.5, 0.021), (2.0, 0.019)],
)
def test_turbulent_factor(size_in: float, factor: float) -> None:
    """Crane TP-410, p. A-26; the fit of the fluids library stays within 6 %."""
    assert crane_turbulent_factor(size_in * INCH) == pytest.approx(factor, abs=1e-12)
    assert ft_Crane(SCHEDULE_40_IN[size_in] * INCH) == pytest.approx(factor, rel=0.06)


@pytest.mark.parametrize(
    ("kind", "style", "factors"),
    [("poppet", 0, (11.3, 10.5, 9.7)), ("hinged", 1, (2.03, 1.88, 1.73))],
)
def test_foot_valve(kind: str, style: int, factors: tuple[float, ...]) -> None:
    """Crane TP-410, p. A-28: 420 fT and 75 fT, with strainer, for 1/2, 3/4 and 1 in."""
    for size_in, factor in zip((0.5, 0.75, 1.0), factors, strict=True):
        assert foot_valve_k(kind, size_in * INCH) == pytest.approx(factor, rel=6e-3)
        fitted = K_foot_valve_Crane(D=SCHEDULE_40_IN[size_in] * INCH, style=style)
        assert foot_valve_k(kind, size_in * INCH) == pytest.approx(fitted, rel=0.06)


def test_ends_of_a_pipe() -> None:
    """Sharp entrance 0.5 (Rennels: 0.57), exit 1.0; projecting entrance 0.78 (Crane A-29)."""
    assert entrance_sharp() == pytest.approx(FITTING_K["entrance"], abs=0.08)
    assert exit_normal() == FITTING_K["exit"]
    assert foot_valve_k("none", 0.019) == 0.78


@pytest.mark.parametrize(
    ("name", "k"),
    [
        ("globe valve", 10.0),
        ("angle valve", 5.0),
        ("swing check valve", 2.5),
        ("gate valve", 0.2),
        ("short elbow", 0.9),
        ("medium elbow", 0.8),
        ("long elbow", 0.6),
        ("45 degree elbow", 0.4),
        ("return bend", 2.2),
        ("tee, straight through", 0.6),
        ("tee, through branch", 1.8),
        ("entrance", 0.5),
        ("exit", 1.0),
    ],
)
def test_minor_loss_table(name: str, k: float) -> None:
    """EPANET 2.2 User Manual, table of minor loss coefficients."""
    assert FITTING_K[name] == k


def test_minor_loss_is_velocity_heads() -> None:
    """Crane TP-410, eq. 2-2: K velocity heads; 2 m/s is 0.204 m of water."""
    flow = 2.0 * 0.25 * 3.141592653589793 * 0.02**2
    assert minor_loss_pa(1.0, flow, 0.02, 998.2) / (998.2 * 9.80665) == pytest.approx(
        2.0**2 / (2.0 * 9.80665), rel=1e-12
    )
    assert minor_loss_pa(1.0, -flow, 0.02, 998.2) == -minor_loss_pa(1.0, flow, 0.02, 998.2)
