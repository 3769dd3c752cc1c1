"""Small slips that no other test would notice: values that stand exactly at a limit, and what the
second of two runs, records or rules is given.

As in test_small_slips.py each was found by a changed line that all tests let pass.
"""

import pytest

from keeper.cycle import STATES
from keeper.guard import Guard
from keeper.hand import RUN, STOP
from keeper.plan import HAND
from keeper.quantities import QUANTITIES
from keeper.records import GIVEN, LEARNED, MINUTE, NO_CLOCK, PRIMED, RAINED, SHORT, SKIP
from keeper.records import STOP as STOPPED
from keeper.rules import number_of

from .bench import TICK_MS, Bench, part

FLOOR_HOLD_TICKS = 5
"""Of a brown-out."""


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


@pytest.mark.parametrize(("starts", "waits"), [(0, False), (1, True)])
def test_a_set_waits_while_one_start_too_few_is_to_be_had(starts: int, waits: bool) -> None:
    bench = Bench(clock="22:10:00", starts_max=2, set1_runs=2, set1_window_s=3600)
    facts = bench.keeper.facts
    facts.stop_set, facts.starts = HAND, starts
    assert bench.keeper.waiting.must_rest(1) == waits


def test_days_whose_hours_nobody_knew_cost_each_set_once() -> None:
    more = {"set3_unit": 1, "set3_amount": 5, "set3_start_s": 6 * 3600}
    bench = Bench(clock="20:00:00", **more)
    bench.clock_ok = 0
    bench.reboot()
    bench.sleep(25 * 3600)
    told = [(skip["set"], skip["cause"], skip["value"]) for skip in bench.records(SKIP)]
    assert told == [(1, NO_CLOCK, 0), (3, NO_CLOCK, 0)]


def test_a_night_that_is_told_is_saved() -> None:
    bench = Bench(clock="11:59:30", set1_unit=0)
    bench.sleep(10)
    changed = bench.keeper.changed
    bench.sleep_until("12:00:30")
    assert bench.keeper.changed > changed


def test_a_set_is_shortened_once_to_what_the_battery_has() -> None:
    bench = Bench(clock="21:59:00", board_ua=0)
    facts = bench.keeper.facts
    facts.left_mah = 2000 + 3000
    bench.until("run", 120)
    (short,) = bench.records(SHORT)
    assert (short["planned_s"], short["given_s"]) == (1800, 900)
    bench.until("idle", 1000)
    assert bench.records(GIVEN)[0]["run_s"] == 900


@pytest.mark.parametrize(("heat_ms", "waits"), [(600999, False), (601000, True)])
def test_a_set_waits_for_a_motor_that_is_too_warm_by_a_second(heat_ms: int, waits: bool) -> None:
    bench = Bench(clock="22:10:00", duty_s=2400, set1_window_s=3600)
    facts = bench.keeper.facts
    facts.stop_set, facts.heat_ms = HAND, heat_ms
    assert bench.keeper.waiting.must_rest(1) == waits


def test_a_set_that_no_motor_bears_does_not_wait_for_a_cold_one_to_cool() -> None:
    bench = Bench(clock="22:10:00", duty_s=1700, set1_window_s=3600)
    bench.keeper.facts.stop_set = HAND
    assert not bench.keeper.waiting.must_rest(1)


def test_a_motor_is_too_warm_from_the_second_after_its_limit() -> None:
    bench = Bench(duty_s=2400)
    bench.go("run")
    bench.ticks(2000)
    bench.keeper.facts.heat_ms = 2400000
    bench.until(lambda: bool(bench.said("duty")), 3)
    assert bench.said("duty")[0]["value"] == 2401


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


def test_a_minute_is_one_of_this_run() -> None:
    """What the run before has left of one does not count."""
    bench = Bench(clock="21:59:00", set1_amount=3, set1_runs=2)
    bench.until(lambda: len(bench.records(PRIMED)) == 2, 600)
    before = len(bench.records(MINUTE))
    assert before == 1
    bench.ticks(59000)
    assert len(bench.records(MINUTE)) == before
    bench.ticks(2000)
    assert len(bench.records(MINUTE)) == before + 1


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
    bench.ticks(1000)
    assert bench.state == "prime", "the median of three is a tick late"
    bench.tick()
    assert bench.state == "run"


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
