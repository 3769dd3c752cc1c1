"""The give of a hose, and the wave speed that comes of it, against published examples."""

import pytest

from rillsim.water.pipe import LineLoss, hose_compliance_m3_pa

pytestmark = pytest.mark.published

BULK_PA, RHO = 2.19e9, 998.2


@pytest.mark.parametrize(
    ("bore_m", "wall_m", "modulus_pa", "speed"),
    [
        (0.0127, 0.0025, 20e6, 62.75),
        (0.0127, 0.0025, 50e6, 99.08),
        (0.0209, 0.0029, 2.8e9, 574.95),
    ],
)
def test_wave_speed(bore_m: float, wall_m: float, modulus_pa: float, speed: float) -> None:
    """Wylie & Streeter 1993, eq. 1-25: soft hose and rigid PVC; it is L / sqrt(I C) too."""
    inertia = LineLoss(30.0, bore_m, 1.5e-6, 0.0, RHO, 1.0e-3).inertia_kg_m4
    give = hose_compliance_m3_pa(30.0, BULK_PA, bore_m, wall_m, modulus_pa)
    assert 30.0 / (inertia * give) ** 0.5 == pytest.approx(speed, rel=1e-3)


@pytest.mark.parametrize(("modulus_pa", "ml_per_bar"), [(20e6, 96.70), (50e6, 38.79)])
def test_give_of_thirty_metres(modulus_pa: float, ml_per_bar: float) -> None:
    """Thin-wall formula of Wylie & Streeter 1993."""
    give = hose_compliance_m3_pa(30.0, BULK_PA, 0.0127, 0.0025, modulus_pa)
    assert give * 1e6 * 1e5 == pytest.approx(ml_per_bar, rel=1e-3)
