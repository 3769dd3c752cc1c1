"""Water hammer and the give of a hose against published worked examples."""

import pytest

from rillsim.water.pipe import LineLoss, bore_area_m2
from rillsim.water.surge import (
    hose_compliance_m3_pa,
    outlet_relaxation_s,
    surge_pa,
    wave_speed_m_s,
)

pytestmark = pytest.mark.published

BULK_PA, RHO = 2.19e9, 998.2


def test_stopped_main() -> None:
    """Worked example in the manner of AWWA M11: 1191.4 m/s, 2 m/s, 1000 m of main."""
    weight = 1000.0 * 9.81
    assert surge_pa(2.0, 1000.0, 1191.4) / weight == pytest.approx(242.9, rel=1e-3)
    assert 2.0 * 1000.0 / 1191.4 == pytest.approx(1.679, rel=1e-3)
    assert surge_pa(2.0, 1000.0, 1191.4, 1000.0, 1.6) / weight == pytest.approx(242.9, rel=1e-3)
    slow = surge_pa(2.0, 1000.0, 1191.4, length_m=1000.0, closure_s=5.0)
    assert slow / weight == pytest.approx(81.5, rel=1e-3)


@pytest.mark.parametrize(
    ("modulus_pa", "speed", "rise_kpa"), [(20e6, 62.75, 82.4), (50e6, 99.08, 130.1)]
)
def test_soft_hose(modulus_pa: float, speed: float, rise_kpa: float) -> None:
    """Wylie & Streeter 1993: wave speed in 12.7 mm hose with 2.5 mm of soft PVC."""
    wave = wave_speed_m_s(BULK_PA, RHO, 0.0127, 0.0025, modulus_pa)
    assert wave == pytest.approx(speed, rel=1e-3)
    assert surge_pa(1.3157, RHO, wave) / 1e3 == pytest.approx(rise_kpa, rel=1e-3)


def test_rigid_pipe() -> None:
    """Wylie & Streeter 1993: rigid PVC of 2.8 GPa, 20.9 mm bore, 2.9 mm wall."""
    assert wave_speed_m_s(BULK_PA, RHO, 0.0209, 0.0029, 2.8e9) == pytest.approx(574.95, rel=1e-3)


@pytest.mark.parametrize(
    ("modulus_pa", "ml_per_bar", "relaxation_s"), [(20e6, 96.70, 2.34), (50e6, 38.79, 0.94)]
)
def test_give_of_thirty_metres(modulus_pa: float, ml_per_bar: float, relaxation_s: float) -> None:
    """Thin-wall formula of Wylie & Streeter 1993, and its time constant at 2.1 bar, 10.4 L/min."""
    give = hose_compliance_m3_pa(30.0, BULK_PA, 0.0127, 0.0025, modulus_pa)
    assert give * 1e6 * 1e5 == pytest.approx(ml_per_bar, rel=1e-3)
    assert outlet_relaxation_s(give, 2.1e5, 10.4 / 60000) == pytest.approx(relaxation_s, rel=0.01)


def test_wave_speed_is_inertia_times_compliance() -> None:
    """Wylie & Streeter 1993: a line of inertia I and compliance C has a = L / sqrt(I C)."""
    line = LineLoss(30.0, 0.0127, 1.5e-6, 0.0, RHO, 1.0e-3)
    give = hose_compliance_m3_pa(30.0, BULK_PA, 0.0127, 0.0025, 20e6)
    assert line.inertia_kg_m4 == pytest.approx(RHO * 30.0 / bore_area_m2(0.0127), rel=1e-12)
    wave = 30.0 / (line.inertia_kg_m4 * give) ** 0.5
    assert wave == pytest.approx(wave_speed_m_s(BULK_PA, RHO, 0.0127, 0.0025, 20e6), rel=1e-9)
