"""Small slips of what settings are refused for, which no other test would notice.

Each was found by a changed line of ``settings.py`` that all tests let pass.
"""

import pytest

from keeper.checked import CURVE, VOLUME
from keeper.settings import SET_S_MAX, problems

from .bench import SITE


@pytest.mark.parametrize(("below_pa", "seen"), [(0, False), (1, True)])
def test_a_rating_is_seen_by_a_span_above_it(below_pa: int, seen: bool) -> None:
    values = {**SITE, "pressure_span_kpa": 500, "rating_pa": 500000 - below_pa}
    told = [one for one in problems(values) if "could not be seen" in one]
    assert bool(told) != seen


def test_a_curve_of_which_a_part_is_unknown_is_not_judged() -> None:
    """What is wrong with that part is said of itself."""
    known = {**SITE, "empty_mv": 12000, "charged_mv": 12600}
    known.update(dict(zip(CURVE[1:-1], (12400, 12300, 12200), strict=True)))
    assert any("must rise" in one for one in problems(known))
    known[CURVE[2]] = -1
    assert not any("must rise" in one for one in problems(known))


@pytest.mark.parametrize(("trim", "told"), [(0, False), (-1, True)])
def test_a_zero_that_is_trimmed_down_stays_above_its_band(trim: int, told: bool) -> None:
    values = {**SITE, "pressure_zero_trim_count": trim}
    values.update(pressure_zero_count=410, pressure_low_band_count=410)
    assert any("wire that is off" in one for one in problems(values)) == told


def test_hours_of_pumping_are_told_whole() -> None:
    """13 h less some seconds are 12 h: 10 919 litres at 14 a minute."""
    values = {**SITE, "set1_unit": VOLUME, "set1_amount": 10919}
    assert any("takes 12 h of pumping" in one for one in problems(values))


def test_a_set_may_take_twelve_hours() -> None:
    """A number that tests go by under its name."""
    assert SET_S_MAX == 12 * 60 * 60
