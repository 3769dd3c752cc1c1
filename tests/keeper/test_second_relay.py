"""Two relays in series: the order in which they work, and what is found of one that is stuck."""

from itertools import groupby

import pytest

from keeper.plan import NONE
from keeper.records import START, STOP
from keeper.relay import BOTH, FIRST, SECOND

from .bench import DAY0, REST_MV, Bench

FITTED = {"second_relay_fitted": 1}
SENSORS = ("load_sense", "current", "battery", "pressure")


def seeing(*sensors: str) -> dict[str, int]:
    """Settings of a board with two relays and these sensors."""
    return {**FITTED, **{name + "_fitted": int(name in sensors) for name in SENSORS}}


TELLS = {
    "load sense": seeing("load_sense", "battery", "pressure"),
    "current": seeing("current", "battery", "pressure"),
    "battery": seeing("battery", "pressure"),
    "battery alone": seeing("battery"),
    "pressure": seeing("pressure"),
}
told_by = pytest.mark.parametrize("sensors", TELLS)


def levels(bench: Bench, state: str, limit_s: int = 30) -> list[tuple[int, int]]:
    """Each level until the state is reached, with how many ticks it lasts."""
    seen = []

    def reached() -> bool:
        seen.append(bench.level)
        return bench.state == state

    bench.until(reached, limit_s)
    return [(level, len(list(ticks))) for level, ticks in groupby(seen)]


def in_check(bench: Bench) -> Bench:
    bench.go("check")
    return bench


@pytest.mark.parametrize(
    ("sensors", "ticks"), [("load sense", 10), ("battery", 10), ("pressure", 30)]
)
def test_each_is_closed_alone_and_then_the_first_makes_the_load(sensors: str, ticks: int) -> None:
    bench = in_check(Bench(**TELLS[sensors]))
    (_, rest), *proof = levels(bench, "prime")
    assert rest == 20, "the readings are judged at rest"
    assert proof == [(FIRST, ticks), (0, 2), (SECOND, ticks), (BOTH, 1)]


def test_the_proof_before_a_second_start_is_as_long() -> None:
    bench = Bench(**FITTED)
    bench.go("done")
    bench.ticks(5000)
    assert levels(in_check(bench), "prime")[1:] == [(FIRST, 10), (0, 2), (SECOND, 10), (BOTH, 1)]


def test_the_first_breaks_the_load_and_the_second_follows() -> None:
    bench = Bench(**FITTED)
    bench.go("run")
    bench.keeper.command(3, 0)
    bench.until("done")
    seen = [bench.level] + [bench.tick() for _ in range(5)]
    assert seen == [SECOND, SECOND, 0, 0, 0, 0]


@pytest.mark.no_cover
@told_by
def test_a_normal_night_finds_nothing_and_proves_both(sensors: str) -> None:
    bench = Bench(clock="21:30:00", set1_runs=2, set1_soak_s=600, **TELLS[sensors])
    for night in range(2):
        bench.sleep(86400)
        assert len(bench.records(START)) == 2 * (night + 1)
        assert bench.keeper.facts.proved_day == DAY0 + night
    assert bench.keeper.facts.stuck_relay == 0
    assert not bench.said("relay stuck")
    assert not bench.said("relay closed")


@told_by
@pytest.mark.parametrize("stuck", [FIRST, SECOND])
def test_one_that_is_stuck_is_found_before_the_start(sensors: str, stuck: int) -> None:
    bench = Bench(**TELLS[sensors])
    bench.stuck = stuck
    in_check(bench)
    bench.until("lockout", 30)
    assert bench.level == 0
    (said,) = bench.said("relay stuck")
    assert said["value"] == stuck
    assert bench.keeper.facts.stuck_relay == stuck
    assert not bench.records(START)
    assert bench.keeper.facts.proved_day < 0
    bench.sleep(2 * 86400)
    assert len(bench.said("relay stuck")) == 1, "noon does not tell it again"
    assert not bench.said("relay closed"), "the other one keeps the pump off"


