"""Sun and radiation at the edges that worked examples do not reach."""

from math import pi

import pytest

from rillsim.garden import fao56, radiation


def test_a_sky_cannot_be_clearer_than_clear() -> None:
    """FAO-56 eq. 39: Rs/Rso is at most 1."""
    clear = radiation.net_longwave_mj_m2(25.0, 15.0, 1.5, 1.0)
    assert radiation.net_longwave_mj_m2(25.0, 15.0, 1.5, 1.2) == clear
    assert radiation.net_longwave_mj_m2(25.0, 15.0, 1.5, 0.8) < clear


@pytest.mark.parametrize(("day_of_year", "hours"), [(172, 24.0), (355, 0.0)])
def test_polar_day_and_night(day_of_year: int, hours: float) -> None:
    assert radiation.daylight_h(80.0, day_of_year) == pytest.approx(hours)
    outside = radiation.extraterrestrial_mj_m2(80.0, day_of_year)
    assert (outside > 30.0) if hours else (outside == 0.0)


@pytest.mark.parametrize("day_of_year", [80, 264])
def test_day_and_night_are_equal_at_the_equinox(day_of_year: int) -> None:
    assert radiation.daylight_h(50.0, day_of_year) == pytest.approx(12.0, abs=0.15)


def test_hours_add_up_to_the_day() -> None:
    """Eq. 28 over 24 hours is eq. 21."""
    edges = [-pi + pi / 12.0 * hour for hour in range(25)]
    hours = [
        radiation.extraterrestrial_between_mj_m2(46.0, 190, start, end)
        for start, end in zip(edges, edges[1:], strict=False)
    ]
    assert sum(hours) == pytest.approx(radiation.extraterrestrial_mj_m2(46.0, 190), rel=1e-12)
    assert hours == pytest.approx(hours[::-1])


def test_dew_is_not_taken_from_the_crop() -> None:
    """A damp winter day far north has a negative balance: no use, not a gift."""
    air = ((-2.0, -9.0), (100.0, 98.0))
    assert fao56.reference_day_mm(65.0, 0.0, 355, *air, 0.2, 0.0) == 0.0


def test_hargreaves_follows_penman_in_a_plain_summer() -> None:
    """FAO-56 chapter 3: within some 20 % where the weather is ordinary."""
    outside = radiation.extraterrestrial_mj_m2(46.0, 190)
    air = ((27.0, 14.0), (85.0, 45.0))
    penman = fao56.reference_day_mm(46.0, 200.0, 190, *air, 1.5, 0.7)
    assert fao56.hargreaves_mm(27.0, 14.0, outside) == pytest.approx(penman, rel=0.2)
