"""The board sleeps as much as the limits take it to, by what its own loop does in a day."""

from typing import Any

import pytest

from device import clock, watchdog
from rillkeeper.design.limits.derive import settings_of
from tests.bench.steady_site import steady_site
from tests.device import naps
from tests.power.ramboard import EVENING_S, SET_S

SHARE = 0.05
"""Ticks in the sleep, looks at the inputs, and the minute of looks after a stop."""


def test_the_draw_of_a_day() -> None:
    """Measured in the loop, worked out by the limits: one set of half an hour."""
    day = naps.day("rp2")
    assert 1900 < day.unfed_ms < watchdog.TIMEOUT_MS - 1000, "no nap comes near the watchdog"
    assert day.awake_ms + day.asleep_ms == pytest.approx(naps.DAY_MS, rel=1e-3)
    assert day.pumping_ms == pytest.approx(SET_S * 1000, rel=0.01)
    assert day.mean_a == pytest.approx(day.expected_a, rel=SHARE)
    assert day.mean_a > day.expected_a, "some of it is spent on looking"
    board_ua = settings_of(steady_site(SET_S / 60))["board_ua"]
    assert board_ua == pytest.approx(1e6 * day.expected_a, rel=0.01)


MORNING_S = EVENING_S + 10 * 3600
"""Too late for last night's set: the next is fourteen hours away."""


def read_clock(own: Any) -> None:
    """The clock itself, at every tick."""
    own.__init__(own._rtc, own._ticks_ms)


@pytest.mark.parametrize("port", ["rp2", "esp32"])
def test_a_board_without_a_clock_chip_waters_after_hours_of_naps(port: str) -> None:
    """On silicon the clock stands still in each nap; the time must not."""
    day = naps.day(port, MORNING_S, chip=False)
    assert day.asleep_ms > 0.8 * naps.DAY_MS
    assert day.pumping_ms == pytest.approx(SET_S * 1000, rel=0.01)


def test_a_clock_that_is_read_all_day_costs_the_set(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same day with the time read from the clock: so the day above can fail."""
    monkeypatch.setattr(clock.OwnClock, "read", read_clock)
    assert naps.day("rp2", MORNING_S, chip=False).pumping_ms == 0
    monkeypatch.setattr(naps.chips.RTC, "stops_asleep", False)
    assert naps.day("rp2", MORNING_S, chip=False).pumping_ms > 0, "nothing but the naps costs it"
