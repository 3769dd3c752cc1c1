"""The kinetic battery model against the papers that state it."""

import pytest

from rillsim.supply.kibam import capacity_ah, life_h, max_current_a
from tests.sim.kinetic_step import step_ah

pytestmark = pytest.mark.published

# Parameters of the worked battery: c, k' [1/h], charge [Ah].
SHARE, RATE, FULL_AH = 0.40, 0.60, 115.0


@pytest.mark.parametrize(
    ("hours", "delivered_ah"),
    [
        (0.5, 50.089),
        (1.0, 54.042),
        (3.0, 67.823),
        (5.0, 77.960),
        (10.0, 92.046),
        (20.0, 102.222),
        (100.0, 112.195),
    ],
)
def test_capacity_by_rate(hours: float, delivered_ah: float) -> None:
    """Manwell and McGowan (1993), Solar Energy 50(5) 399-405: capacity at a constant rate."""
    assert capacity_ah(FULL_AH, hours, SHARE, RATE) == pytest.approx(delivered_ah, rel=1e-4)


def test_night_after_night() -> None:
    """Manwell and McGowan (1993): closed-form step through three nights and their rests."""
    near, far = SHARE * FULL_AH, (1.0 - SHARE) * FULL_AH
    course = [
        (8.0, 1.0, 39.19049, 107.0),
        (0.0, 23.0, 42.80000, 107.0),
        (8.0, 1.0, 35.99049, 99.0),
        (0.0, 23.0, 39.60000, 99.0),
        (17.0, 1.0, 25.12980, 82.0),
        (0.0, 1.0, 28.59050, 82.0),
    ]
    for current_a, hours, near_ah, total_ah in course:
        near, far = step_ah(near, far, current_a, hours, SHARE, RATE)
        assert near == pytest.approx(near_ah, rel=1e-5)
        assert near + far == pytest.approx(total_ah, rel=1e-12)


def test_highest_current_for_an_hour() -> None:
    """Manwell and McGowan (1993): the current that empties the near well is the 1 h capacity."""
    near = SHARE * FULL_AH
    current_a = max_current_a(near, FULL_AH - near, 1.0, SHARE, RATE)
    assert current_a == pytest.approx(54.042, rel=1e-4)
    left, _ = step_ah(near, FULL_AH - near, current_a, 1.0, SHARE, RATE)
    assert left == pytest.approx(0.0, abs=1e-9)


def test_published_life_needs_the_conductance() -> None:
    """Jongerden and Haverkort (2009), IET Software 3(6) 445-457: 91 min at 0.96 A.

    They print the conductance of the valve; taken for k' it gives 81 min.
    """
    share, valve_per_s, full_as, current_a = 0.625, 4.5e-5, 7200.0, 0.96
    rate = valve_per_s * 3600.0 / (share * (1.0 - share))
    minutes = 60.0 * life_h(full_as / 3600.0, current_a, share, rate)
    assert minutes == pytest.approx(91.0, abs=0.5)
    assert minutes == pytest.approx(91.143, abs=0.01)
    mistaken = 60.0 * life_h(full_as / 3600.0, current_a, share, valve_per_s * 3600.0)
    assert mistaken == pytest.approx(81.2, abs=0.1)
