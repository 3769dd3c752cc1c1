"""Uniformity figures and application rates against published definitions."""

import numpy as np
import pytest

from rillsim.garden.plot import SprayPlot
from rillsim.garden.uniformity import christiansen_cu, cu_from_sums, du_low_quarter
from rillsim.site import PlotSpec, SprinklerSpec
from rillsim.water.sprinkler import application_rate_mm_h

pytestmark = pytest.mark.published

EIGHT = [12, 10, 11, 9, 8, 10, 13, 7]
SIXTEEN = [5.1, 4.8, 5.6, 6.0, 4.2, 5.0, 5.3, 4.7, 3.9, 4.4, 5.9, 6.2, 5.5, 4.9, 5.2, 4.3]


def test_eight_cans() -> None:
    """Christiansen (1942) and the low quarter of ASAE S398."""
    assert np.mean(EIGHT) == 10.0
    assert christiansen_cu(EIGHT) == pytest.approx(85.0, abs=1e-9)
    assert du_low_quarter(EIGHT) == pytest.approx(75.0, abs=1e-9)


def test_sixteen_cans() -> None:
    """The same definitions."""
    assert np.mean(SIXTEEN) == pytest.approx(5.0625)
    assert christiansen_cu(SIXTEEN) == pytest.approx(89.383, abs=1e-3)
    assert du_low_quarter(SIXTEEN) == pytest.approx(82.963, abs=1e-3)


def test_from_sums() -> None:
    """A calculator's published table: total 1500, deviations 100."""
    assert cu_from_sums(1500.0, 100.0) == pytest.approx(93.33, abs=0.01)


@pytest.mark.parametrize(
    ("litres_min", "throw_m", "rate_mm_h"), [(10.0, 6.0, 5.305), (7.3, 5.0, 5.577)]
)
def test_application_rate(litres_min: float, throw_m: float, rate_mm_h: float) -> None:
    """Q / (pi R2): the function, and the depth that an hour leaves inside the circle."""
    rate = application_rate_mm_h(litres_min / 60000.0, throw_m)
    assert rate == pytest.approx(rate_mm_h, rel=1e-3)
    field = PlotSpec(width_m=16.0, depth_m=16.0)
    spray = SprayPlot(field, SprinklerSpec(x_m=8.0, y_m=8.0, pattern="even"))
    spray.add(60.0 * litres_min, throw_m)
    assert spray.depth_mm[32, 32] == pytest.approx(rate_mm_h, rel=0.01)


def test_cu_of_a_cone() -> None:
    """A cone over its own circle: CU = 100 (1 - 16/27), by integration."""
    radius = np.sqrt((np.arange(100000) + 0.5) / 100000)
    assert christiansen_cu(1.0 - radius) == pytest.approx(100.0 * 11.0 / 27.0, abs=0.01)
    field = PlotSpec(width_m=20.0, depth_m=20.0)
    spray = SprayPlot(field, SprinklerSpec(x_m=10.0, y_m=10.0))
    spray.add(1000.0, 10.0)
    east = np.arange(80) * 0.25 + 0.125 - 10.0
    inside = np.hypot(*np.meshgrid(east, east)) < 10.0
    assert christiansen_cu(spray.depth_mm[inside]) == pytest.approx(100.0 * 11.0 / 27.0, abs=0.5)
