"""Small slips that no other test would notice: values that stand exactly at a limit, and what the
second of two runs, records or rules is given.

As in test_small_slips.py each was found by a changed line that all tests let pass.
"""

import pytest

from keeper.ahead import Ahead
from keeper.charge import Charge
from keeper.check import RESTED_MS
from keeper.cycle import STATES
from keeper.facts import UNSEEN_MV
from keeper.guard import Guard
from keeper.hand import RUN, STOP
from keeper.plan import HAND
from keeper.quantities import QUANTITIES
from keeper.records import LEARNED, PRIMED, RAINED, SKIP
from keeper.records import STOP as STOPPED
from keeper.rules import number_of

from .bench import SITE, TICK_MS, Bench, part

KNOWN_MV = {"empty_mv": 12000, "charged_mv": 12600}
CAPACITY_MAH = SITE["capacity_mah"]
FLOOR_HOLD_TICKS = 5
"""Of a brown-out."""


# The battery.


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


def test_a_battery_that_was_read_by_a_trimmed_scale_reads_the_same_by_the_next() -> None:
    """12.600 V by a scale of 21.000 V are 12.288 V by one of 20.480 V."""
    before = part(Charge, **KNOWN_MV, battery_full_trim_mv=520)
    before.note(12600)
    assert before.facts.rest_over_mv != UNSEEN_MV
    after = part(Charge, **KNOWN_MV)
    after.facts.take_over(before.facts)
    after.go_on(before)
    rest_mv = after.mv_at(after.facts.left_mah) + after.facts.rest_over_mv
    assert rest_mv == 12600 * 20480 // 21000


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


# A night.


@pytest.mark.parametrize(("run_s", "learned"), [(1620, True), (1619, False)])
def test_nine_tenths_of_the_sets_teach_what_a_night_takes(run_s: int, learned: bool) -> None:
    bench = Bench(clock="11:59:00")
    bench.keeper.facts.night_run_s = run_s
    bench.keeper.facts.used_mah = 5000
    bench.sleep_until("12:00:30")
    assert (bench.keeper.facts.night_use_mah > 0) == learned


