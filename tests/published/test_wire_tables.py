"""Conductors, wire choice and fuses against standards and published tables."""

import pytest

from rillsim.supply.cable import (
    awg_area_m2,
    awg_diameter_m,
    resistance_ohm_per_m,
    temperature_factor,
    voltage_drop_v,
)
from rillsim.supply.wiring import ampacity_a, circular_mils, fuse_rating_a, smallest_gauge

pytestmark = pytest.mark.published

FOOT_M = 0.3048


@pytest.mark.parametrize(
    ("gauge", "diameter_mm", "area_mm2", "ohm_km", "ohm_1000_ft"),
    [
        (18, 1.0237, 0.8230, 20.948, 6.385),
        (16, 1.2908, 1.3087, 13.174, 4.016),
        (14, 1.6277, 2.0809, 8.2853, 2.525),
        (12, 2.0525, 3.3088, 5.2107, 1.588),
        (10, 2.5882, 5.2612, 3.2770, 0.9989),
        (8, 3.2636, 8.3656, 2.0609, 0.6282),
        (6, 4.1154, 13.302, 1.2961, 0.3951),
    ],
)
def test_american_gauges(
    gauge: int, diameter_mm: float, area_mm2: float, ohm_km: float, ohm_1000_ft: float
) -> None:
    """ASTM B258; last column Floyd, Electric Circuit Fundamentals, 2nd ed., wire table."""
    per_m = resistance_ohm_per_m(awg_area_m2(gauge), strand_class=1)
    assert awg_diameter_m(gauge) * 1e3 == pytest.approx(diameter_mm, rel=1e-4)
    assert awg_area_m2(gauge) * 1e6 == pytest.approx(area_mm2, rel=1e-4)
    assert per_m * 1e3 == pytest.approx(ohm_km, rel=1e-4)
    assert per_m * 1000.0 * FOOT_M == pytest.approx(ohm_1000_ft, rel=1e-3)
    # Stranded runs about 2 % higher, from memory.
    stranded = resistance_ohm_per_m(awg_area_m2(gauge), strand_class=2)
    assert stranded / per_m == pytest.approx(1.02, abs=0.005)


@pytest.mark.parametrize(
    ("area_mm2", "solid_ohm_km", "flexible_ohm_km"),
    [
        (0.5, 36.0, 39.0),
        (0.75, 24.5, 26.0),
        (1.0, 18.1, 19.5),
        (1.5, 12.1, 13.3),
        (2.5, 7.41, 7.98),
        (4.0, 4.61, 4.95),
        (6.0, 3.08, 3.30),
        (10.0, 1.83, 1.91),
        (16.0, 1.15, 1.21),
    ],
)
def test_metric_conductors(area_mm2: float, solid_ohm_km: float, flexible_ohm_km: float) -> None:
    """IEC 60228:2004, tables 1 to 3: maximum resistance at 20 C, plain copper."""
    for strand_class, ohm_km in ((1, solid_ohm_km), (2, solid_ohm_km), (5, flexible_ohm_km)):
        per_m = resistance_ohm_per_m(area_mm2 * 1e-6, strand_class=strand_class)
        assert per_m * 1e3 == pytest.approx(ohm_km, rel=1e-12)


@pytest.mark.parametrize(
    ("temperature_c", "to_20_c"),
    [(5.0, 1.064), (10.0, 1.042), (25.0, 0.980), (40.0, 0.926), (50.0, 0.893)],
)
def test_temperature_of_copper(temperature_c: float, to_20_c: float) -> None:
    """IEC 60228 annex: factor to 20 C, and its formula 254.5 / (234.5 + T)."""
    factor = 1.0 / temperature_factor(temperature_c)
    assert factor == pytest.approx(to_20_c, rel=2e-3)
    assert factor == pytest.approx(254.5 / (234.5 + temperature_c), rel=2e-3)