@pytest.mark.parametrize("stuck", [FIRST, SECOND])
def test_a_pump_that_is_felt_is_stopped_after_three_ticks(stuck: int) -> None:
    bench = Bench(**FITTED)
    bench.stuck = stuck
    ran = 0
    in_check(bench)
    while bench.state == "check":
        bench.tick()
        ran += bench.pump_on
    assert ran == 3


def test_a_blip_is_no_pump() -> None:
    bench = in_check(Bench(**FITTED))
    bench.until(lambda: bench.level == FIRST)
    for load_on in (1, 1, 0, 1, 1, 0):
        bench.load_on = load_on
        bench.tick()
    bench.load_on = None
    bench.until("run")


def test_a_sag_of_a_quarter_is_a_pump_and_less_is_none() -> None:
    """A quarter of what 12 A take over 50 mohm: 150 mV."""
    for sag_mv, state in ((150, "run"), (155, "lockout")):
        bench = in_check(Bench(**TELLS["battery alone"], prime_ms=5000))
        bench.until(lambda bench=bench: bench.level == FIRST)
        bench.battery_mv = REST_MV - sag_mv
        bench.ticks(900)
        bench.battery_mv = None
        bench.until(state)


def test_a_rise_of_half_the_work_is_a_pump_and_less_is_none() -> None:
    for rise_pa, state in ((100000, "run"), (100400, "lockout")):
        bench = in_check(Bench(**TELLS["pressure"]))
        bench.until(lambda bench=bench: bench.level == FIRST)
        bench.pressure_pa = rise_pa
        bench.ticks(1000)
        bench.pressure_pa = None
        bench.until(state)


def test_a_pressure_that_stands_in_the_line_is_no_pump() -> None:
    bench = in_check(Bench(**TELLS["pressure"]))
    bench.pressure_pa = 120000
    bench.until("prime")


def test_where_nothing_tells_the_pump_runs_and_nothing_is_proved() -> None:
    """A charger is on the battery, and nothing else is read."""
    bench = Bench(**TELLS["battery alone"])
    bench.rest_mv = bench.loaded_mv = 13200
    bench.go("prime")
    assert bench.keeper.facts.proved_day == -1


def test_a_clock_that_is_not_believed_gives_no_day() -> None:
    bench = Bench(**FITTED)
    bench.clock_ok = 0
    bench.tick()
    bench.keeper.command(2, 0)
    bench.until("run")
    assert bench.keeper.facts.proved_day == NONE


@pytest.mark.parametrize(("late_ms", "again"), [(500, False), (501, True)])
def test_a_proof_that_was_broken_off_begins_again(late_ms: int, again: bool) -> None:
    bench = in_check(Bench(**FITTED))
    bench.until(lambda: bench.level == FIRST)
    bench.ticks(300)
    bench.tick(late_ms)
    if again:
        assert levels(bench, "prime")[:3] == [(0, 1), (FIRST, 10), (0, 2)]
    else:
        assert bench.level == FIRST
        assert levels(bench, "prime")[0] == (FIRST, 2)


def test_a_person_who_stops_the_check_opens_both() -> None:
    bench = in_check(Bench(**FITTED))
    bench.until(lambda: bench.level == FIRST)
    bench.keeper.command(3, 0)
    bench.until(lambda: bench.level == 0, 1)
    assert bench.state == "done"


def test_a_wire_over_both_is_a_closed_relay() -> None:
    """Nothing opens for that: the hand switch."""
    bench = Bench(**FITTED)
    bench.ticks(1000)
    bench.stuck = BOTH
    bench.ticks(3000)
    assert bench.state == "lockout"
    assert bench.said("relay closed")
    assert not bench.said("relay stuck")


def test_a_second_relay_that_is_not_there_is_found_stuck() -> None:
    """A wire lies in its place."""
    bench = Bench(**FITTED)
    bench.stuck = SECOND
    in_check(bench)
    bench.until("lockout")
    assert bench.said("relay stuck")[0]["value"] == SECOND


def test_a_second_relay_that_the_board_is_not_told_of_stays_open() -> None:
    bench = Bench()
    bench.whole = BOTH
    bench.go("prime")
    bench.until("done")
    assert bench.said("relay open")


# At the end of a run.


