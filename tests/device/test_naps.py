"""The board sleeps as much as the limits take it to, by what its own loop does in a day."""

import pytest

from rillkeeper.design.limits.derive import settings_of
from tests.bench.steady_site import steady_site
from tests.device import naps
from tests.power.ramboard import SET_S

SHARE = 0.05
"""Ticks in the sleep, looks at the inputs, and the minute of looks after a stop."""


def test_the_draw_of_a_day() -> None:
    """Measured in the loop, worked out by the limits: one set of half an hour."""
    day = naps.day("rp2")
    assert day.awake_ms + day.asleep_ms == pytest.approx(naps.DAY_MS, rel=1e-3)
    assert day.pumping_ms == pytest.approx(SET_S * 1000, rel=0.01)
    assert day.mean_a == pytest.approx(day.expected_a, rel=SHARE)
    assert day.mean_a > day.expected_a, "some of it is spent on looking"
    board_ua = settings_of(steady_site(SET_S / 60))["board_ua"]
    assert board_ua == pytest.approx(1e6 * day.expected_a, rel=0.01)
