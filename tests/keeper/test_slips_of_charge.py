"""Small slips of the charge that no other test would notice: values that stand exactly at a limit.

As in test_small_slips.py each was found by a changed line that all tests let pass.
"""

import pytest

from keeper.ahead import Ahead
from keeper.charge import Charge
from keeper.check import RESTED_MS
from keeper.cycle import TRIP_FLAT
from keeper.facts import UNSEEN_MV
from keeper.hand import STOP
from keeper.quantities import QUANTITIES
from keeper.records import BATTERY, COMPLETE
from keeper.standstill import STAYED

from .bench import SITE, TICK_MS, Bench, part

KNOWN_MV = {"empty_mv": 12000, "charged_mv": 12600}
CAPACITY_MAH = SITE["capacity_mah"]


def part_ma_ms(counted: Charge) -> int:
    """All that was counted."""
    return int(counted.facts.used_mah * 3600000 + counted.facts.part_ma_ms)


@pytest.mark.parametrize(
    ("said_mah", "left_mah"),
    [
        (0, CAPACITY_MAH),
        (1, 1),
        (CAPACITY_MAH - 1, CAPACITY_MAH - 1),
        (CAPACITY_MAH, CAPACITY_MAH),
    ],
)
def test_what_a_person_says_is_in_the_battery(said_mah: int, left_mah: int) -> None:
    counted = part(Charge)
    counted.facts.left_mah = 20000
    counted.renewed(said_mah)
    assert counted.facts.left_mah == left_mah


