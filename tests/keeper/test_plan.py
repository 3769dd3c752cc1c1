"""The nightly sets: when each is taken up, how much is given, and never twice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keeper.checked import DEPTH, MINUTES, VOLUME
from keeper.hand import HOLD, RUN, STOP
from keeper.plan import NONE, Plan, night_of, since_noon_s
from keeper.records import GIVEN, MISSED, ON_HOLD, SET, SKIP, START

from .bench import DAY0, Bench, part


def plan(**changes: int) -> Plan:
    return part(Plan, **changes)


def at(clock: str) -> int:
    hours, minutes = clock.split(":")
    return since_noon_s(int(hours) * 3600 + int(minutes) * 60)


def test_a_night_runs_from_noon_to_noon() -> None:
    assert night_of(DAY0, 43200) == DAY0 == night_of(DAY0, 86399) == night_of(DAY0 + 1, 0)
    assert night_of(DAY0 + 1, 43199) == DAY0
    assert night_of(DAY0 + 1, 43200) == DAY0 + 1


@given(st.integers(0, 86399))
def test_seconds_since_noon_run_through_the_night(second: int) -> None:
    assert 0 <= since_noon_s(second) < 86400
    assert (since_noon_s(second) + 43200) % 86400 == second


def test_due_from_its_time_to_the_end_of_its_window() -> None:
    sets = plan(set1_window_s=3600)
    assert sets.due(1, at("21:59")) == NONE
    assert sets.due(1, at("22:00")) == 1
    assert sets.due(1, at("23:00")) == 1
    assert sets.due(1, at("23:00") + 1) == NONE
    assert sets.missed(1, at("23:00")) == NONE
    assert sets.missed(1, at("23:00") + 1) == 1


def test_window_goes_on_over_midnight() -> None:
    sets = plan(set1_start_s=23 * 3600 + 1800, set1_window_s=7200)
    assert sets.due(1, at("00:15")) == 1
    assert sets.due(1, at("01:31")) == NONE


def test_the_earliest_of_the_due_sets_is_taken_up_first() -> None:
    sets = plan(set2_unit=1, set2_amount=10, set2_start_s=21 * 3600)
    assert sets.due(1, at("22:30")) == 2
    sets.skip(2, 1)
    assert sets.due(1, at("22:30")) == 1
    sets.skip(1, 1)
    assert sets.due(1, at("22:30")) == NONE
    assert sets.due(2, at("22:30")) == 2


def test_next_start_is_a_set_or_noon() -> None:
    sets = plan()
    assert sets.next_start_s(at("12:00")) == 36000
    assert sets.next_start_s(at("22:00")) == 14 * 3600
    assert sets.next_start_s(at("11:59")) == 60


@pytest.mark.parametrize(
    ("unit", "amount", "target"),
    [(MINUTES, 45, 2700), (DEPTH, 65, 6500 * 120), (VOLUME, 800, 800000)],
)
def test_target_is_seconds_or_millilitres(unit: int, amount: int, target: int) -> None:
    """6.5 mm on 120 m2 are 780 litres: a millimetre on a square metre is a litre."""
    sets = plan(set1_unit=unit, set1_amount=amount)
    sets.take_up(1, 1)
    assert sets.target == target
    expected_s = target if unit == MINUTES else target * 60 / 14000
    assert sets.planned_s(14000) == pytest.approx(expected_s, abs=1)
    assert sets.seconds_to_go(14000) == sets.planned_s(14000)


def test_runs_share_the_set() -> None:
    sets = plan(set1_amount=30, set1_runs=3)
    sets.take_up(1, 1)
    sets.deliver(599, 0)
    assert not sets.run_given()
    sets.deliver(1, 0)
    assert sets.run_given()
    sets.run = 2
    assert not sets.run_given()
    sets.deliver(1199, 0)
    sets.run = 3
    assert not sets.run_given()
    assert not sets.all_given()
    sets.deliver(1, 0)
    assert sets.all_given()


def test_shortening_keeps_what_was_given() -> None:
    sets = plan(set1_unit=VOLUME, set1_amount=400)
    sets.take_up(1, 1)
    sets.deliver(600, 140000)
    sets.shorten(90, 14000)
    assert sets.target == 140000 + 21000
    assert sets.seconds_to_go(14000) == 90
    sets.deliver(600, 140000)
    assert sets.seconds_to_go(14000) == 0


EVENING = {"set2_unit": 1, "set2_amount": 10, "set2_start_s": 4 * 3600, "set2_window_s": 3600}


@pytest.mark.parametrize(
    ("clock", "first_night", "comes"),
    [
        ("13:00", 0, (1, 5)),
        ("23:30", 0, (1, 5)),  # Due, and late.
        ("03:00", 0, (2, 5)),
        ("05:30", 0, (1, 6)),
        ("13:00", 6, (1, 6)),
        ("13:00", 8, (1, 8)),
    ],
)
def test_the_set_that_comes_next(clock: str, first_night: int, comes: tuple[int, int]) -> None:
    """Set 1 at 22:00 for four hours, set 2 at 04:00 for one; it is night 5."""
    assert plan(**EVENING).upcoming(5, at(clock), first_night) == comes


def test_a_set_that_is_over_or_goes_on_does_not_come_next() -> None:
    sets = plan(**EVENING)
    sets.take_up(1, 5)
    assert sets.upcoming(5, at("22:30"), 0) == (2, 5)
    sets.close()
    assert sets.upcoming(5, at("22:30"), 0) == (2, 5)
    sets.skip(2, 5)
    assert sets.upcoming(5, at("22:30"), 0) == (1, 6)
    assert plan(set1_unit=0).upcoming(5, at("22:30"), 0) == (NONE, NONE)


# Through the front door.


def night(bench: Bench) -> Bench:
    bench.sleep_until("11:50:00")
    return bench


@pytest.mark.no_cover
def test_a_set_by_minutes_is_given_once() -> None:
    bench = night(Bench())
    (given_,) = bench.records(GIVEN)
    assert given_["run_s"] == 1800
    assert given_["given_ml"] == pytest.approx(30 * 14000, rel=0.002)
    assert given_["depth_um"] == given_["given_ml"] // 120
    assert len(bench.records(SET)) == len(bench.records(START)) == 1
    bench.sleep(86400)
    assert len(bench.records(SET)) == 2


@pytest.mark.parametrize(("unit", "amount"), [(DEPTH, 25), (VOLUME, 300)])
def test_a_set_by_water_stops_at_its_water(unit: int, amount: int) -> None:
    """2.5 mm on 120 m2 are the same 300 litres; one second gives at most 240 mL."""
    bench = night(Bench(set1_unit=unit, set1_amount=amount))
    (given_,) = bench.records(GIVEN)
    assert 300000 <= given_["given_ml"] < 300240


def test_runs_are_parted_by_soaks() -> None:
    bench = Bench(set1_runs=3, set1_soak_s=900)
    bench.sleep_until("22:00:10")
    for _ in range(2):
        bench.until("soak", 700)
        soaked_ms = bench.at_ms
        bench.until("check", 901)
        assert bench.at_ms - soaked_ms == 900000
    night(bench)
    assert [start["run"] for start in bench.records(START)] == [1, 2, 3]
    assert [given_["run_s"] for given_ in bench.records(GIVEN)] == [1800]


def test_a_soak_of_no_length_goes_straight_on() -> None:
    bench = night(Bench(set1_runs=2, set1_soak_s=0))
    assert [start["run"] for start in bench.records(START)] == [1, 2]
    assert bench.records(GIVEN)[0]["run_s"] == 1800


@pytest.mark.no_cover
def test_three_sets_follow_one_another() -> None:
    bench = Bench(
        set2_unit=1,
        set2_amount=20,
        set2_start_s=22 * 3600 + 600,
        set3_unit=3,
        set3_amount=100,
        set3_start_s=4 * 3600,
    )
    night(bench)
    assert [given_["set"] for given_ in bench.records(GIVEN)] == [1, 2, 3]
    assert not bench.records(SKIP)


def test_a_power_cut_in_the_second_run_goes_on_with_it() -> None:
    bench = Bench(set1_runs=3, set1_soak_s=60)
    bench.sleep_until("22:15:00")
    bench.reboot()
    night(bench)
    assert [start["run"] for start in bench.records(START)] == [1, 2, 2, 3]
    assert 1800 <= bench.records(GIVEN)[0]["run_s"] <= 1801


def test_a_power_cut_leaves_the_rest_to_be_given() -> None:
    bench = Bench()
    bench.sleep_until("22:10:30")
    before = bench.keeper.plan.given_s[1]
    assert before > 500
    bench.reboot()
    night(bench)
    (given_,) = bench.records(GIVEN)
    assert given_["run_s"] == 1800
    assert sum(s["on_s"] for s in bench.records(7)) < 1800 - before + 120


@pytest.mark.parametrize(("away_h", "sets"), [(3, 1), (5, 0)])
def test_a_night_without_power_is_taken_up_inside_its_window_only(away_h: int, sets: int) -> None:
    bench = Bench(clock="21:30:00")
    bench.reboot(away_h * 3600000)
    bench.sleep(3600)
    assert len(bench.records(SET)) == sets
    skips = [(skip["set"], skip["cause"]) for skip in bench.records(SKIP)]
    assert skips == ([] if sets else [(1, MISSED)])


def test_a_missed_set_is_said_once() -> None:
    bench = Bench()
    bench.go("done")
    night(bench)
    assert [skip["cause"] for skip in bench.records(SKIP)] == [MISSED]


def test_a_hold_skips_whole_nights() -> None:
    bench = Bench()
    bench.keeper.command(HOLD, 2)
    bench.sleep(3 * 86400)
    assert [skip["cause"] for skip in bench.records(SKIP)] == [ON_HOLD, ON_HOLD]
    assert len(bench.records(GIVEN)) == 1


def test_a_stopped_set_is_over_for_tonight() -> None:
    bench = Bench()
    bench.sleep_until("22:05:00")
    bench.keeper.command(STOP, 0)
    bench.ticks(1100)
    assert bench.state == "done"
    bench.sleep_until("12:00:30")
    assert len(bench.records(SET)) == 1


@pytest.mark.parametrize("state", ["check", "prime", "run"])
@pytest.mark.parametrize("after_ms", [0, 300, 900])
def test_stop_is_obeyed_on_the_next_tick(state: str, after_ms: int) -> None:
    """Whenever in a second it comes."""
    bench = Bench()
    bench.go(state)
    bench.ticks(after_ms)
    bench.keeper.command(STOP, 0)
    assert bench.tick() == 0
    assert bench.state == "done"


def test_letting_the_button_go_stops_on_that_tick() -> None:
    bench = Bench()
    bench.go("run")
    bench.button = 1
    bench.ticks(300)
    bench.button = 0
    assert bench.tick() == 0


def test_nothing_overtakes_a_stop() -> None:
    """Stop and run within the same second: the stop was meant."""
    bench = Bench()
    bench.go("run")
    bench.keeper.command(STOP, 0)
    bench.keeper.command(RUN, 5)
    bench.ticks(2000)
    assert bench.state == "done"
    assert bench.level == 0
