"""The root zone: balance by the cell, closed forms, and what a pause is for."""

from math import exp

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillkeeper.site.file import demo_site
from rillsim.garden.crops import SOILS, find_soil
from rillsim.garden.dual import DualKc
from rillsim.garden.need import need_of, reserve_days, root_zone_of, usual_day
from rillsim.garden.soil import RootZone

CROP_ALONE = DualKc(1.0, 1.0, 1.0)
"""No bare ground gives anything off: eq. 85 with one coefficient."""
LETTUCE = DualKc(0.9, 1.2, 0.32)
BARE = DualKc(0.0, 1.2, 1.0)

kcs = st.sampled_from([CROP_ALONE, LETTUCE, BARE, DualKc(0.15, 1.2, 0.01)])
steps = st.lists(
    st.tuples(
        st.floats(0.0, 90000.0),
        st.floats(0.0, 60.0),
        st.lists(st.floats(0.0, 30.0), min_size=3, max_size=3),
        st.floats(0.0, 9.0),
        kcs,
    ),
    max_size=40,
)


def loam(deficit_mm: float = 10.0) -> RootZone:
    return RootZone(find_soil("loam"), root_m=0.4, fraction=0.3, deficit_mm=deficit_mm)


@given(st.sampled_from(sorted(SOILS)), st.floats(0.05, 1.5), st.floats(0.0, 1.0), steps)
def test_no_water_from_nowhere(
    name: str,
    root_m: float,
    dryness: float,
    lived: list[tuple[float, float, list[float], float, DualKc]],
) -> None:
    """In each cell: what fell is used, ran off, drained, stands, or is in the root zone."""
    start_mm = dryness * RootZone(find_soil(name), root_m, 0.3, 0.0).total_mm
    zone = RootZone(find_soil(name), root_m, 0.3, start_mm, (3,))
    for step_s, rain, spray, reference, kc in lived:
        zone.step(step_s, rain, np.array(spray), reference, kc)
        sums = zone.sums
        gained_mm = start_mm - zone.deficit_mm + zone.standing_mm
        given_mm = sums.rain_mm + sums.spray_mm - sums.used_mm - sums.runoff_mm - sums.drained_mm
        assert gained_mm == pytest.approx(given_mm, abs=1e-9)
        assert np.all((zone.deficit_mm >= 0.0) & (zone.deficit_mm <= zone.total_mm + 1e-9))
        assert np.all((zone.dried_mm >= 0.0) & (zone.dried_mm <= zone.evaporable_mm + 1e-9))
        assert np.all((zone.standing_mm >= 0.0) & (zone.standing_mm <= zone.soil.surface_mm))
        assert np.all((zone.stress >= 0.0) & (zone.stress <= 1.0))
    sums = zone.sums
    every = (sums.runoff_mm, sums.drained_mm, sums.crop_mm, sums.surface_mm)
    assert min(float(cells.min()) for cells in every) >= -1e-9
    assert np.all(sums.crop_mm <= sums.demand_mm + 1e-9)


def test_a_cell_lives_as_it_would_alone() -> None:
    """Five cells side by side, each with its own spray, are five buckets; equal ones stay so."""
    spray_mm = np.array([0.0, 3.0, 8.0, 40.0, 8.0])
    together = RootZone(find_soil("clay"), 0.4, 0.3, 12.0, (5,))
    alone = [RootZone(find_soil("clay"), 0.4, 0.3, 12.0) for _ in spray_mm]
    for day in range(6):
        together.step(3600.0, spray_mm=spray_mm)
        together.step(82800.0, rain_mm=float(day), reference_mm=5.0, kc=LETTUCE)
        for zone, mm in zip(alone, spray_mm, strict=True):
            zone.step(3600.0, spray_mm=float(mm))
            zone.step(82800.0, rain_mm=float(day), reference_mm=5.0, kc=LETTUCE)
    for name in ("deficit_mm", "dried_mm", "standing_mm"):
        found = [float(getattr(zone, name)[0]) for zone in alone]
        assert getattr(together, name) == pytest.approx(found, abs=1e-12), name
    assert together.deficit_mm[2] == together.deficit_mm[4]
    assert together.sums.runoff_mm[3] > together.sums.runoff_mm[2]
    assert together.deficit_mm[0] > together.deficit_mm[1] > together.deficit_mm[2]


