"""Small slips of a check and of what it goes by, which no other test would notice.

As in test_small_slips.py each was found by a changed line of ``check.py`` or ``charge.py`` that
all tests let pass.
"""

import pytest

from keeper import Settings
from keeper.charge import METER_ERROR_MV, STEP_MV, Charge
from keeper.check import RESTED_MS, SHORTEST_S
from keeper.facts import Facts
from keeper.quantities import QUANTITIES
from keeper.records import SHORT

from .bench import SITE, WORKING_MA, Bench, part
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


def test_a_meter_errs_by_80_millivolts_and_a_rest_is_four_hours() -> None:
    """Numbers that tests go by under their names."""
    assert (METER_ERROR_MV, RESTED_MS) == (80, 4 * 60 * 60 * 1000)


@pytest.mark.parametrize("trim", TRIMS)
def test_a_calibrated_channel_reads_no_lower_than_a_meter(trim: dict[str, int]) -> None:
    facts = Facts(Settings({**SITE, **KNOWN_MV, "battery_error_mv": 300, **trim}, trial=True))
    assert facts.reads_low_mv == 300
    Charge(facts.settings, facts)
    assert facts.reads_low_mv == METER_ERROR_MV


def test_a_battery_is_followed_from_its_first_start() -> None:
    bench = Bench()
    bench.go("run")
    assert bench.keeper.facts.begun_mv == bench.keeper.rest_mv > 0


@pytest.mark.parametrize(
    ("panel", "over_mv", "held"), [(0, 0, False), (1, -1, False), (1, 0, True)]
)
def test_posts_are_held_by_a_panel_from_the_charging_voltage_on(
    panel: int, over_mv: int, held: bool
) -> None:
    bench = Bench(panel_fitted=panel, **KNOWN_MV)
    check = bench.keeper.check
    check._samples, check._sum_mv = 1, bench.settings.charging_mv + over_mv
    assert check._held() == held


@pytest.mark.parametrize("held", [0, 1])
def test_readings_that_have_just_left_their_band_hold_a_start_up(held: int) -> None:
    """Past its limit since this very tick is past it."""
    bench = Bench()
    bench.go("check")
    bench.tick(1900 - bench.keeper.in_state_ms)
    bench.raw = {"battery": 100} if held else {}
    bench.tick(100)
    assert bench.state == ("check" if held else "prime")


def test_what_is_shortened_has_nothing_to_spare_and_nothing_short() -> None:
    bench = Bench(clock="21:59:00", board_ua=0)
    bench.keeper.facts.left_mah = 2000 + 3000
    bench.until(lambda: bool(bench.records(SHORT)), 120)
    assert bench.q("spare_mah") == 0


@pytest.mark.parametrize("low_mv", [-40, 40])
def test_in_the_dark_a_panel_s_battery_holds_what_it_reads_and_the_channel_s_error(
    low_mv: int,
) -> None:
    counted = part(Charge, **KNOWN_MV, panel_fitted=1)
    counted.facts.left_mah, counted.facts.reads_low_mv = 0, low_mv
    counted.check(12400, True)
    assert counted.facts.left_mah == counted.mah_at(12400 + low_mv - STEP_MV)


def test_a_battery_that_comes_is_followed_anew() -> None:
    counted = part(Charge, **KNOWN_MV)
    counted.facts.worked = counted.facts.begun_mv = 1
    counted.changed(12600)
    assert (counted.facts.worked, counted.facts.begun_mv) == (0, 0)
