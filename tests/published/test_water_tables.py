"""Water, atmosphere and suction lift against IAPWS and the standard atmosphere."""

import pytest

from rillsim.site import SuctionSpec
from rillsim.water.properties import (
    GRAVITY_M_S2,
    Water,
    atmosphere_pa,
    density_kg_m3,
    sound_speed_m_s,
    vapour_pressure_pa,
    viscosity_pa_s,
)
from rillsim.water.suction import Suction

pytestmark = pytest.mark.published

STEAM_TABLE = [
    (5.0, 0.87257, 999.967, 1.51817, 1.51822, 1426.2),
    (10.0, 1.22818, 999.702, 1.30590, 1.30629, 1447.3),
    (15.0, 1.70574, 999.101, 1.13757, 1.13859, 1465.9),
    (20.0, 2.33921, 998.206, 1.00160, 1.00340, 1482.4),
    (25.0, 3.16975, 997.048, 0.89002, 0.89266, 1496.7),
    (30.0, 4.24669, 995.652, 0.79722, 0.80070, 1509.2),
    (40.0, 7.38443, 992.224, 0.65273, 0.65785, 1528.9),
]


@pytest.mark.parametrize(
    ("celsius", "psat_kpa", "density", "mu_mpa_s", "nu_mm2_s", "sound"), STEAM_TABLE
)
def test_steam_table(
    celsius: float, psat_kpa: float, density: float, mu_mpa_s: float, nu_mm2_s: float, sound: float
) -> None:
    """IAPWS-IF97 and IAPWS 2008 viscosity at 101.325 kPa; the sheet allows far more than this."""
    assert vapour_pressure_pa(celsius) / 1e3 == pytest.approx(psat_kpa, rel=1e-4)
    assert density_kg_m3(celsius) == pytest.approx(density, rel=2e-5)
    assert viscosity_pa_s(celsius) * 1e3 == pytest.approx(mu_mpa_s, rel=1e-3)
    water = Water.at(celsius)
    assert water.viscosity_pa_s / water.density_kg_m3 * 1e6 == pytest.approx(nu_mm2_s, rel=1e-3)
    assert sound_speed_m_s(celsius) == pytest.approx(sound, rel=2e-4)


def test_if97_verification_value() -> None:
    """IAPWS R7-97(2012), table 35: 3.53658941e-3 MPa at 300 K."""
    assert vapour_pressure_pa(300.0 - 273.15) == pytest.approx(3536.58941, rel=1e-8)


@pytest.mark.parametrize(
    ("altitude_m", "pressure_pa", "fao_kpa"),
    [
        (0.0, 101325.0, 101.300),
        (500.0, 95461.3, 95.528),
        (1000.0, 89876.3, 90.025),
        (2000.0, 79501.4, 79.788),
    ],
)
def test_atmosphere(altitude_m: float, pressure_pa: float, fao_kpa: float) -> None:
    """U.S. Standard Atmosphere 1976; FAO-56 eq. 7 differs by up to 0.4 %."""
    assert atmosphere_pa(altitude_m) == pytest.approx(pressure_pa, rel=1e-5)
    closed = 101325.0 * (1.0 - altitude_m / 44329.0) ** 5.2559
    assert atmosphere_pa(altitude_m) == pytest.approx(closed, rel=1e-3)
    assert atmosphere_pa(altitude_m) / 1e3 == pytest.approx(fao_kpa, rel=4e-3)


@pytest.mark.parametrize(
    ("altitude_m", "lifts_m"),
    [
        (0.0, (10.244, 10.210, 10.112, 9.942)),
        (500.0, (9.646, 9.612, 9.513, 9.342)),
        (1000.0, (9.076, 9.042, 8.942, 8.770)),
        (2000.0, (8.018, 7.984, 7.882, 7.707)),
    ],
)
def test_theoretical_lift(altitude_m: float, lifts_m: tuple[float, ...]) -> None:
    """(pa - pv) / (rho g), from IAPWS-IF97 and the U.S. Standard Atmosphere 1976."""
    for celsius, lift in zip((5.0, 10.0, 20.0, 30.0), lifts_m, strict=True):
        head_pa = atmosphere_pa(altitude_m) - vapour_pressure_pa(celsius)
        found_m = head_pa / (density_kg_m3(celsius) * GRAVITY_M_S2)
        assert found_m == pytest.approx(lift, abs=1.5e-3)


def test_npsh_available() -> None:
    """ANSI/HI 9.6.1: 500 m, 20 C, 3 m lift, 0.5 m of suction loss leave 6.013 m."""
    suction = Suction(SuctionSpec(), Water.at(20.0), 3.5e-4, altitude_m=500.0)
    low, high = 0.0, 1e-3
    for _ in range(60):
        middle = 0.5 * (low + high)
        if suction.loss_pa(middle) < 0.5 * 998.206 * 9.80665:
            low = middle
        else:
            high = middle
    assert suction.npsh_available_m(low, 3.0) == pytest.approx(9.513 - 3.0 - 0.5, abs=1e-3)