def test_a_stressed_crop_dries_the_soil_exponentially() -> None:
    """Eq. 84 in eq. 85 is a linear equation: TAW - D falls by exp(-demand / (TAW - RAW))."""
    zone = loam(deficit_mm=20.0)
    assert zone.readily_mm == pytest.approx(15.6)
    zone.step(86400.0, reference_mm=5.0, kc=CROP_ALONE)
    assert zone.total_mm - zone.deficit_mm == pytest.approx(32.0 * exp(-5.0 / 36.4), abs=1e-12)


def test_a_bare_surface_dries_exponentially_past_its_free_water() -> None:
    """Eq. 74 in eq. 77: 1.2 ETo up to REW, 9 mm; then TEW - De falls as 1.2 ETo / (TEW - REW)."""
    zone = RootZone(find_soil("loam"), 1.0, 0.3, 0.0)
    assert zone.evaporable_mm == pytest.approx(19.0)
    zone.step(86400.0, reference_mm=20.0, kc=BARE)
    stays_mm = 10.0 * exp(-(24.0 - 9.0) / 10.0)
    assert zone.dried_mm == pytest.approx(19.0 - stays_mm, abs=1e-12)
    assert zone.deficit_mm == pytest.approx(19.0 - stays_mm, abs=1e-12)
    assert zone.sums.crop_mm == 0.0


def test_the_sun_is_the_limit_where_little_ground_is_bare() -> None:
    """Eq. 71: Ke is at most few Kc max, so 0.05 of 1.2 here, until Kr brings it lower."""
    zone = loam(deficit_mm=0.0)
    zone.step(3600.0, reference_mm=1.0, kc=DualKc(0.9, 1.2, 0.05))
    assert zone.sums.surface_mm == pytest.approx(0.06)
    assert zone.dried_mm == pytest.approx(1.2)


@pytest.mark.parametrize("deficit_mm", [0.0, 13.0, 20.0, 45.0])
@pytest.mark.parametrize("kc", [CROP_ALONE, LETTUCE, BARE])
def test_drying_does_not_depend_on_the_step(deficit_mm: float, kc: DualKc) -> None:
    """An hour in one step or in sixty; a thirsty crop on a wet surface by 0.001 mm at most."""
    whole, parts = loam(deficit_mm), loam(deficit_mm)
    for zone in (whole, parts):
        zone.dried_mm[:] = 0.0
    for _ in range(24):
        whole.step(3600.0, reference_mm=0.5, kc=kc)
    for _ in range(24 * 60):
        parts.step(60.0, reference_mm=0.5 / 60.0, kc=kc)
    assert parts.deficit_mm == pytest.approx(whole.deficit_mm, abs=1e-3)
    assert parts.dried_mm == pytest.approx(whole.dried_mm, abs=1e-3)


@pytest.mark.parametrize(("soil", "spray_mm"), [("loam", 60.0), ("clay", 40.0), ("sand", 12.0)])
def test_wetting_does_not_depend_on_the_step(soil: str, spray_mm: float) -> None:
    whole, parts = (RootZone(find_soil(soil), 0.4, 0.3, 5.0) for _ in range(2))
    whole.step(7200.0, spray_mm=spray_mm, reference_mm=0.3, kc=CROP_ALONE)
    for _ in range(720):
        parts.step(10.0, spray_mm=spray_mm / 720.0, reference_mm=0.3 / 720.0, kc=CROP_ALONE)
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
    zone.step(3600.0, rain_mm=10.0, reference_mm=0.5, kc=CROP_ALONE)
    assert float(zone.deficit_mm[0]) == 0.0
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


def test_a_plot_that_is_watered_every_night_needs_more_than_its_crop() -> None:
    """FAO-56 chapter 7: lettuce in mid season has Kcb 0.90, and 1.20 on wet ground (Kc max)."""
    site = demo_site()
    day = usual_day(site)
    assert (day.kc.basal, day.kc.most) == (pytest.approx(0.9), pytest.approx(1.2))
    assert day.need_mm == pytest.approx(1.2 * day.reference_mm)
    assert need_of(BARE, 20.0, find_soil("loam")) == pytest.approx(19.0 - 10.0 * exp(-1.5))
    zone = root_zone_of(site)
    assert zone.total_mm == pytest.approx(52.0)
    assert zone.readily_mm == pytest.approx((0.30 + 0.04 * (5.0 - day.need_mm)) * 52.0)
    assert reserve_days(site) == pytest.approx(zone.readily_mm / day.need_mm, rel=0.01)


def test_water_cannot_be_taken_back() -> None:
    with pytest.raises(ValueError, match="none may be below 0"):
        loam().step(60.0, spray_mm=-1.0)
