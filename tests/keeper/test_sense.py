"""Readings and their quality."""

import pytest

from keeper import Settings
from keeper.sense import ABOVE_BAND, BELOW_BAND, GOOD, JUMP, STALE, STUCK, Channel, Senses

from .bench import SITE

SETTINGS = Settings({**SITE, "current_fitted": 1})
PLAIN = (0, 1, 1, 1, 0)
"""A scale on which the unit is the count."""


def read(counts: list[int], stuck_ms: int = 500) -> tuple[list[int], Channel]:
    channel = Channel(200, 3800, 1200, stuck_ms, PLAIN, 0)
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
        assert read([1000, 1000, wild])[1].value == 1000
        assert read([1000, wild, 1001])[1].value in (1000, 1001)
    assert read([1000, 1100, 1050])[1].value == 1050
    assert read([1100, 1000, 1050])[1].value == 1050
    assert read([1000, 1000, 900, 900])[1].value == 900


def test_the_last_plausible_value_stays() -> None:
    assert read([1000, 1000, 0, -1, 4000])[1].value == 1000


def test_units() -> None:
    senses = Senses(SETTINGS)
    senses.battery.read(2520, 100, False)
    senses.pressure.read(910, 100, False)
    senses.frost.read(621 - 5, 100, False)
    senses.read_current(1200, 100, False, False)
    assert senses.battery.value == 12600
    assert senses.pressure.value == 200000
    assert senses.frost.value == -5
    assert senses.current.value == 12000


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
        senses.read_current(count, 100, turning, False)
        assert senses.current.quality == quality


@pytest.mark.parametrize(("strained", "quality"), [(False, ABOVE_BAND), (True, GOOD)])
def test_beyond_its_span_a_strained_supply_tells_of_a_pump_that_stands(
    strained: bool, quality: int
) -> None:
    senses = Senses(SETTINGS)
    senses.read_current(4095, 100, True, strained)
    assert senses.current.quality == quality
    assert (senses.current.value > SETTINGS.stall_ma) == strained


def test_a_channel_that_was_never_good_has_no_value_of_its_own() -> None:
    senses = Senses(SETTINGS)
    senses.battery.read(0, 100, False)
    senses.pressure.read(-1, 100, False)
    senses.frost.read(4095, 100, False)
    senses.read_current(4095, 100, False, False)
    assert (senses.battery.value, senses.pressure.value) == (
        SETTINGS.normal_mv,
        SETTINGS.normal_pa,
    )
    assert (senses.frost.value, senses.current.value) == (0, 0)
