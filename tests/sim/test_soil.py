"""The root zone: balance, closed forms, and what a pause is for."""

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillsim.garden.crops import SOILS, find_soil
from rillsim.garden.soil import RootZone
from rillsim.site import PlotSpec

steps = st.lists(
    st.tuples(
        st.floats(0.0, 90000.0), st.floats(0.0, 60.0), st.floats(0.0, 30.0), st.floats(0.0, 9.0)
    ),
    max_size=40,
)


def loam(deficit_mm: float = 10.0) -> RootZone:
    return RootZone(find_soil("loam"), root_m=0.4, fraction=0.3, deficit_mm=deficit_mm)


@given(st.sampled_from(sorted(SOILS)), st.floats(0.0, 1.0), steps)
def test_no_water_from_nowhere(
    name: str, dryness: float, lived: list[tuple[float, float, float, float]]
) -> None:
    dry_mm = RootZone(find_soil(name), 0.4, 0.3, 0.0).total_mm
    zone = RootZone(find_soil(name), 0.4, 0.3, dryness * dry_mm)
    for step_s, rain, spray, demand in lived:
        zone.step(step_s, rain, spray, demand)
        sums, start_mm = zone.sums, dryness * dry_mm
        gained_mm = start_mm - zone.deficit_mm + zone.standing_mm
        given_mm = sums.rain_mm + sums.spray_mm - sums.used_mm - sums.runoff_mm - sums.drained_mm
        assert gained_mm == pytest.approx(given_mm, abs=1e-9)
        assert 0.0 <= zone.deficit_mm <= zone.total_mm
        assert 0.0 <= zone.standing_mm <= zone.soil.surface_mm
    sums = zone.sums
    assert min(sums.runoff_mm, sums.drained_mm, sums.used_mm) >= 0.0
    assert sums.used_mm <= sums.demand_mm + 1e-9


def test_a_stressed_crop_dries_the_soil_exponentially() -> None:
    """Eq. 84 in eq. 85 is a linear equation: TAW - D falls by exp(-demand / (TAW - RAW))."""
    zone = loam(deficit_mm=20.0)
    assert zone.readily_mm == pytest.approx(15.6)
    zone.step(86400.0, demand_mm=5.0)
    assert zone.total_mm - zone.deficit_mm == pytest.approx(32.0 * exp(-5.0 / 36.4), abs=1e-12)


@pytest.mark.parametrize("deficit_mm", [0.0, 13.0, 20.0])
def test_drying_does_not_depend_on_the_step(deficit_mm: float) -> None:
    whole, parts = loam(deficit_mm), loam(deficit_mm)
    whole.step(86400.0, demand_mm=6.0)
    for _ in range(1000):
        parts.step(86.4, demand_mm=0.006)
    assert parts.deficit_mm == pytest.approx(whole.deficit_mm, abs=1e-9)


@pytest.mark.parametrize(("soil", "spray_mm"), [("loam", 60.0), ("clay", 40.0), ("sand", 12.0)])
def test_wetting_does_not_depend_on_the_step(soil: str, spray_mm: float) -> None:
    whole, parts = (RootZone(find_soil(soil), 0.4, 0.3, 5.0) for _ in range(2))
    whole.step(7200.0, spray_mm=spray_mm, demand_mm=0.3)
    for _ in range(720):
        parts.step(10.0, spray_mm=spray_mm / 720.0, demand_mm=0.3 / 720.0)
    for name in ("runoff_mm", "drained_mm", "used_mm"):
        found, expected = getattr(parts.sums, name), getattr(whole.sums, name)
        assert found == pytest.approx(expected, abs=1e-9), name


def test_runoff_by_hand() -> None:
    """20 mm/h for an hour on clay: 3 soak in, 2.5 stand in the hollows, 14.5 run away."""
    zone = RootZone(find_soil("clay"), 0.4, 0.3, 20.0)
    zone.step(3600.0, spray_mm=20.0)
    assert zone.sums.runoff_mm == pytest.approx(14.5)
    assert zone.standing_mm == pytest.approx(2.5)
    assert zone.deficit_mm == pytest.approx(17.0)
    zone.step(3600.0)
    assert zone.standing_mm == 0.0
    assert zone.deficit_mm == pytest.approx(14.5)


def test_a_gentle_spray_never_runs_off() -> None:
    """5.3 mm/h suits loam and is within clay loam, but runs off clay in the end."""
    ran_off = {}
    for name in ("loam", "clay loam", "clay"):
        zone = RootZone(find_soil(name), 0.4, 0.3, 25.0)
        zone.step(3 * 3600.0, spray_mm=3 * 5.3)
        ran_off[name] = zone.sums.runoff_mm
    assert ran_off["loam"] == ran_off["clay loam"] == 0.0
    assert ran_off["clay"] == pytest.approx(3 * 5.3 - 3 * 3.0 - 2.5)


def test_a_pause_saves_what_would_run_off() -> None:
    straight, paused = (RootZone(find_soil("clay"), 0.4, 0.3, 20.0) for _ in range(2))
    straight.step(7200.0, spray_mm=10.6)
    for _ in range(4):
        paused.step(1800.0, spray_mm=2.65)
        paused.step(1800.0)
    assert straight.sums.runoff_mm > 2.0
    assert paused.sums.runoff_mm == 0.0


def test_too_much_drains_below_the_roots() -> None:
    zone = loam(deficit_mm=4.0)
    zone.step(3600.0, rain_mm=10.0, demand_mm=0.5)
    assert zone.deficit_mm == 0.0
    assert zone.sums.drained_mm == pytest.approx(10.0 - 4.0 - 0.5)


@pytest.mark.parametrize(
    ("root_m", "fraction", "deficit_mm", "words"),
    [
        (0.0, 0.3, 0.0, "give a depth above 0 m"),
        (0.4, 1.0, 0.0, "give a share between 0 and 1"),
        (0.4, 0.3, 60.0, "hold 52.0 mm for the crop: give 0 to 52.0 mm"),
        (0.4, 0.3, -1.0, "give 0 to 52.0 mm"),
        (float("nan"), 0.3, 1.0, "give a depth above 0 m"),
    ],
)
def test_refusals(root_m: float, fraction: float, deficit_mm: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        RootZone(find_soil("loam"), root_m, fraction, deficit_mm)


def test_of_a_plot() -> None:
    """Lettuce on loam, 0.4 m deep: 52 mm, of which 0.3 at 5 mm a day and 0.38 at 3 mm."""
    zone = RootZone.of_plot(PlotSpec())
    assert (zone.total_mm, zone.deficit_mm) == (pytest.approx(52.0), 10.0)
    assert zone.readily_mm == pytest.approx(15.6)
    assert RootZone.of_plot(PlotSpec(), 3.0).readily_mm == pytest.approx(0.38 * 52.0)
    assert zone.stress == 1.0


def test_water_cannot_be_taken_back() -> None:
    with pytest.raises(ValueError, match="none may be below 0"):
        loam().step(60.0, spray_mm=-1.0)
