"""Small slips of a check and of what it goes by, which no other test would notice.

As in test_small_slips.py each was found by a changed line of ``check.py`` or ``charge.py`` that
all tests let pass.
"""

import pytest

from keeper.charge import METER_ERROR_MV, Charge
from keeper.check import SHORTEST_S
from keeper.quantities import QUANTITIES

from .bench import WORKING_MA, Bench, part
from .test_slips_of_charge import KNOWN_MV

SPARE = QUANTITIES.index("spare_mah")
TRIMS = ({"battery_full_trim_mv": 20}, {"battery_offset_mv": 20})


@pytest.mark.parametrize(("short_mah", "starts"), [(0, True), (1, False)])
def test_a_set_is_shortened_to_five_minutes_at_the_least(short_mah: int, starts: bool) -> None:
    bench = Bench(board_ua=0)
    bench.go("check")
    least_mah = SHORTEST_S * WORKING_MA // 3600
    bench.keeper.facts.left_mah = bench.settings.reserve_mah + least_mah - short_mah
    assert bench.keeper.check.shorten() == starts


def test_a_check_begins_with_nothing_to_spare_and_nothing_short() -> None:
    bench = Bench()
    bench.keeper.q[SPARE] = -5
    bench.keeper.check.begin()
    assert bench.keeper.q[SPARE] == 0


def test_unsure_readings_refuse_after_ten_seconds_to_the_millisecond() -> None:
    """Out of band all the time, and never long enough to trip."""
    bench = Bench(sensor_hold_ms=10000)
    bench.go("check")
    bench.raw = {"battery": 100}
    bench.ticks(9900 - bench.keeper.in_state_ms)
    bench.tick(99)
    assert bench.state == "check"
    bench.tick(1)
    assert bench.state == "done"


def test_a_start_that_no_panel_holds_is_reckoned_from_its_rest() -> None:
    bench = Bench()
    bench.keeper.held_mv = 500
    bench.go("run")
    assert bench.keeper.held_mv == 0


@pytest.mark.parametrize("trim", TRIMS)
def test_a_calibrated_channel_is_off_by_no_more_than_a_meter(trim: dict[str, int]) -> None:
    assert part(Charge, **KNOWN_MV, battery_error_mv=300).error_mv == 300
    assert part(Charge, **KNOWN_MV, battery_error_mv=300, **trim).error_mv == METER_ERROR_MV


@pytest.mark.parametrize("trim", TRIMS)
def test_what_a_channel_was_learned_to_read_low_is_not_that_of_one_calibrated_anew(
    trim: dict[str, int],
) -> None:
    before = part(Charge, **KNOWN_MV, battery_error_mv=300)
    before.facts.reads_low_mv = 5
    after = part(Charge, **KNOWN_MV, battery_error_mv=300, **trim)
    after.facts.take_over(before.facts)
    after.go_on(before)
    assert after.facts.reads_low_mv == METER_ERROR_MV


def test_how_a_weighed_battery_reads_is_noted() -> None:
    counted = part(Charge, **KNOWN_MV)
    counted.check(12300, False)
    assert counted.facts.rest_over_mv == 12300 - counted.mv_at(counted.facts.left_mah)


def test_resistance_is_sag_by_current_down_to_the_least_of_both() -> None:
    counted = part(Charge)
    assert counted.learn_resistance(12001, 12000, 1) == 1000
    assert counted.learn_resistance(12010, 12000, 1) == 10000
    assert counted.learn_resistance(12000, 12000, 1) == 1
    assert counted.learn_resistance(12001, 12000, 0) == 1
