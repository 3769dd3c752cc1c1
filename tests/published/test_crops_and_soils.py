"""Crop tables, soil tables and the water of a root zone against FAO-56 and FAO manual 5."""

import numpy as np
import pytest

from rillsim.garden.crops import CROPS, SOILS, find_crop, find_soil
from rillsim.garden.soil import (
    depletion_fraction,
    readily_available_mm,
    stress_coefficient,
    total_available_mm,
)
from rillsim.site import SOILS as SITE_SOILS
from rillsim.site import PlotSpec

pytestmark = pytest.mark.published

# FAO-56 table 22 as pyfao56 1.4.3 has it: Zr from, to; p. Turf: from memory. Table 17 is in
# test_dual_crop_coefficient.
CROP_ROWS = {
    "broccoli": (0.4, 0.6, 0.45),
    "cabbage": (0.5, 0.8, 0.45),
    "carrot": (0.5, 1.0, 0.35),
    "garlic": (0.3, 0.5, 0.30),
    "lettuce": (0.3, 0.5, 0.30),
    "onion": (0.3, 0.6, 0.30),
    "spinach": (0.3, 0.5, 0.20),
    "radish": (0.3, 0.5, 0.30),
    "tomato": (0.7, 1.5, 0.40),
    "cucumber": (0.7, 1.2, 0.50),
    "courgette": (0.6, 1.0, 0.50),
    "potato": (0.4, 0.6, 0.35),
    "green bean": (0.5, 0.7, 0.45),
    "strawberry": (0.2, 0.3, 0.20),
    "turf": (0.5, 1.0, 0.40),
}

# FAO-56 example 36: (fc, wp) of three soils, (Zr, p) of three crops.
EXAMPLE_SOILS = {"loamy sand": (0.15, 0.06), "silt": (0.32, 0.15), "silty clay": (0.35, 0.23)}
EXAMPLE_CROPS = {"onion": (0.4, 0.30), "tomato": (0.8, 0.40), "maize": (1.2, 0.55)}
EXAMPLE_36 = [
    ("onion", "loamy sand", 36.0, 10.8),
    ("onion", "silt", 68.0, 20.4),
    ("onion", "silty clay", 48.0, 14.4),
    ("tomato", "loamy sand", 72.0, 28.8),
    ("tomato", "silt", 136.0, 54.4),
    ("tomato", "silty clay", 96.0, 38.4),
    ("maize", "loamy sand", 108.0, 59.4),
    ("maize", "silt", 204.0, 112.2),
    ("maize", "silty clay", 144.0, 79.2),
]


@pytest.mark.parametrize("name", CROP_ROWS)
def test_crop_row(name: str) -> None:
    crop = find_crop(name)
    assert (crop.root_min_m, crop.root_max_m, crop.depletion_fraction) == CROP_ROWS[name]


def test_no_crop_without_a_row() -> None:
    assert set(CROPS) == set(CROP_ROWS)


@pytest.mark.parametrize(("crop", "soil", "total_mm", "readily_mm"), EXAMPLE_36)
def test_water_of_a_root_zone(crop: str, soil: str, total_mm: float, readily_mm: float) -> None:
    """FAO-56 example 36 (eq. 82 and 83)."""
    (capacity, wilting), (root_m, fraction) = EXAMPLE_SOILS[soil], EXAMPLE_CROPS[crop]
    total = total_available_mm(capacity, wilting, root_m)
    assert total == pytest.approx(total_mm, abs=0.5)
    assert readily_available_mm(fraction, total) == pytest.approx(readily_mm, abs=0.5)


@pytest.mark.parametrize(
    ("soil", "low_mm_h", "high_mm_h"),
    [
        ("sand", 30.0, 200.0),
        ("sandy loam", 20.0, 30.0),
        ("loam", 10.0, 20.0),
        ("clay loam", 5.0, 10.0),
        ("clay", 1.0, 5.0),
    ],
)
def test_basic_infiltration(soil: str, low_mm_h: float, high_mm_h: float) -> None:
    """FAO Irrigation Water Management, training manual 5, annex 2."""
    assert low_mm_h <= find_soil(soil).infiltration_mm_h <= high_mm_h


@pytest.mark.parametrize(
    ("soil", "capacity", "wilting"),
    [
        ("sand", (0.07, 0.17), (0.02, 0.07)),
        ("loamy sand", (0.11, 0.19), (0.03, 0.10)),
        ("sandy loam", (0.18, 0.28), (0.06, 0.16)),
        ("loam", (0.20, 0.30), (0.07, 0.17)),
        ("clay", (0.32, 0.40), (0.20, 0.24)),
    ],
)
def test_water_contents(
    soil: str, capacity: tuple[float, float], wilting: tuple[float, float]
) -> None:
    """Ranges of FAO-56 table 19, from memory."""
    assert capacity[0] <= find_soil(soil).field_capacity <= capacity[1]
    assert wilting[0] <= find_soil(soil).wilting_point <= wilting[1]


def test_site_names_are_known() -> None:
    assert set(SITE_SOILS) == set(SOILS)
    find_crop(PlotSpec().crop).basal(PlotSpec().stage)
    find_soil(PlotSpec().soil)


def test_finer_soils_take_water_more_slowly() -> None:
    rates = [find_soil(name).infiltration_mm_h for name in SITE_SOILS]
    assert rates == sorted(rates, reverse=True)


@pytest.mark.parametrize(
    ("find", "wrong", "offer"),
    [(find_crop, "letuce", "'lettuce'"), (find_soil, "lome", "'loam'")],
)
def test_unknown_name_offers_the_nearest(find: object, wrong: str, offer: str) -> None:
    with pytest.raises(ValueError, match=f"did you mean {offer}"):
        find(wrong)  # type: ignore[operator]


def test_unknown_stage() -> None:
    with pytest.raises(ValueError, match="stage 'late' is not one of ini, mid, end"):
        find_crop("lettuce").basal("late")


def test_depletion_fraction_follows_demand() -> None:
    """FAO-56 table 22, footnote 2, and its limits."""
    assert depletion_fraction(0.30, 3.0) == pytest.approx(0.38)
    assert depletion_fraction(0.20, 12.0) == 0.1
    assert depletion_fraction(0.80, 1.0) == 0.8


def test_stress() -> None:
    """FAO-56 eq. 84 at its corners."""
    found = stress_coefficient(np.array([0.0, 20.0, 35.0, 50.0]), 50.0, 20.0)
    assert found == pytest.approx([1.0, 1.0, 0.5, 0.0])