def test_a_set_that_rain_skips_says_how_long_ago_it_rained() -> None:
    bench = Bench(clock="21:00:00")
    bench.rain = 1
    bench.sleep(900)
    bench.rain = 0
    bench.until(lambda: bool(bench.records(SKIP)), 3600)
    (skip,) = bench.records(SKIP)
    assert (skip["cause"], skip["value"]) == (RAINED, bench.keeper.facts.dry_ms // 1000)
    assert skip["value"] == pytest.approx(45 * 60, abs=60)


def test_a_set_of_more_runs_than_starts_is_not_held_back_where_there_was_none() -> None:
    """After a run by hand it waits for starts to be had: an hour later all of them are."""
    bench = Bench(clock="12:30:00", starts_max=2, set1_runs=3, hand_minutes=1)
    bench.keeper.command(RUN, 0)
    bench.until("run")
    bench.until("idle")
    assert bench.keeper.facts.stop_set == HAND
    bench.sleep_until("22:00:30")
    assert bench.keeper.facts.begun_night[1] == bench.keeper.facts.night


@pytest.mark.parametrize(("heat_ms", "waits"), [(600999, False), (601000, True)])
def test_a_set_waits_for_a_motor_that_is_too_warm_by_a_second(heat_ms: int, waits: bool) -> None:
    bench = Bench(clock="22:10:00", duty_s=2400, set1_window_s=3600)
    facts = bench.keeper.facts
    facts.stop_set, facts.heat_ms = HAND, heat_ms
    assert bench.keeper.waiting.must_rest(1) == waits


def test_a_pause_that_is_cut_short_shortens_no_other_nap() -> None:
    bench = Bench(clock="13:00:00", set1_unit=0, retry_rest_s=130)
    bench.go("rest")
    bench.sleep(125)
    bench.keeper.command(STOP, 0)
    bench.until("done")
    bench.sleep(1200)
    steps = bench.steps
    bench.sleep(3600)
    assert bench.steps - steps <= 61


# A run.


def test_a_start_is_checked_for_two_seconds() -> None:
    bench = Bench()
    bench.go("check")
    bench.tick(1999 - bench.keeper.in_state_ms)
    assert bench.state == "check"
    bench.tick(1)
    assert bench.state == "prime"


def test_half_an_hour_is_half_an_hour_to_the_tick() -> None:
    bench = Bench(clock="21:59:00", set1_amount=30)
    bench.until("run", 120)
    begun_ms = bench.at_ms
    bench.until("idle", 1900)
    assert bench.at_ms - begun_ms == 1800 * 1000 - TICK_MS


def test_each_run_tells_its_own_water() -> None:
    bench = Bench(clock="21:59:00", set1_amount=4, set1_runs=2)
    bench.until(lambda: len(bench.records(STOPPED)) == 2, 3600)
    first, second = (stop["given_ml"] for stop in bench.records(STOPPED))
    assert second == pytest.approx(first, rel=0.02)


def test_the_supply_is_learned_five_seconds_after_prime() -> None:
    bench = Bench()
    bench.go("run")
    begun_ms = bench.at_ms
    bench.until(lambda: bool(bench.records(LEARNED)), 10)
    assert 4000 < bench.at_ms - begun_ms <= 5000


def test_pressure_stands_for_a_second_without_a_break_before_water_is_believed() -> None:
    bench = Bench()
    bench.go("prime")
    bench.ticks(2000)
    for _ in range(3):
        bench.pressure_pa = 100000
        bench.ticks(800)
        bench.pressure_pa = 0
        bench.ticks(400)
    assert bench.state == "prime"
    bench.pressure_pa = None
    bench.until("run", 2)


def test_and_so_at_the_next_start_however_the_line_stands_then() -> None:
    bench = Bench(clock="21:59:00", set1_amount=4, set1_runs=2)
    bench.until(lambda: len(bench.records(PRIMED)) == 1, 120)
    bench.until("soak", 300)
    bench.pressure_pa = 100000
    bench.until(lambda: len(bench.records(PRIMED)) == 2, 900)
    assert bench.records(PRIMED)[1]["prime_ms"] >= 1000


def test_without_a_transducer_it_primes_to_the_tick() -> None:
    bench = Bench(pressure_fitted=0, prime_ms=20000)
    bench.go("prime")
    bench.until("run")
    (primed,) = bench.records(PRIMED)
    assert primed["prime_ms"] == 20000


def test_of_two_rules_as_severe_the_upper_row_acts() -> None:
    made = part(Guard)
    quantities = [0] * len(QUANTITIES)
    for name in ("on_s", "heat_s"):
        quantities[QUANTITIES.index(name)] = 100000
    calm = {"pressure_permille": 1000, "battery_mv": 12000, "rested_mv": 12000, "water_pa": 200000}
    for name, value in calm.items():
        quantities[QUANTITIES.index(name)] = value
    assert made.look(STATES.index("run"), 60000, TICK_MS, quantities) == number_of("over-run")


def test_a_symptom_gives_way_to_a_cause_of_the_same_tick() -> None:
    made = part(Guard)
    quantities = [0] * len(QUANTITIES)

    def put(**values: int) -> None:
        for name, value in values.items():
            quantities[QUANTITIES.index(name)] = value

    put(pressure_permille=1000, battery_mv=8000, rested_mv=12000, water_pa=200000)
    run = STATES.index("run")
    seen = [made.look(run, 60000, TICK_MS, quantities) for _ in range(FLOOR_HOLD_TICKS)]
    assert set(seen) == {-1}
    put(resistance_mohm=1000)
    assert made.look(run, 60000, TICK_MS, quantities) == -1
    put(resistance_mohm=0)
    assert made.look(run, 60000, TICK_MS, quantities) == number_of("brown-out")
