"""Ranges in a site file: the middle is the value, and both ends are kept."""

import pytest

from rillkeeper.site.file import read_site
from tests.host.site.test_sitefile import BOARD, mistakes_of

RANGED = """
[water]
lift = "1.2 m to 1.8 m"
[line]
bore = "1/2 to 3/4 in"
fittings_k = "2 to 4"
[sprinkler]
nozzle_count = "1 to 3"
[[set]]
run = "40 to 60 min"
"""


def test_a_range_keeps_its_middle_and_its_ends() -> None:
    site = read_site(RANGED + BOARD)
    assert site.water.lift_m == pytest.approx(1.5)
    assert site.line.bore_m == pytest.approx(0.625 * 0.0254)
    assert (site.line.fittings_k, site.sprinkler.nozzle_count) == (3.0, 2)
    assert site.sets[0].amount == pytest.approx(50.0)
    ends = {one.key: (one.low, one.high) for one in site.ranges}
    assert ends == {
        "water.lift": pytest.approx((1.2, 1.8)),
        "line.bore": pytest.approx((0.0127, 0.01905)),
        "line.fittings_k": (2.0, 4.0),
        "sprinkler.nozzle_count": (1, 3),
        "set[1].run": pytest.approx((40.0, 60.0)),
    }


def test_ends_of_a_range_in_any_order_and_no_range_at_all() -> None:
    turned = read_site('[water]\nlift = "1.8 m to 1.2 m"\n' + BOARD)
    assert [(one.low, one.high) for one in turned.ranges] == [pytest.approx((1.2, 1.8))]
    assert read_site('[water]\nlift = "1.5 m to 1.5 m"\n' + BOARD).ranges == ()


def test_wrong_ranges_come_all_at_once() -> None:
    text = """
    [water]
    lift = "1.2 m to 80 m"
    [suction]
    bore = "1/2 in to 3 bar"
    fittings_k = "some to many"
    [plot]
    crop = "carrots to onions"
    [[fault]]
    name = "rain"
    night = 2
    offset = "1 h to 2 h"
    """
    found = mistakes_of(text)
    assert "too large" in found["water.lift"]
    assert "a pressure, where a bore belongs" in found["suction.bore"]
    assert "not a range" in found["suction.fittings_k"]
    assert "not one of the names" in found["plot.crop"]
    assert "one value belongs" in found["fault[1].offset"]
