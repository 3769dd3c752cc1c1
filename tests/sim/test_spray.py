"""Radial patterns hold one litre; drift is what the flight of drops says."""

from math import hypot, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad

from rillsim.garden.spray import (
    PATTERNS,
    RING_AT,
    air_loss,
    drift_m,
    drift_xy_m,
    pattern_share_m2,
    ring_share,
)
from tests.sim.drop_flight import WATER_KG_M3, landing_m


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("throw_m", [1.0, 6.1, 15.0])
def test_a_pattern_holds_one_litre(pattern: str, throw_m: float) -> None:
    def ring(radius: float) -> float:
        return 2.0 * pi * radius * float(pattern_share_m2(pattern, np.array([radius]), throw_m)[0])

    volume, _ = quad(ring, 0.0, throw_m, points=[RING_AT * throw_m])
    assert volume == pytest.approx(1.0, abs=1e-7)
    assert ring(1.001 * throw_m) == 0.0


def test_shapes() -> None:
    radius = np.linspace(0.0, 5.999, 200)
    cone, flat, ring = (pattern_share_m2(name, radius, 6.0) for name in PATTERNS)
    assert np.all(np.diff(cone) < 0.0)
    assert np.ptp(flat) == 0.0
    assert radius[np.argmax(ring)] == pytest.approx(0.8 * 6.0, abs=0.05)
    assert ring[0] == pytest.approx(0.25 * ring.max(), rel=0.01)


def test_unknown_pattern() -> None:
    with pytest.raises(ValueError, match="'round' is not one of triangular, even, doughnut"):
        pattern_share_m2("round", np.zeros(1), 1.0)


@pytest.mark.parametrize("drop_mm", [1.0, 2.0, 3.0, 4.0])
@pytest.mark.parametrize("pressure_pa", [150e3, 200e3, 300e3])
def test_drift_of_flying_drops(drop_mm: float, pressure_pa: float) -> None:
    """Drag of Fukui et al. (1980): about a metre along the wind for each m/s, some less across.

    One figure for all drops is why the whole pattern may be moved as it is.
    """
    speed = 0.98 * sqrt(2.0 * pressure_pa / WATER_KG_M3)
    still = landing_m(drop_mm / 1000.0, speed)
    for wind in (1.0, 3.0):
        along = landing_m(drop_mm / 1000.0, speed, wind)[0] - still[0]
        against = still[0] - landing_m(drop_mm / 1000.0, speed, wind, pi)[0]
        across = landing_m(drop_mm / 1000.0, speed, wind, pi / 2.0)[1]
        model = drift_m(wind, float(still[0]))
        assert along == pytest.approx(model, rel=0.3)
        assert against == pytest.approx(model, rel=0.3)
        assert 0.55 * model < across < 1.1 * model


@pytest.mark.parametrize(
    ("from_deg", "east", "north"),
    [(0.0, 0.0, -2.0), (90.0, -2.0, 0.0), (180.0, 0.0, 2.0), (270.0, 2.0, 0.0)],
)
def test_wind_carries_water_away_from_where_it_comes(
    from_deg: float, east: float, north: float
) -> None:
    moved = drift_xy_m(2.0, from_deg, 8.0)
    assert moved == pytest.approx((east, north), abs=1e-9)
    assert hypot(*moved) == pytest.approx(drift_m(2.0, 8.0))


def test_a_short_throw_drifts_less() -> None:
    assert drift_m(2.0, 1.0) == pytest.approx(0.25 * drift_m(2.0, 4.0))
    assert drift_m(2.0, 12.0) == drift_m(2.0, 4.0)


def test_low_pressure_gives_a_ring() -> None:
    shares = [ring_share(pressure) for pressure in range(0, 300000, 5000)]
    assert shares[0] == 1.0
    assert shares[-1] == 0.0
    assert shares == sorted(shares, reverse=True)


def test_loss_in_the_air() -> None:
    """Playan et al. (2005), from memory: means of 8.5 % by night and 15.4 % by day."""
    assert air_loss(1.0, 75.0) == pytest.approx(0.085, abs=0.02)
    assert air_loss(3.0, 50.0) == pytest.approx(0.154, abs=0.02)
    assert air_loss(0.0, 100.0) == 0.0
    assert air_loss(30.0, 10.0) == 1.0
