"""Cable, fuse and clamps: sums, limits of the tables, and refusals."""

from dataclasses import replace

import pytest

from rillsim.site import CableSpec
from rillsim.supply.cable import (
    awg_area_m2,
    awg_diameter_m,
    circuit,
    fuse_resistance_ohm,
    resistance_ohm_per_m,
)
from rillsim.supply.wiring import (
    AMPACITY_A,
    INSULATIONS,
    ampacity_a,
    area_ampacity_a,
    circular_mils,
    fuse_rating_a,
    smallest_area_m2,
    smallest_gauge,
)


def test_circuit_adds_up() -> None:
    spec = CableSpec(length_m=3.0, area_m2=4.0e-6, clamp_ohm=0.004, fuse_ohm=0.003)
    parts = circuit(spec)
    assert parts.conductor_ohm == pytest.approx(2.0 * 3.0 * 4.95e-3, rel=1e-12)
    assert parts.total_ohm == pytest.approx(sum(parts), rel=1e-12)
    drops_v = parts.drops_v(10.0)
    assert sum(drops_v.values()) == pytest.approx(10.0 * parts.total_ohm, rel=1e-12)
    assert drops_v["cable out"] == drops_v["cable back"]


def test_no_current_no_drop() -> None:
    """With the pump off both ends of a long thin cable read the same."""
    cord = circuit(CableSpec(length_m=30.48, area_m2=awg_area_m2(18)))
    assert sum(cord.drops_v(0.0).values()) == 0.0
    assert sum(cord.drops_v(8.0).values()) > 8.0


def test_unknown_fuse_goes_by_its_rating() -> None:
    assert circuit(CableSpec(fuse_ohm=0.0, fuse_a=25.0)).fuse_ohm == fuse_resistance_ohm(25.0)
    ohms = [fuse_resistance_ohm(float(rating)) for rating in range(1, 60)]
    assert all(small > large for small, large in zip(ohms, ohms[1:], strict=False))


@pytest.mark.parametrize("rating_a", [3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0])
def test_blade_fuses_lose_about_a_tenth_of_a_volt(rating_a: float) -> None:
    """Common practice, no source; a cold fuse loses a little less than a hot one."""
    lost_v = fuse_resistance_ohm(rating_a) * rating_a
    assert 0.055 <= lost_v <= 0.10
    assert fuse_resistance_ohm(rating_a + 0.5) * (rating_a + 0.5) == pytest.approx(lost_v, rel=0.1)


def test_fuse_past_the_table_keeps_its_voltage() -> None:
    assert fuse_resistance_ohm(80.0) == pytest.approx(0.5 * fuse_resistance_ohm(40.0))
    assert fuse_resistance_ohm(0.5) == pytest.approx(2.0 * fuse_resistance_ohm(1.0))


def test_warm_copper_resists_more() -> None:
    cold, warm = (circuit(CableSpec(temperature_c=t)).conductor_ohm for t in (0.0, 60.0))
    assert warm / cold == pytest.approx((1.0 + 0.00393 * 40.0) / (1.0 - 0.00393 * 20.0))


def test_area_outside_the_table_goes_by_its_copper() -> None:
    """3 mm2 is no nominal size; its flexible conductor lies between those of 2.5 and 4 mm2."""
    ohm = resistance_ohm_per_m(3.0e-6)
    assert resistance_ohm_per_m(4.0e-6) < ohm < resistance_ohm_per_m(2.5e-6)
    assert ohm == pytest.approx(17.241e-9 * 1.02 / 3.0e-6, rel=1e-12)


def test_ten_gauges_are_about_a_decade_of_area() -> None:
    """ASTM B258: 92^(20/39), that is 10.16, for ten gauges; 39 gauges are a diameter of 92."""
    assert awg_area_m2(4) / awg_area_m2(14) == pytest.approx(92.0 ** (20.0 / 39.0), rel=1e-12)
    assert awg_diameter_m(-3) / awg_diameter_m(36) == pytest.approx(92.0, rel=1e-12)


def test_smallest_conductors() -> None:
    area_m2 = smallest_area_m2(8.0, 5.0, 0.6)
    assert area_m2 == pytest.approx(4.0e-6)
    assert 2.0 * 5.0 * 8.0 * resistance_ohm_per_m(area_m2) <= 0.6
    assert 2.0 * 5.0 * 8.0 * resistance_ohm_per_m(2.5e-6) > 0.6
    assert smallest_gauge(1.0, 1.0, 12.0, 0.1) == 18


@pytest.mark.parametrize("insulation", INSULATIONS)
@pytest.mark.parametrize("gauge", sorted(AMPACITY_A["pvc"]))
def test_ampacity_of_an_area_is_on_the_safe_side(gauge: int, insulation: str) -> None:
    area_m2 = awg_area_m2(gauge)
    carries_a = ampacity_a(gauge, insulation)
    assert area_ampacity_a(area_m2, insulation) == carries_a
    assert area_ampacity_a(area_m2 * 1.05, insulation) == carries_a
    if gauge < 18:
        assert area_ampacity_a(area_m2 * 0.95, insulation) == ampacity_a(gauge + 2, insulation)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: awg_diameter_m(41), "41 AWG is not a wire gauge"),
        (lambda: resistance_ohm_per_m(0.0), "conductor area is 0 mm2"),
        (lambda: resistance_ohm_per_m(4e-6, strand_class=3), "conductor class 3 is unknown"),
        (lambda: fuse_resistance_ohm(0.0), "fuse rating is 0 A"),
        (lambda: circuit(replace(CableSpec(), length_m=-1.0)), "cable length is -1"),
        (lambda: circuit(replace(CableSpec(), clamp_ohm=-0.1)), "cable clamps is -0.1"),
        (lambda: circular_mils(8.0, 10.0, 0.0), "allowed voltage drop is 0 V"),
        (lambda: smallest_gauge(17.0, 200.0, 12.0, 0.03), "bring the battery nearer"),
        (lambda: smallest_area_m2(17.0, 100.0, 0.36), "bring the battery nearer"),
        (lambda: ampacity_a(3), "no ampacity is known for 3 AWG"),
        (lambda: area_ampacity_a(0.5e-6), "thinner than 18 AWG"),
        (lambda: fuse_rating_a(0.0, 35.0), "current is 0 A"),
        (lambda: fuse_rating_a(17.0, 15.0), "would not protect"),
        (lambda: fuse_rating_a(50.0, 120.0), "over the largest blade fuse"),
    ],
)
def test_refusals(wrong, says: str) -> None:
    with pytest.raises(ValueError, match=".") as refusal:
        wrong()
    assert says in str(refusal.value)