def at_the_end(**changes: int) -> Bench:
    """A run is over, and the first relay stays closed."""
    bench = Bench(**{**FITTED, **changes})
    bench.go("run")
    bench.stuck = FIRST
    bench.keeper.command(3, 0)
    bench.until("done")
    return bench


@pytest.mark.parametrize("hold_ms", [1000, 2000])
def test_the_second_opens_for_a_first_that_does_not(hold_ms: int) -> None:
    bench = at_the_end(weld_hold_ms=hold_ms)
    begun_ms = bench.at_ms
    bench.until(lambda: not bench.pump_on, 5)
    assert bench.at_ms - begun_ms == hold_ms
    bench.tick()
    (said,) = bench.said("relay stuck")
    assert said["value"] == FIRST
    assert (bench.state, bench.level) == ("lockout", 0)
    assert not bench.said("relay closed")


def test_a_motor_that_runs_out_is_no_stuck_relay() -> None:
    bench = at_the_end()
    bench.ticks(900)
    bench.stuck = 0
    bench.ticks(5000)
    assert bench.level == 0
    assert not bench.said("relay stuck")


def test_without_a_hold_a_motor_may_still_run_out() -> None:
    bench = at_the_end(weld_hold_ms=0)
    bench.ticks(200)
    bench.stuck = 0
    bench.ticks(3000)
    assert not bench.said("relay stuck")


@pytest.mark.parametrize("sensors", ["battery", "pressure"])
def test_unseen_it_opens_soon_and_the_next_check_finds_it(sensors: str) -> None:
    bench = at_the_end(**TELLS[sensors])
    bench.ticks(200)
    assert not bench.pump_on, "whether or not the first has opened"
    bench.sleep(600)
    assert not bench.said("relay stuck")
    bench.go("check")
    bench.until("lockout", 30)
    assert [said["value"] for said in bench.said("relay stuck")] == [FIRST]


def test_no_nap_while_one_is_closed_alone() -> None:
    bench = at_the_end()
    while bench.level:
        assert bench.keeper.nap_ms == 0
        assert bench.q("closed_off") == 0, "that it is closed alone is known, and looked at here"
        bench.tick()


# Afterwards.


def test_a_clear_forgets_it_and_the_next_check_looks_again() -> None:
    bench = Bench(**FITTED)
    bench.stuck = SECOND
    for times in (1, 2):
        in_check(bench)
        bench.until("lockout")
        assert len(bench.said("relay stuck")) == times
        bench.clear()
        assert bench.state == "idle"
        assert bench.keeper.facts.stuck_relay == 0
    bench.stuck = 0
    bench.go("run")


def test_which_one_is_stuck_outlives_a_loss_of_power() -> None:
    bench = Bench(**FITTED)
    bench.stuck = SECOND
    in_check(bench)
    bench.until("lockout")
    bench.reboot()
    assert bench.state == "lockout"
    assert bench.keeper.facts.stuck_relay == SECOND
    assert len(bench.said("relay stuck")) == 1


def test_the_status_tells_both() -> None:
    second = Bench(**FITTED).keeper.second
    assert second.told(0) == "closed=none stuck=none proved=none"
    second.keeper.facts.proved_day, second.keeper.facts.stuck_relay = DAY0, FIRST
    told = [second.told(level) for level in (FIRST, SECOND, BOTH)]
    assert told == [
        f"closed={closed} stuck=first proved=2026-07-01" for closed in ("first", "second", "both")
    ]


def test_a_shut_line_that_keeps_the_pressure_of_the_proof_is_no_pump() -> None:
    bench = Bench(**TELLS["pressure"])
    bench.stuck = SECOND
    in_check(bench)
    bench.until(lambda: bench.pump_on)
    bench.ticks(200)
    bench.pressure_pa = 200000
    bench.until("lockout")
    for _ in range(3000):
        bench.pressure_pa = 200000 + bench.at_ms // 100 % 3 * 400
        bench.tick()
    assert not bench.said("relay closed")


def test_a_board_with_one_relay_never_asks_for_a_second() -> None:
    bench = in_check(Bench())
    assert levels(bench, "prime") == [(0, 20), (FIRST, 1)]
    bench.until("run")
    bench.keeper.command(3, 0)
    bench.until("done")
    assert bench.level == 0
    assert bench.records(STOP)