@pytest.mark.parametrize(
    ("then", "now", "rest_mv"),
    [
        ({"battery_full_trim_mv": 520}, {}, 12600 * 20480 // 21000),
        ({}, {"battery_full_trim_mv": 520}, 12600 * 21000 // 20480),
        ({"battery_offset_mv": 50}, {}, 12600 - 50),
        ({}, {"battery_offset_mv": 50}, 12600 + 50),
    ],
)
def test_a_battery_is_the_same_by_a_channel_that_is_trimmed_otherwise(
    then: dict[str, int], now: dict[str, int], rest_mv: int
) -> None:
    """12.600 V by a scale of 21.000 V are 12.288 V by one of 20.480 V."""
    before = part(Charge, **KNOWN_MV, **then)
    before.note(12600)
    assert before.facts.rest_over_mv != UNSEEN_MV
    after = part(Charge, **KNOWN_MV, **now)
    after.facts.take_over(before.facts)
    after.go_on(before)
    assert after.mv_at(after.facts.left_mah) + after.facts.rest_over_mv == rest_mv


def test_a_channel_that_reads_a_millivolt_low_is_learned_by_a_full_battery_too() -> None:
    counted = part(Charge, **KNOWN_MV, battery_error_mv=100)
    counted.facts.worked = 1
    counted.facts.left_mah = CAPACITY_MAH
    counted.facts.reads_low_mv = 1
    counted.learn_channel(12700)
    assert counted.facts.reads_low_mv == 0


def test_what_a_battery_may_rise_by_is_a_quarter_of_its_whole_curve() -> None:
    curve = {"rest_25_mv": 12100, "rest_50_mv": 12300, "rest_75_mv": 12400}
    assert part(Charge, **KNOWN_MV, **curve).unrested_mv == (12600 - 12000) // 4


@pytest.mark.parametrize(("in_state_ms", "weighed"), [(1499, False), (1500, True)])
def test_the_check_weighs_after_a_second_and_a_half(in_state_ms: int, weighed: bool) -> None:
    bench = Bench(**KNOWN_MV)
    bench.rest_mv = 12300
    bench.go("check")
    while bench.keeper.in_state_ms < 1400:
        bench.tick()
    assert bench.keeper.facts.left_mah == CAPACITY_MAH
    bench.tick(in_state_ms - bench.keeper.in_state_ms)
    assert (bench.keeper.facts.left_mah < CAPACITY_MAH) == weighed


def test_each_check_weighs() -> None:
    bench = Bench(**KNOWN_MV)
    bench.go("done")
    bench.rest_mv = 12300
    bench.go("check")
    while bench.keeper.in_state_ms < 1600:
        bench.tick()
    assert bench.keeper.facts.left_mah <= CAPACITY_MAH // 4 * 3


@pytest.mark.parametrize(("below_mv", "left_mah"), [(0, CAPACITY_MAH), (1, 1000)])
def test_a_battery_put_on_is_full_from_its_voltage_on(below_mv: int, left_mah: int) -> None:
    """Where no curve is known, one below it holds what was counted."""
    counted = part(Charge)
    counted.facts.left_mah = 1000
    counted.changed(SITE["charged_mv"] - counted.facts.reads_low_mv - below_mv)
    assert counted.facts.left_mah == left_mah


@pytest.mark.parametrize(("below_mv", "left_mah"), [(0, 1000), (1, 0)])
def test_a_battery_put_on_is_empty_below_the_cut_out(below_mv: int, left_mah: int) -> None:
    counted = part(Charge)
    counted.facts.left_mah = 1000
    counted.changed(SITE["cutout_mv"] - counted.facts.reads_low_mv - below_mv)
    assert counted.facts.left_mah == left_mah


@pytest.mark.parametrize("slice_ms", [50000, 100000, 3600000])
def test_no_millisecond_of_a_long_time_goes_uncounted(slice_ms: int) -> None:
    """Whatever slices it is counted in, one more than a whole number of them counts."""
    whole, more = part(Charge, board_ua=100000), part(Charge, board_ua=100000)
    whole.count_board(slice_ms)
    more.count_board(slice_ms + 1)
    assert part_ma_ms(more) - part_ma_ms(whole) == 100
    whole.count_unasked(1000, slice_ms)
    more.count_unasked(1000, slice_ms + 1)
    assert part_ma_ms(more) - part_ma_ms(whole) == 100 + 1100


@pytest.mark.parametrize(("more_mah", "gains"), [(0, False), (1, True)])
def test_a_battery_gains_by_more_than_what_is_clear(more_mah: int, gains: bool) -> None:
    counted = part(Charge, **KNOWN_MV)
    by_voltage_mah = counted.mah_at(12400)
    counted.facts.left_mah = by_voltage_mah - CAPACITY_MAH // 16 - more_mah
    assert counted.gains(12400) == gains


def test_a_pressure_below_nought_draws_no_less() -> None:
    counted = part(Charge)
    assert counted.pump_ma(-1) == counted.pump_ma(-50000) == counted.pump_ma(0)


def test_a_pump_that_draws_next_to_nothing_can_run_for_long() -> None:
    counted = part(Charge)
    assert counted.seconds_left(0) == 0
    assert counted.seconds_left(1) > 0
    counted.facts.left_mah = counted.settings.reserve_mah + 1
    assert counted.seconds_left(100) == 36


@pytest.mark.parametrize(("short_ms", "believed"), [(0, True), (TICK_MS, False)])
def test_a_battery_is_weighed_when_it_has_rested_to_the_tick(
    short_ms: int, believed: bool
) -> None:
    """The check weighs 1.5 s after it has begun: a rested battery's channel is learned by it."""
    bench = Bench(**KNOWN_MV, battery_error_mv=100, set1_unit=0)
    bench.rest_mv = 12400
    bench.go("check")
    facts = bench.keeper.facts
    facts.worked, facts.left_mah, facts.reads_low_mv = 1, 30000, 100
    weighed = 1500 - bench.keeper.in_state_ms
    facts.off_ms = 4 * 3600 * 1000 - weighed - short_ms
    bench.ticks(weighed)
    assert (facts.reads_low_mv < 100) == believed


def test_a_battery_that_has_not_rested_is_reckoned_by_its_count() -> None:
    """Not by the voltage that it reads meanwhile, however low."""
    bench = Bench(**KNOWN_MV)
    bench.keeper.facts.begun_mv = 12550
    bench.keeper.facts.begun_mah = 40000
    bench.keeper.facts.since_mah = 3000
    bench.go("done")
    assert bench.keeper.facts.off_ms < RESTED_MS
    planned_mah = SITE["set1_amount"] * 60 * (bench.keeper.normal_ma // 10) // 360
    ahead: Ahead = bench.keeper.ahead
    assert ahead.nights_tenths(planned_mah, 1) != ahead.nights_tenths(planned_mah, 0)
    assert bench.keeper.waiting.nights_left_tenths() == ahead.nights_tenths(planned_mah, 0)


@pytest.mark.parametrize(("below_mv", "full"), [(0, True), (5, False)])
def test_a_panel_holds_the_posts_at_its_voltage(below_mv: int, full: bool) -> None:
    bench = Bench(**KNOWN_MV, panel_fitted=1, held_mv=14100, set1_unit=0)
    bench.keeper.facts.left_mah = 20000
    bench.rest_mv = 14100 - below_mv
    bench.raw = {"battery": bench.rest_mv // 5}
    bench.sleep(1300)
    assert (bench.keeper.facts.left_mah == CAPACITY_MAH) == full


def test_a_quarter_of_the_charge_is_none_that_a_battery_holds_well() -> None:
    counted = part(Charge)
    for left_mah, holds in ((CAPACITY_MAH // 4, False), (CAPACITY_MAH // 4 + 1, True)):
        counted.facts.left_mah = left_mah
        assert counted.holds_charge(SITE["cutout_mv"] + 1) == holds
    assert not counted.holds_charge(SITE["cutout_mv"])


def test_what_is_used_is_counted_three_times() -> None:
    """Of this night, of what is left, and since the battery is followed."""
    counted = part(Charge, board_ua=0)
    counted.count(36000, 1000)
    facts = counted.facts
    assert (facts.used_mah, facts.since_mah, CAPACITY_MAH - facts.left_mah) == (10, 10, 10)


def test_a_battery_reads_higher_when_it_is_charged_by_sixty_millivolts() -> None:
    counted = part(Charge, **KNOWN_MV)
    counted.facts.left_mah = CAPACITY_MAH // 2
    counted.note(12310)
    assert [counted.is_charged(12310 + more_mv) for more_mv in (59, 60)] == [False, True]


def test_a_battery_of_which_nothing_is_known_is_empty_under_its_cutout() -> None:
    counted = part(Charge)
    counted.facts.reads_low_mv = 0
    for rest_mv, left_mah in ((SITE["cutout_mv"], CAPACITY_MAH), (SITE["cutout_mv"] - 1, 0)):
        counted.bound(rest_mv, 0)
        assert counted.facts.left_mah == left_mah


def test_a_rested_battery_holds_what_its_voltage_says_to_the_millivolt() -> None:
    counted = part(Charge, **KNOWN_MV)
    counted.facts.reads_low_mv = 0
    counted.check(12300, False)
    assert counted.facts.left_mah == counted.mah_at(12300) == CAPACITY_MAH // 2
    assert counted.mah_at(12300) < counted.mah_at(12301)


def test_charge_and_voltage_are_one_curve() -> None:
    """Four straight parts of 150 mV: an eighth of the charge is half of the first."""
    counted = part(Charge, **KNOWN_MV)
    eighths = [counted.mv_at(CAPACITY_MAH * part // 8) for part in range(9)]
    assert eighths == pytest.approx([12000 + 75 * part for part in range(9)], abs=1)
    assert counted.mah_at(12700) == CAPACITY_MAH


@pytest.mark.parametrize(("over_mv", "learned"), [(60, False), (59, True)])
def test_a_charger_s_last_volts_do_not_show_that_the_channel_reads_high(
    over_mv: int, learned: bool
) -> None:
    counted = part(Charge, **KNOWN_MV, battery_error_mv=100)
    counted.facts.left_mah = CAPACITY_MAH // 2
    counted.facts.reads_low_mv = 100
    counted.learn_channel(12600 + over_mv)
    assert (counted.facts.reads_low_mv < 100) == learned


@pytest.mark.parametrize(("error_mv", "learned"), [(599, True), (600, False)])
def test_a_full_battery_tells_of_a_channel_where_its_curve_is_steeper_than_the_error(
    error_mv: int, learned: bool
) -> None:
    """The last part of it is 150 mV, four of them 600."""
    counted = part(Charge, **KNOWN_MV, battery_error_mv=error_mv)
    counted.facts.worked, counted.facts.reads_low_mv = 1, error_mv
    counted.learn_channel(12600)
    assert (counted.facts.reads_low_mv < error_mv) == learned


def test_fifteen_sixteenths_are_not_full() -> None:
    """A full battery's flat top does not show how the channel reads: a used one's slope does."""
    for more_mah, learned in ((0, True), (1, False)):
        counted = part(Charge, **KNOWN_MV, battery_error_mv=700)
        facts = counted.facts
        facts.worked, facts.reads_low_mv = 1, 700
        facts.left_mah = CAPACITY_MAH - CAPACITY_MAH // 16 + more_mah
        counted.learn_channel(12600)
        assert (facts.reads_low_mv < 700) == learned


def test_what_a_battery_is_judged_to_have_less_is_saved() -> None:
    bench = Bench(**KNOWN_MV, set1_unit=0)
    bench.sleep(3600)
    changed = bench.keeper.changed
    bench.rest_mv = 12300
    bench.sleep(120)
    assert bench.records(BATTERY)[-1]["rest_mv"] == pytest.approx(12300, abs=5)
    assert bench.keeper.changed > changed


def test_a_battery_that_is_used_up_is_remembered_as_the_channel_reads_it() -> None:
    bench = Bench(**KNOWN_MV, battery_error_mv=100)
    bench.go("run")
    facts = bench.keeper.facts
    facts.reads_low_mv = 80
    bench.keeper.q[QUANTITIES.index("rested_mv")] = 11900
    bench.keeper.move(TRIP_FLAT, COMPLETE)
    reads_mv = bench.keeper.charge.mv_at(facts.left_mah) + facts.rest_over_mv
    assert (bench.state, reads_mv) == ("flat", 11900 - 80)


def test_the_check_weighs_once() -> None:
    """What the battery reads after it belongs to the start."""
    bench = Bench(**KNOWN_MV)
    bench.rest_mv = 12400
    bench.go("check")
    bench.ticks(1500 - bench.keeper.in_state_ms)
    left_mah = bench.keeper.facts.left_mah
    bench.rest_mv = 12000
    bench.ticks(300)
    assert bench.state == "check"
    assert bench.keeper.facts.left_mah == left_mah < CAPACITY_MAH


@pytest.mark.parametrize(("below_mv", "state"), [(0, "idle"), (5, "flat")])
def test_a_flat_battery_under_a_panel_is_charged_from_its_voltage_on(
    below_mv: int, state: str
) -> None:
    """At midnight, rested: in the sun it would tell nothing."""
    bench = Bench(**KNOWN_MV, panel_fitted=1, set1_unit=0)
    bench.go("flat")
    bench.rest_mv = SITE["reconnect_mv"] - below_mv
    bench.sleep_until("00:05:00")
    assert bench.state == state


def test_a_pump_that_works_on_is_missed_by_a_battery_that_the_sun_held_at_the_start() -> None:
    """By what it was held at, less what it reads now, the battery has felt the pump."""
    fitted = {"panel_fitted": 1, "pressure_fitted": 0, "load_sense_fitted": 0}
    bench = Bench(**KNOWN_MV, **fitted, held_mv=14100, prime_ms=20000, hand_minutes=30)
    bench.rest_mv, bench.loaded_mv = 14400, 13800
    bench.go("run")
    assert bench.keeper.held_mv == 14400 - 12600
    while bench.loaded_mv > 12000:  # The sun goes.
        bench.loaded_mv -= 5
        bench.ticks(500)
    bench.stuck = 1
    bench.keeper.command(STOP, 0)
    bench.until("lockout", 60)
    assert [said["value"] for said in bench.said("relay closed")] == [STAYED]
