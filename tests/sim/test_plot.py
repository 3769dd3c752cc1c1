"""Depth over the plot: volume is kept, wind and arc do what they say, figures make sense."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rillsim.garden.plot import Bin, SprayPlot, bin_of
from rillsim.garden.spray import PATTERNS, pattern_share_m2
from rillsim.site import PlotSpec, SprinklerSpec

WIDE = PlotSpec(width_m=40.0, depth_m=40.0)
MIDDLE = {"x_m": 20.0, "y_m": 20.0}


def over(plot: PlotSpec, **sprinkler: object) -> SprayPlot:
    return SprayPlot(plot, SprinklerSpec(**sprinkler))  # type: ignore[arg-type]


def centre_m(spray: SprayPlot) -> tuple[float, float]:
    """Centre of the water, from the south-west corner."""
    depth = spray.depth_mm
    x = (np.arange(spray.columns) + 0.5) * spray.cell_x_m
    y = (np.arange(spray.rows) + 0.5) * spray.cell_y_m
    return (
        float((depth.sum(axis=0) * x).sum() / depth.sum()),
        float((depth.sum(axis=1) * y).sum() / depth.sum()),
    )


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(PATTERNS),
    st.floats(0.0, 14.0),
    st.floats(0.0, 5.0),
    st.floats(0.0, 360.0),
    st.floats(20.0, 360.0),
    st.floats(0.0, 360.0),
    st.floats(0.0, 4e5),
)
def test_all_water_is_found_on_a_wide_plot(
    pattern: str,
    throw_m: float,
    wind: float,
    from_deg: float,
    arc: float,
    facing: float,
    pressure: float,
) -> None:
    spray = over(WIDE, **MIDDLE, pattern=pattern, arc_deg=arc, facing_deg=facing)
    spray.add(100.0, throw_m, wind, from_deg, pressure, lost_share=0.1)
    assert spray.litres_lost == pytest.approx(10.0)
    assert spray.litres_on_plot == pytest.approx(90.0, rel=1e-9)
    assert np.all(spray.depth_mm >= 0.0)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-60.0, 60.0),
    st.floats(-60.0, 60.0),
    st.floats(0.0, 20.0),
    st.floats(0.0, 8.0),
    st.floats(0.0, 360.0),
)
def test_wherever_it_stands_the_water_is_on_or_off_the_plot(
    x: float, y: float, throw_m: float, wind: float, from_deg: float
) -> None:
    spray = over(PlotSpec(), x_m=x, y_m=y)
    spray.add(50.0, throw_m, wind, from_deg)
    assert 0.0 <= spray.litres_on_plot <= 50.0 + 1e-9


@pytest.mark.parametrize("pattern", PATTERNS)
def test_cells_follow_the_pattern(pattern: str) -> None:
    """Each cell well inside an edge is the closed form at its middle, within the grid."""
    spray = over(WIDE, **MIDDLE, pattern=pattern)
    spray.add(1000.0, 8.0)
    middle = (np.arange(160) + 0.5) * 0.25 - 20.0
    radius = np.hypot(*np.meshgrid(middle, middle))
    smooth = (np.abs(radius - 8.0) > 0.4) & (np.abs(radius - 6.4) > 0.4) & (radius > 0.4)
    exact = 1000.0 * pattern_share_m2(pattern, radius, 8.0)
    assert spray.depth_mm[smooth] == pytest.approx(exact[smooth], rel=0.01, abs=1e-9)


def test_half_a_plot_gets_half_the_water() -> None:
    edge = over(PlotSpec(width_m=20.0, depth_m=40.0), x_m=0.0, y_m=20.0)
    edge.add(100.0, 8.0)
    corner = over(PlotSpec(width_m=20.0, depth_m=20.0), x_m=0.0, y_m=0.0)
    corner.add(100.0, 8.0)
    assert edge.litres_on_plot == pytest.approx(50.0, rel=1e-6)
    assert corner.litres_on_plot == pytest.approx(25.0, rel=1e-6)


def test_a_part_circle_puts_all_of_it_in_its_arc() -> None:
    whole = over(WIDE, **MIDDLE, pattern="even")
    quarter = over(WIDE, **MIDDLE, pattern="even", arc_deg=90.0, facing_deg=45.0)
    whole.add(100.0, 9.0)
    quarter.add(100.0, 9.0)
    assert quarter.depth_mm[85, 85] == pytest.approx(4.0 * whole.depth_mm[85, 85], rel=0.02)
    assert quarter.depth_mm[:80].sum() == quarter.depth_mm[:, :80].sum() == 0.0


@pytest.mark.parametrize(
    ("from_deg", "east", "north"), [(0.0, 0.0, -2.0), (90.0, -2.0, 0.0), (225.0, 1.414, 1.414)]
)
def test_wind_moves_the_water(from_deg: float, east: float, north: float) -> None:
    spray = over(WIDE, **MIDDLE)
    spray.add(100.0, 8.0, wind_m_s=2.0, wind_from_deg=from_deg)
    assert centre_m(spray) == pytest.approx((20.0 + east, 20.0 + north), abs=0.03)


def test_a_bin_stands_for_its_neighbours() -> None:
    assert bin_of(7.04, 1.1, 359.0, 3e5) == bin_of(6.96, 0.9, 4.0, 2e5) == Bin(70, 4, 0, 0)
    assert bin_of(7.0, 0.1, 90.0, 3e5) == bin_of(7.0, 0.0, 270.0, 3e5)


def test_pumping_adds_up_whatever_the_order() -> None:
    def pumped(pieces: list[tuple[float, float]]) -> SprayPlot:
        spray = over(PlotSpec(), x_m=5.35, y_m=6.1)
        for litres, throw_m in pieces:
            spray.add(litres, throw_m)
        return spray

    many = pumped([(1.0, 6.0), (2.0, 7.0)] * 50)
    few = pumped([(100.0, 7.0), (50.0, 6.0)])
    assert many.depth_mm == pytest.approx(few.depth_mm, rel=1e-12)
    assert many.litres_pumped == 150.0


def test_clear_forgets_the_water() -> None:
    spray = over(PlotSpec(), x_m=5.35, y_m=6.1)
    spray.add(100.0, 6.0, lost_share=0.2)
    assert spray.mean_mm > 0.0
    spray.clear()
    assert spray.mean_mm == spray.litres_pumped == spray.litres_lost == spray.cu_percent == 0.0


def test_depth_may_be_looked_at_and_not_touched() -> None:
    spray = over(PlotSpec(), x_m=5.35, y_m=6.1)
    spray.add(100.0, 6.0)
    with pytest.raises(ValueError, match="read-only"):
        spray.depth_mm[0, 0] = 1.0


def test_a_spray_of_35_by_40_feet() -> None:
    """The trade's figure (common practice, no source): about 35 ft by 40 ft are sprayed.

    A throw of half of 40 ft wets the middle 0.85 of such a rectangle; 7 m leave the corners
    thin; its half diagonal of 8.1 m wets all of it. A throw of 3 m is a puddle in the middle.
    """

    def cover(throw_m: float) -> float:
        spray = over(PlotSpec(), x_m=5.35, y_m=6.1)
        spray.add(1000.0, throw_m)
        return spray.covered()

    assert cover(3.0) == pytest.approx(np.pi * 9.0 / (10.7 * 12.2), abs=0.03)
    assert cover(6.1) == pytest.approx(0.85, abs=0.02)
    assert cover(7.0) == pytest.approx(0.97, abs=0.02)
    assert cover(8.2) == 1.0


def test_wind_and_low_pressure_make_it_less_even() -> None:
    def du(**moment: float) -> float:
        spray = over(PlotSpec(), x_m=5.35, y_m=6.1)
        spray.add(1000.0, 9.0, **moment)
        return spray.du_percent

    calm = du()
    assert du(wind_m_s=3.0, wind_from_deg=270.0) < calm - 10.0
    ring = over(WIDE, **MIDDLE)
    ring.add(1000.0, 6.0, pressure_pa=60e3)
    assert ring.depth_mm[80, 80] < 0.5 * ring.depth_mm[80, 80 + 19]


def test_dry_air_takes_its_share() -> None:
    spray = over(PlotSpec(), x_m=5.35, y_m=6.1)
    spray.add_in_air(100.0, 6.0, 1.0, 0.0, humidity=75.0, pressure_pa=3e5)
    assert spray.litres_lost == pytest.approx(7.673, abs=0.001)


@pytest.mark.parametrize("throw_m", [5.0, 8.0, 9.9, 15.0])
@pytest.mark.parametrize("arc", [180.0, 360.0])
def test_a_map_is_worked_out_once(throw_m: float, arc: float) -> None:
    """For each kind of jet; how fast a week then is, `make bench` measures."""
    spray = over(PlotSpec(), x_m=5.35, y_m=6.1, arc_deg=arc)
    key = bin_of(throw_m, 1.0, 90.0, 1e5)
    assert spray.depth_per_litre_mm(key) is spray.depth_per_litre_mm(key)
    again = over(PlotSpec(), x_m=5.35, y_m=6.1, arc_deg=arc)
    assert again.depth_per_litre_mm(key) is spray.depth_per_litre_mm(key)
    beside = over(PlotSpec(), x_m=5.0, y_m=6.1, arc_deg=arc)
    assert (beside.depth_per_litre_mm(key) != spray.depth_per_litre_mm(key)).any()


def test_no_more_maps_are_kept_than_there_is_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    spray = over(PlotSpec(), x_m=5.35, y_m=6.2)
    keys = [bin_of(throw_m, 0.0, 0.0, 2e5) for throw_m in (4.0, 5.0, 6.0, 7.0)]
    first = spray.depth_per_litre_mm(keys[0])
    monkeypatch.setattr("rillsim.garden.plot.KEPT_CELLS", 2 * first.size)
    for key in keys[1:]:
        spray.depth_per_litre_mm(key)
    assert spray.depth_per_litre_mm(keys[0]) is not first
    assert (spray.depth_per_litre_mm(keys[0]) == first).all()


@pytest.mark.parametrize(
    ("plot", "sprinkler", "words"),
    [
        (PlotSpec(width_m=0.0), SprinklerSpec(), "plot width 0 m: give more than 0"),
        (PlotSpec(depth_m=999.0), SprinklerSpec(), "plot depth 999 m"),
        (PlotSpec(), SprinklerSpec(arc_deg=0.0), "arc 0 degrees"),
        (PlotSpec(), SprinklerSpec(pattern="star"), "pattern 'star' is not one of"),
    ],
)
def test_refusals(plot: PlotSpec, sprinkler: SprinklerSpec, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        SprayPlot(plot, sprinkler)