@pytest.mark.parametrize(
    ("current_a", "length_m", "area_mm2", "temperature_c", "drop_v", "percent"),
    [
        (8.0, 5.0, 2.5, 20.0, 0.6384, 5.32),
        (8.0, 5.0, 2.5, 40.0, 0.6886, 5.74),
        (8.0, 5.0, 1.5, 20.0, 1.0640, 8.87),
        (8.0, 5.0, 4.0, 20.0, 0.3960, 3.30),
        (17.0, 3.0, 4.0, 20.0, 0.5049, 4.21),
        (17.0, 3.0, 6.0, 20.0, 0.3366, 2.81),
    ],
)
def test_voltage_drop_metric(
    current_a: float,
    length_m: float,
    area_mm2: float,
    temperature_c: float,
    drop_v: float,
    percent: float,
) -> None:
    """Ohm's law on IEC 60228:2004, class 5, out and back, against a 12 V supply."""
    per_m = resistance_ohm_per_m(area_mm2 * 1e-6, temperature_c)
    lost_v = voltage_drop_v(current_a, length_m, per_m)
    assert lost_v == pytest.approx(drop_v, rel=1e-3)
    assert 100.0 * lost_v / 12.0 == pytest.approx(percent, rel=2e-3)


def test_power_lost_in_the_cable() -> None:
    """Ohm's law on IEC 60228:2004: 8 A through 5 m of 2.5 mm2 flexible heat it with 5.11 W."""
    lost_v = voltage_drop_v(8.0, 5.0, resistance_ohm_per_m(2.5e-6))
    assert lost_v * 8.0 == pytest.approx(5.11, rel=1e-3)


@pytest.mark.parametrize(("current_a", "gauge", "drop_v"), [(8.0, 14, 0.3977), (17.0, 10, 0.3343)])
def test_voltage_drop_american(current_a: float, gauge: int, drop_v: float) -> None:
    """Ohm's law on ASTM B258, solid, 3 m one way."""
    per_m = resistance_ohm_per_m(awg_area_m2(gauge), strand_class=1)
    assert voltage_drop_v(current_a, 3.0, per_m) == pytest.approx(drop_v, rel=1e-3)


@pytest.mark.parametrize(
    ("current_a", "feet", "share", "mils", "gauge"),
    [
        (10.0, 25.0, 0.03, 7465, 10),
        (10.0, 25.0, 0.10, 2240, 16),
        (17.0, 20.0, 0.03, 10153, 10),
        (17.0, 20.0, 0.10, 3046, 14),
    ],
)
def test_circular_mil_rule(
    current_a: float, feet: float, share: float, mils: float, gauge: int
) -> None:
    """ABYC E-11, tables A and B (worked case: 10 A, 25 ft column); 10.75 from memory."""
    needed = circular_mils(current_a, feet * FOOT_M, 12.0 * share)
    assert needed == pytest.approx(mils, abs=1.0)
    assert smallest_gauge(current_a, feet * FOOT_M, 12.0, share) == gauge


@pytest.mark.parametrize(("current_a", "fuse_a"), [(8.0, 10.0), (17.0, 25.0)])
def test_fuse_rule(current_a: float, fuse_a: float) -> None:
    """NEC and ABYC practice, from memory: at least 1.25 times the continuous current."""
    assert fuse_rating_a(current_a, ampacity_a(12)) == fuse_a


@pytest.mark.parametrize(
    ("gauge", "pvc", "marine", "cord"),
    [
        (18, 10, 20, 10),
        (16, 15, 25, 13),
        (14, 20, 35, 18),
        (12, 25, 45, 25),
        (10, 40, 60, 30),
        (8, 55, 80, 40),
        (6, 80, 120, 55),
    ],
)
def test_ampacity(gauge: int, pvc: float, marine: float, cord: float) -> None:
    """ABYC E-11, outside engine spaces, columns for 60 C and for 105 C; NFPA 70 table
    400.5(A)(1), flexible cord with two conductors that carry current. All from memory."""
    assert ampacity_a(gauge, "pvc") == pvc
    assert ampacity_a(gauge, "105C") == marine
    assert ampacity_a(gauge, "cord") == cord
