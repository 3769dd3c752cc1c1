"""Readings and their quality; the clock against the ticks."""

import pytest

from keeper import Settings
from keeper.clockwatch import APART, NOT_SET, STOPPED, WENT_BACK, ClockWatch
from keeper.clockwatch import GOOD as CLOCK_GOOD
from keeper.facts import Facts
from keeper.sense import ABOVE_BAND, BELOW_BAND, GOOD, JUMP, STALE, STUCK, Channel, Senses

from .bench import DAY0, SITE

SETTINGS = Settings({**SITE, "current_fitted": 1})


def read(counts: list[int], stuck_ms: int = 500) -> tuple[list[int], Channel]:
    channel = Channel(200, 3800, 1200, stuck_ms)
    return [channel.read(count, 100, True) for count in counts], channel


@pytest.mark.parametrize(
    ("count", "quality"),
    [
        (-1, STALE),
        (0, BELOW_BAND),
        (199, BELOW_BAND),
        (200, GOOD),
        (3800, GOOD),
        (3801, ABOVE_BAND),
    ],
)
def test_band(count: int, quality: int) -> None:
    assert read([count])[0] == [quality]


def test_jump_is_more_than_the_count_allows() -> None:
    assert read([1000, 2200, 1000])[0] == [GOOD] * 3
    assert read([1000, 2201])[0] == [GOOD, JUMP]
    assert read([2201, 1000])[0] == [GOOD, JUMP]


def test_stuck_at_its_time_and_not_before() -> None:
    assert read([1000] * 5)[0] == [GOOD] * 5
    assert read([1000] * 6)[0] == [GOOD] * 5 + [STUCK]
    assert read([1000] * 5 + [1001] + [1000] * 5)[0] == [GOOD] * 11
    assert read([1000] * 9, stuck_ms=0)[0] == [GOOD] * 9


def test_median_of_three_takes_out_one_wild_sample() -> None:
    for wild in (200, 2000):
        assert read([1000, 1000, wild])[1].count == 1000
        assert read([1000, wild, 1001])[1].count in (1000, 1001)
    assert read([1000, 1100, 1050])[1].count == 1050
    assert read([1100, 1000, 1050])[1].count == 1050
    assert read([1000, 1000, 900, 900])[1].count == 900


def test_the_last_plausible_value_stays() -> None:
    assert read([1000, 1000, 0, -1, 4000])[1].count == 1000


def test_units() -> None:
    senses = Senses(SETTINGS)
    senses.read_battery(2520, 100, False)
    senses.read_pressure(910, 100, False)
    senses.read_frost(621 - 5, 100)
    senses.read_current(1200, 100, False)
    assert senses.battery_mv == 12600
    assert senses.pressure_pa == 200000
    assert senses.frost_dc == -5
    assert senses.current_ma == 12000


def test_no_current_of_a_turning_pump_is_a_fault() -> None:
    """A quarter of the current without pressure is the least; at rest nothing is honest."""
    senses = Senses(SETTINGS)
    least = SETTINGS.current_zero_ma // 4 * 4096 // SETTINGS.current_full_ma
    for count, turning, quality in (
        (0, False, GOOD),
        (least, True, GOOD),
        (least - 1, True, BELOW_BAND),
        (0, True, BELOW_BAND),
    ):
        senses.read_current(count, 100, turning)
        assert senses.current.quality == quality


def test_a_channel_that_was_never_good_has_no_value_of_its_own() -> None:
    senses = Senses(SETTINGS)
    senses.read_battery(0, 100, False)
    senses.read_pressure(-1, 100, False)
    senses.read_frost(4095, 100)
    senses.read_current(4095, 100, False)
    assert (senses.battery_mv, senses.pressure_pa) == (SETTINGS.normal_mv, SETTINGS.normal_pa)
    assert (senses.frost_dc, senses.current_ma) == (0, 0)


# The clock.


def clock(readings: list[tuple[int, int]], dt_ms: int = 60000) -> list[int]:
    watch = ClockWatch(SETTINGS, Facts(SETTINGS))
    return [watch.look(dt_ms, DAY0 + s // 86400, s % 86400, ok) for s, ok in readings]


def test_a_clock_that_keeps_time_is_good_for_weeks() -> None:
    assert set(clock([(60 * n, 1) for n in range(30000)])) == {CLOCK_GOOD}


@pytest.mark.parametrize(
    ("readings", "verdict"),
    [
        ([(0, 1), (60, 0)], NOT_SET),
        ([(600, 1), (659, 1), (658, 1)], WENT_BACK),
        ([(0, 1), (120, 1)], CLOCK_GOOD),
        ([(0, 1), (121, 1)], APART),
        ([(0, 1), (0, 1)], CLOCK_GOOD),
        ([(0, 1), (0, 1), (0, 1)], STOPPED),
        ([(0, 1), (10, 1), (50, 1)], APART),
        ([(90000, 1), (0, 1)], WENT_BACK),
        ([(0, 1), (86400 * 3001, 1)], APART),
    ],
)
def test_verdicts(readings: list[tuple[int, int]], verdict: int) -> None:
    assert clock(readings)[-1] == verdict


def test_a_verdict_stays_until_the_clock_is_set() -> None:
    watch = ClockWatch(SETTINGS, Facts(SETTINGS))
    for second in (100, 50, 110):
        watch.look(1000, DAY0, second, 1)
    assert watch.facts.clock_bad == WENT_BACK
    watch.set_again()
    assert watch.look(1000, DAY0, 111, 1) == CLOCK_GOOD
