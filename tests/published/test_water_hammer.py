"""The first wave of a tap that snaps shut, against published and tabulated figures."""

import pytest

from rillsim.site import LineSpec
from rillsim.water.hammer import first_wave_pa, wave_speed_m_s
from rillsim.water.pipe import bore_area_m2
from rillsim.water.properties import Water

pytestmark = pytest.mark.published

COLD = Water.at(20.0)


@pytest.mark.parametrize(
    ("bore_m", "wall_m", "modulus_pa", "speed_m_s"),
    [
        (0.0127, 0.0025, 20e6, 62.75),
        (0.0127, 0.0025, 50e6, 99.08),
        (0.0209, 0.0029, 2.8e9, 574.95),
    ],
)
def test_wave_speed(bore_m: float, wall_m: float, modulus_pa: float, speed_m_s: float) -> None:
    """Thin-walled tube (Wylie and Streeter 1993): soft and stiff garden hose, rigid PVC."""
    line = LineSpec(bore_m=bore_m, wall_m=wall_m, modulus_pa=modulus_pa)
    assert wave_speed_m_s(line, COLD) == pytest.approx(speed_m_s, rel=2e-3)


def test_printed_example_of_a_transmission_main() -> None:
    """1000 m, wave of 1191.4 m/s, 2 m/s stopped: 242.9 m at once, 81.5 m in 5 s (AWWA M11 style).

    The bore only turns speed into flow; the stiffness is the one that gives the printed wave.
    """
    bore_m, wall_m, wave_m_s = 0.5, 0.01, 1191.4
    stretch = 1.0 / (COLD.density_kg_m3 * wave_m_s**2) - 1.0 / COLD.bulk_modulus_pa
    modulus_pa = bore_m / (wall_m * stretch)
    line = LineSpec(length_m=1000.0, bore_m=bore_m, wall_m=wall_m, modulus_pa=modulus_pa)
    flow = 2.0 * bore_area_m2(bore_m)
    metre_pa = COLD.density_kg_m3 * 9.81
    assert first_wave_pa(line, COLD, flow, 0.0) / metre_pa == pytest.approx(242.9, rel=1e-3)
    assert first_wave_pa(line, COLD, flow, 5.0) / metre_pa == pytest.approx(81.5, rel=1e-3)
