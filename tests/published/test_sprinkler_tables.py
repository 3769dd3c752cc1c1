"""Nozzle flow, throw and the flight of drops against published values."""

from math import sqrt

import pytest

from rillsim.site import SprinklerSpec
from rillsim.water.sprinkler import (
    Sprinkler,
    application_rate_mm_h,
    jet_throw_m,
    orifice_flow_m3_s,
    vacuum_throw_m,
)
from tests.sim.drop_flight import landing_m, terminal_velocity_m_s

pytestmark = pytest.mark.published

RHO = 998.2


@pytest.mark.parametrize(
    ("bore_mm", "coefficient", "bar", "l_min"),
    [(3.00, 0.95, 2.0, 8.0655), (2.50, 0.98, 3.0, 7.0764), (4.00, 0.96, 2.5, 16.1998)],
)
def test_nozzle_flow(bore_mm: float, coefficient: float, bar: float, l_min: float) -> None:
    """Torricelli's law with a discharge coefficient."""
    flow = orifice_flow_m3_s(bar * 1e5, bore_mm / 1000.0, coefficient, RHO)
    assert flow * 60000.0 == pytest.approx(l_min, rel=1e-4)
    spec = SprinklerSpec(nozzle_bore_m=bore_mm / 1000.0, discharge_coefficient=coefficient)
    sprinkler = Sprinkler(spec, RHO)
    assert sprinkler.flow_m3_s(bar * 1e5) * 60000.0 == pytest.approx(l_min, rel=1e-4)
    assert sprinkler.pressure_pa(l_min / 60000.0) == pytest.approx(bar * 1e5, rel=2e-4)


def test_nozzle_speed() -> None:
    """Torricelli: 2 bar is 20.018 m/s; the jet of a full bore has it."""
    bore = 0.003
    flow = orifice_flow_m3_s(2e5, bore, 1.0, RHO)
    assert flow / (0.25 * 3.141592653589793 * bore**2) == pytest.approx(20.018, rel=1e-4)


def test_fire_nozzle_formula() -> None:
    """NFPA 291: Q = 29.84 Cd d^2 sqrt(p) in gal/min, in and psi (from memory)."""
    flow = orifice_flow_m3_s(30.0 * 6894.757, 0.125 * 0.0254, 0.97, RHO)
    gal_min = flow / (3.785411784e-3 / 60.0)
    assert gal_min == pytest.approx(2.4771, rel=1e-3)
    assert gal_min == pytest.approx(29.84 * 0.97 * 0.125**2 * sqrt(30.0), rel=1e-3)


def test_emission_exponent() -> None:
    """EPANET 2.2 User Manual, emitters: exponent 0.5, so four times the pressure is twice."""
    sprinkler = Sprinkler(SprinklerSpec())
    for pressure in (1e3, 4.4e4, 2e5):
        twice = sprinkler.flow_m3_s(4.0 * pressure) / sprinkler.flow_m3_s(pressure)
        assert twice == pytest.approx(2.0, rel=1e-12)


@pytest.mark.parametrize(("bore_mm", "head_m", "throw_m"), [(3.0, 20.4, 10.56), (2.4, 20.0, 9.35)])
def test_throw_formula(bore_mm: float, head_m: float, throw_m: float) -> None:
    """Cavazza and Pillsbury type, R = 1.35 sqrt(d h) (from memory), good to 15 %."""
    pressure = head_m * RHO * 9.80665
    assert jet_throw_m(pressure, bore_mm / 1000.0) == pytest.approx(throw_m, rel=0.15)


def test_throw_grows_with_the_root_of_pressure() -> None:
    """The same formula: exponent 0.5 where drag governs, and a free fall (exponent 1) below."""
    assert jet_throw_m(4e5, 0.003) / jet_throw_m(1e5, 0.003) == pytest.approx(2.0, rel=0.1)
    free = jet_throw_m(2e3, 0.003, stand_m=0.0) / jet_throw_m(1e3, 0.003, stand_m=0.0)
    assert 1.6 < free < 2.0


@pytest.mark.parametrize(
    ("drop_mm", "speed"),
    [(0.5, 1.879), (1, 3.851), (1.5, 5.352), (2, 6.620), (3, 8.496), (4, 9.810), (5, 10.97)],
)
def test_terminal_velocity_of_the_drag_law(drop_mm: float, speed: float) -> None:
    """Fukui, Nakanishi & Okamura 1980, Irrigation Science 2, 23 (coefficients from memory)."""
    assert terminal_velocity_m_s(drop_mm / 1000.0) == pytest.approx(speed, rel=0.01)


@pytest.mark.parametrize(
    ("drop_mm", "speed", "low", "high"),
    [
        (1, 4.03, -0.10, 0.10),
        (2, 6.49, -0.10, 0.10),
        (3, 8.06, 0.0, 0.10),
        (4, 8.83, 0.0, 0.20),
        (5, 9.09, 0.0, 0.30),
    ],
)
def test_terminal_velocity_of_rain(drop_mm: float, speed: float, low: float, high: float) -> None:
    """Gunn & Kinzer 1949 (from memory): drops over 2 mm flatten, and a rigid law runs high."""
    assert low <= terminal_velocity_m_s(drop_mm / 1000.0) / speed - 1.0 <= high


@pytest.mark.parametrize(
    ("drop_mm", "throw_m"),
    [(0.5, 1.823), (1, 4.287), (1.5, 6.323), (2, 7.939), (3, 10.351), (4, 12.121)],
)
def test_flight_of_a_drop(drop_mm: float, throw_m: float) -> None:
    """The drag of Fukui et al. 1980, integrated by Runge-Kutta 4(5) to 1e-9: 2 bar, 25 deg."""
    speed = 0.98 * sqrt(2.0 * 2e5 / RHO)
    assert landing_m(drop_mm / 1000.0, speed)[0] == pytest.approx(throw_m, rel=1e-3)


def test_flight_without_air() -> None:
    """Galilei's parabola: 32.07 m for the same jet."""
    speed = 0.98 * sqrt(2.0 * 2e5 / RHO)
    assert vacuum_throw_m(speed, 25.0, 1.0) == pytest.approx(32.07, rel=1e-3)


@pytest.mark.parametrize(("l_min", "radius_m", "mm_h"), [(10.0, 6.0, 5.305), (7.3, 5.0, 5.577)])
def test_application_rate(l_min: float, radius_m: float, mm_h: float) -> None:
    """Q / (pi R^2), full circle (Keller & Bliesner 1990)."""
    assert application_rate_mm_h(l_min / 60000.0, radius_m) == pytest.approx(mm_h, rel=1e-3)
