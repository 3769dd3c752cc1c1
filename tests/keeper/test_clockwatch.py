"""The clock against the ticks: what is a verdict, what ends it, what is told meanwhile."""

import pytest

from keeper import Settings
from keeper.clockwatch import APART, GOOD, HEAL_MS, NOT_SET, STOPPED, WENT_BACK, ClockWatch
from keeper.facts import Facts
from keeper.hand import CLOCK
from keeper.records import CLOCK as CLOCK_RECORD
from keeper.records import NIGHT, NO_CLOCK, SET, SKIP

from .bench import DAY0, SITE, Bench

SETTINGS = Settings(SITE)
NOON_S = 43200
MINUTE_MS = 60000
Reading = tuple[int, int]
"""Seconds since the midnight of day 0, and whether the clock vouches for them."""


def look(watch: ClockWatch, reading: Reading, dt_ms: int = MINUTE_MS) -> int:
    second, ok = reading
    return watch.look(dt_ms, DAY0 + second // 86400, second % 86400, ok)


def looks(readings: list[Reading], dt_ms: int = MINUTE_MS) -> list[int]:
    watch = ClockWatch(SETTINGS, Facts(SETTINGS))
    return [look(watch, reading, dt_ms) for reading in readings]


def time_of(watch: ClockWatch) -> int:
    """What it goes by: seconds since the midnight of day 0."""
    assert watch.known
    return (watch.day - DAY0) * 86400 + watch.second


def test_a_clock_that_keeps_time_is_good_for_weeks() -> None:
    assert set(looks([(60 * n, 1) for n in range(30000)])) == {GOOD}


# Looks a minute apart; the last reading of each is seen twice.
WRONG = [
    ([(0, 1), (60, 0)], NOT_SET),
    ([(600, 1), (659, 1), (658, 1)], WENT_BACK),
    ([(0, 1), (181, 1)], APART),
    ([(0, 1), (0, 1), (0, 1)], STOPPED),
    ([(0, 1), (10, 1), (50, 1)], APART),
    ([(90000, 1), (0, 1)], WENT_BACK),
    ([(0, 1), (86400 * 3001, 1)], APART),
    ([(86400 * 3001, 1), (0, 1)], WENT_BACK),
]


@pytest.mark.parametrize(("readings", "verdict"), WRONG)
def test_a_reading_is_seen_twice_before_the_verdict(readings: list[Reading], verdict: int) -> None:
    assert looks(readings) == [GOOD] * len(readings)
    assert looks([*readings, readings[-1]])[-1] == verdict


@pytest.mark.parametrize(
    "readings", [[(0, 1), (120, 1), (120, 1)], [(0, 1), (0, 1)], [(0, 1), (60, 1), (60, 1)]]
)
def test_up_to_a_minute_beside_the_ticks_is_good(readings: list[Reading]) -> None:
    assert set(looks(readings)) == {GOOD}


@pytest.mark.parametrize("wrong", [(0, 0), (0, 1), (659, 1), (7200, 1), (86400 * 5000, 1)])
def test_one_wrong_reading_changes_nothing(wrong: Reading) -> None:
    """Tick by tick: the time to go by is the ticks' meanwhile, and the clock's again after it."""
    watch = ClockWatch(SETTINGS, Facts(SETTINGS))
    for second in range(600, 660):
        assert look(watch, (second, 1), 1000) == GOOD
    look(watch, (660, 1), 1000)
    assert look(watch, wrong, 1000) == GOOD
    assert (watch.doubt, time_of(watch)) == (True, 661)
    for second in range(662, 1000):
        assert look(watch, (second, 1), 1000) == GOOD
        assert (watch.doubt, time_of(watch)) == (False, second)


def spoilt(wrong: Reading = (7200, 1)) -> ClockWatch:
    """A watch that has seen good readings to second 60, and then twice a wrong one."""
    watch = ClockWatch(SETTINGS, Facts(SETTINGS))
    for reading in ((0, 1), (60, 1), wrong, wrong):
        look(watch, reading, MINUTE_MS)
    assert watch.facts.clock_bad
    assert time_of(watch) == 180
    return watch


@pytest.mark.parametrize("wrong", [(0, 0), (30, 1), (7200, 1)])
def test_a_clock_that_fits_again_heals_after_three_minutes(wrong: Reading) -> None:
    watch = spoilt(wrong)
    for n in range(HEAL_MS // MINUTE_MS):
        assert look(watch, (240 + 60 * n, 1)) != GOOD
    assert look(watch, (240 + HEAL_MS // 1000, 1)) == GOOD
    assert look(watch, (300 + HEAL_MS // 1000, 1)) == GOOD
    assert time_of(watch) == 300 + HEAL_MS // 1000


def test_three_minutes_together() -> None:
    watch = spoilt()
    second = 180
    for n in range(40):
        second += 60
        assert look(watch, (0 if n % 3 == 2 else second, 1)) == APART
    assert time_of(watch) == second, "the ticks go on"


@pytest.mark.parametrize("jump_s", [-7200, 7200])
def test_a_clock_that_has_jumped_does_not_heal(jump_s: int) -> None:
    """Nothing says which is right; with days the ticks are given more room, but not that much."""
    watch = ClockWatch(SETTINGS, Facts(SETTINGS))
    look(watch, (80000, 1))
    verdicts = [look(watch, (80060 + 60 * n + jump_s, 1)) for n in range(7 * 1440)]
    assert set(verdicts[1:]) == {WENT_BACK if jump_s < 0 else APART}
    watch.set_again()
    assert look(watch, (111, 1)) == GOOD
    assert look(watch, (171, 1)) == GOOD


def test_what_was_never_known_is_believed_as_soon_as_it_is_vouched_for() -> None:
    watch = ClockWatch(SETTINGS, Facts(SETTINGS))
    assert look(watch, (0, 0)) == NOT_SET
    assert not watch.known
    assert look(watch, (5000, 1)) == GOOD
    assert time_of(watch) == 5000


# In the keeper.


def verdicts(bench: Bench) -> list[int]:
    return [record["verdict"] for record in bench.records(CLOCK_RECORD)]


@pytest.mark.no_cover
def test_one_wrong_reading_costs_no_set_and_no_night() -> None:
    """At noon, at the start of the set and in the run: not one record tells of it."""
    bench, same = Bench(), Bench()
    for clock in ("16:00:00", "22:00:00", "22:20:00"):
        for here in (bench, same):
            here.sleep_until(clock)
        bench.clock_off_ms = 40 * 86_400_000
        for here in (bench, same):
            here.tick()
        bench.clock_off_ms = 0
    for here in (bench, same):
        here.sleep_until("13:00:00")
    for kind in (SET, NIGHT, SKIP, CLOCK_RECORD):
        assert len(bench.records(kind)) == len(same.records(kind))
    assert len(bench.records(SET)) == len(bench.records(NIGHT)) == 1


def test_a_clock_that_is_wrong_for_an_hour_is_believed_again_and_the_set_given() -> None:
    bench = Bench()
    bench.sleep_until("15:00:00")
    bench.clock_off_ms = 7_200_000
    bench.sleep(3600)
    assert verdicts(bench) == [GOOD, APART]
    bench.clock_off_ms = 0
    bench.sleep_until("22:05:00")
    assert verdicts(bench) == [GOOD, APART, GOOD]
    assert len(bench.records(SET)) == 1


@pytest.mark.parametrize("clock_ok", [0, 1])
def test_a_set_missed_for_the_clock_is_told_and_so_is_the_night(clock_ok: int) -> None:
    """By the time that the ticks make of the last good one: one of each a night."""
    bench = Bench()
    bench.sleep_until("15:00:00")
    bench.clock_ok = clock_ok
    bench.clock_off_ms = -7_200_000
    bench.sleep(3 * 86400)
    assert [skip["cause"] for skip in bench.records(SKIP)] == [NO_CLOCK] * 3
    assert len(bench.records(NIGHT)) == 3
    assert not bench.records(SET)
    bench.clock_ok, bench.clock_off_ms = 1, 0
    bench.keeper.command(CLOCK, 0)
    bench.sleep_until("22:05:00")
    assert len(bench.records(SET)) == 1


def test_a_board_that_never_knew_the_time_tells_of_a_set_a_day() -> None:
    bench = Bench(set2_unit=1, set2_amount=5, set2_start_s=4 * 3600)
    bench.clock_ok = 0
    bench.reboot()
    bench.sleep(3 * 86400 - 60)
    skips = bench.records(SKIP)
    assert [(skip["set"], skip["cause"]) for skip in skips] == [(1, NO_CLOCK), (2, NO_CLOCK)] * 2
    assert not bench.records(SET)


def test_new_settings_heal_nothing() -> None:
    before = spoilt()
    settings = Settings({**SITE, "clock_off_s": 120})
    facts = Facts(settings)
    facts.take_over(before.facts)
    after = ClockWatch(settings, facts)
    after.go_on(before)
    assert after.facts.clock_bad == APART
    assert look(after, (7260, 1)) == APART
    assert time_of(after) == 240
