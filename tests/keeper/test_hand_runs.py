"""A run by hand never costs the set that is planned, nor does it clear a stop for the night."""

import itertools
from collections.abc import Callable

import pytest

from keeper.hand import CLEAR, RUN, STOP
from keeper.records import CAUSES, GIVEN, HAND_RUN, MISSED, SET, SKIP, TRIP
from keeper.rules import ACTIONS, END_RUN, NIGHT

from .bench import RULE_NAMES, Bench


def asked(bench: Bench, state: str = "run", minutes: int = 0) -> Bench:
    """A run by hand has come to this state."""
    bench.keeper.command(RUN, minutes)
    bench.pressure_pa = 0 if state == "prime" else 300000 if state == "rest" else None
    bench.until(state, 1200)
    bench.pressure_pa = None
    return bench


def given(bench: Bench, minutes: int = 0) -> None:
    asked(bench, minutes=minutes)


def stop(bench: Bench) -> None:
    bench.keeper.command(STOP, 0)


def stopped_in(state: str) -> Callable[[Bench], None]:
    return lambda bench: stop(asked(bench, state))


def frost(bench: Bench) -> None:
    bench.frost_dc = 5
    bench.keeper.command(RUN, 0)


def frost_wire_off(bench: Bench) -> None:
    bench.raw = {"frost": 4090}
    bench.keeper.command(RUN, 0)


def readings_flicker(bench: Bench) -> None:
    """Neither good nor bad for long enough until the check gives up."""
    bench.keeper.command(RUN, 0)
    bench.until("check")
    for tick in itertools.count():  # Of six ticks two are bad, and one more in the beginning.
        bench.raw = {} if tick % 6 > 2 or (tick > 5 and tick % 6 == 0) else {"frost": -1}
        bench.tick()
        if bench.state != "check":
            return


def rain_falls(bench: Bench) -> None:
    asked(bench)
    bench.rain = 1
    bench.sleep(62)
    bench.rain = 0


def low_charge_for_it(bench: Bench) -> None:
    bench.keeper.facts.left_mah = 2100
    bench.keeper.command(RUN, 0)
    bench.until("check")
    bench.until("idle")
    bench.keeper.facts.left_mah = 30000


# How a run by hand ends, with the settings that it takes, and what its record says.
ENDS: dict[str, tuple[Callable[[Bench], None], dict[str, int], str]] = {
    "all given": (given, {}, "complete"),
    "stop in check": (stopped_in("check"), {}, "by hand"),
    "stop while priming": (stopped_in("prime"), {}, "by hand"),
    "stop in the run": (stopped_in("run"), {}, "by hand"),
    "stop in a rest": (stopped_in("rest"), {}, "by hand"),
    "rain": (rain_falls, {"rain_skip_s": 3600}, "rain"),
    "frost": (frost, {}, "frost"),
    "bad frost": (frost_wire_off, {}, "bad frost"),
    "flicker": (readings_flicker, {}, "tripped"),
    "longest run": (lambda bench: given(bench, 4), {"run_max_s": 120}, "over-run"),
    "motor": (given, {"duty_s": 200}, "duty"),
    "charge": (low_charge_for_it, {}, "charge reserve"),
}


def cause_of(record: dict[str, int]) -> str:
    cause = record["cause"]
    return CAUSES[cause] if cause < 16 else RULE_NAMES[cause - 16]


@pytest.mark.no_cover
@pytest.mark.parametrize("how", ENDS)
def test_the_set_of_the_night_is_given(how: str) -> None:
    end, settings, cause = ENDS[how]
    # What ends a run of four minutes lets a set of one minute pass.
    short = {"set1_amount": 1} if cause in ("over-run", "duty") else {}
    bench = Bench(clock="18:00:00", hand_minutes=4, **settings, **short)
    end(bench)
    bench.until(lambda: bool(bench.records(GIVEN)) and bench.state == "idle", 900)
    (by_hand,) = bench.records(GIVEN)
    assert (by_hand["set"], cause_of(by_hand)) == (0, cause)
    assert bench.keeper.facts.stop_set == 0
    assert [trip["action"] for trip in bench.records(TRIP) if cause in RULE_NAMES] in (
        [],
        [END_RUN],
    )
    bench.calm()
    bench.sleep_until("11:50:00")
    given = bench.records(GIVEN)[-1]
    assert (given["set"], cause_of(given)) == (1, "complete")
    assert given["run_s"] == bench.settings.set1_amount * 60
    assert not bench.records(SKIP)


def test_too_many_starts_by_hand_cost_no_set() -> None:
    """Six of them just before: the set waits until the first is an hour old, then is given."""
    bench = Bench(clock="21:30:00", starts_max=6, hand_minutes=1)
    for _ in range(7):
        bench.keeper.command(RUN, 0)
        bench.until("check")
        bench.until("idle")
    assert [ACTIONS[trip["action"]] for trip in bench.said("too many starts")] == ["end run"]
    bench.until(lambda: len(bench.records(SET)) > 7, 7200)
    assert 22.45 < bench.at_ms / 3600000 < 22.6
    bench.sleep_until("11:50:00")
    assert cause_of(bench.records(GIVEN)[-1]) == "complete"
    assert not bench.records(SKIP)


@pytest.mark.no_cover
def test_a_motor_that_is_hot_from_a_run_by_hand_cools_before_the_set() -> None:
    bench = Bench(clock="21:20:00", duty_s=2400, duty_permille=500, hand_minutes=35)
    asked(bench)
    bench.until("idle", 3000)
    bench.sleep_until("22:05:00")
    assert bench.state == "idle"
    bench.sleep_until("11:50:00")
    assert [cause_of(given) for given in bench.records(GIVEN)] == ["complete", "complete"]
    assert not bench.said("duty")


def test_a_set_that_cannot_wait_longer_is_tried_all_the_same() -> None:
    """A motor that never cools: at the end of its window the set starts, and the rule judges."""
    bench = Bench(clock="21:20:00", duty_s=2400, duty_permille=10, set1_window_s=3600)
    asked(bench, minutes=35)
    bench.until("idle", 3000)
    bench.sleep_until("22:57:00")
    assert bench.state == "idle"
    bench.sleep_until("23:01:00")
    assert bench.state == "run"


def test_after_a_set_the_next_does_not_wait() -> None:
    """Only a run by hand is waited for: what the plan asks for is the plan's."""
    second = {"set2_unit": 1, "set2_amount": 20, "set2_start_s": 23 * 3600}
    bench = Bench(clock="21:59:00", duty_s=2400, duty_permille=10, **second)
    bench.sleep_until("23:05:00")
    assert bench.keeper.plan.current == 2


# What a rule saw of the site is as true at the set's time: that stop stands.


@pytest.mark.parametrize(
    ("knob", "value", "rule", "state"),
    [
        ("pressure_pa", 300000, "dead head", "done"),
        ("pressure_pa", 60000, "line open", "done"),
        ("pressure_pa", 0, "dry run", "lockout"),
        ("battery_mv", 8000, "bad supply", "done"),
        ("load_on", 0, "relay open", "done"),
        ("pressure_pa", 420000, "high pressure", "lockout"),
    ],
)
def test_a_stop_for_what_the_set_would_meet_stands(
    knob: str, value: int, rule: str, state: str
) -> None:
    bench = asked(Bench(clock="18:00:00", dead_head_tries=0, dry_tries=0))
    bench.ticks(6000)
    setattr(bench, knob, value)
    bench.until(state, 120)
    bench.calm()
    assert RULE_NAMES[bench.keeper.facts.stop_cause - 16] == rule
    bench.sleep_until("11:50:00")
    assert [given["set"] for given in bench.records(GIVEN)] == [0]
    assert [skip["cause"] for skip in bench.records(SKIP)] == [MISSED]


def test_a_person_who_stops_the_planned_set_ends_the_night() -> None:
    second = {"set2_unit": 1, "set2_amount": 5, "set2_start_s": 23 * 3600}
    bench = Bench(**second)
    bench.sleep_until("22:05:00")
    stop(bench)
    bench.ticks(1100)
    assert bench.state == "done"
    bench.sleep_until("12:00:30")
    assert [given["set"] for given in bench.records(GIVEN)] == [1]


# A stop for the night stays one.


def stopped_night() -> Bench:
    """Line open in the set of 22:00."""
    second = {"set2_unit": 1, "set2_amount": 5, "set2_start_s": 4 * 3600}
    bench = Bench(clock="21:59:00", **second)
    bench.until("run")
    bench.ticks(6000)
    bench.pressure_pa = 60000
    bench.until("done")
    bench.calm()
    bench.sleep(60)
    return bench


def why(bench: Bench) -> tuple[str, int]:
    facts = bench.keeper.facts
    return cause_of({"cause": facts.stop_cause}), facts.stop_set


@pytest.mark.parametrize("how", ["given", "stopped", "frost", "power"])
def test_after_a_run_by_hand_the_night_is_still_stopped(how: str) -> None:
    bench = stopped_night()
    if how == "frost":
        frost(bench)
        bench.until("check")
    else:
        asked(bench)
    if how == "stopped":
        stop(bench)
    elif how == "power":
        bench.reboot()
    bench.until("done", 600)
    assert why(bench) == ("line open", 1), "that is what stops the night"
    bench.calm()
    bench.sleep_until("11:59:30")
    assert sorted({given["set"] for given in bench.records(GIVEN)} - {0}) == [1]
    bench.sleep_until("12:00:30")
    assert bench.state == "idle"


@pytest.mark.parametrize("by", ["clear", "noon"])
def test_what_ends_a_stop_ends_it_during_a_run_by_hand_too(by: str) -> None:
    bench = stopped_night()
    if by == "noon":
        bench.sleep_until("11:59:00")
    asked(bench, minutes=4)
    if by == "clear":
        bench.keeper.command(CLEAR, 0)
    bench.until(lambda: bench.state not in ("check", "prime", "run"), 600)
    assert bench.state == "idle"


def test_a_new_stop_takes_the_place_of_the_old() -> None:
    bench = asked(stopped_night())
    bench.ticks(3000)
    bench.battery_mv = 8000
    bench.until("done")
    assert why(bench) == ("bad supply", 0)
    assert bench.records(TRIP)[-1]["action"] == NIGHT


def test_a_retry_in_a_stopped_night_comes_back_to_it() -> None:
    bench = asked(stopped_night(), "rest")
    bench.until("run", 1200)
    bench.until("done", 600)
    assert why(bench) == ("dead head", 0), "the last thing that went wrong"


# A set that comes due during a run by hand.


@pytest.mark.no_cover
def test_a_set_that_is_due_starts_after_the_run_by_hand() -> None:
    bench = Bench(clock="21:58:00", hand_minutes=10)
    asked(bench)
    bench.sleep_until("22:09:00")
    assert bench.keeper.plan.current in (0, 1)
    bench.sleep_until("11:50:00")
    assert [(given["set"], given["run_s"]) for given in bench.records(GIVEN)] == [
        (0, 600),
        (1, 1800),
    ]


@pytest.mark.parametrize("end", ["given", "stopped in a rest"])
def test_a_run_by_hand_over_the_whole_window_is_said_so(end: str) -> None:
    second = {"set2_unit": 1, "set2_amount": 5, "set2_start_s": 22 * 3600, "set2_window_s": 60}
    bench = Bench(clock="21:58:00", set1_window_s=60, retry_rest_s=1200, **second)
    asked(bench, "run" if end == "given" else "rest", minutes=10)
    bench.sleep(1100)
    if end != "given":
        assert bench.state == "rest"
    skips = [(skip["set"], skip["cause"], skip["value"]) for skip in bench.records(SKIP)]
    assert skips == [(1, HAND_RUN, 0), (2, HAND_RUN, 0)]


def test_a_set_that_runs_over_the_window_of_the_next_is_said_so() -> None:
    second = {"set2_unit": 1, "set2_amount": 5, "set2_start_s": 79500, "set2_window_s": 60}
    bench = Bench(**second)
    bench.sleep_until("22:35:00")
    (skip,) = bench.records(SKIP)
    assert (skip["set"], skip["cause"]) == (2, MISSED)
    assert skip["value"] == 4, "the board was pumping"


def test_a_clock_that_is_not_known_misses_nothing() -> None:
    bench = Bench(clock="21:58:00", set1_window_s=60)
    bench.clock_ok = 0
    bench.reboot()
    asked(bench)
    bench.until("idle", 600)
    assert not bench.records(SKIP)


# How long a run by hand may be.


def test_no_run_by_hand_is_longer_than_ends_by_itself() -> None:
    """The button's run too: ten minutes less a minute and a half of priming."""
    bench = Bench(run_max_s=600, prime_ms=90000, hand_minutes=20)
    assert bench.keeper.hand.minutes_max == 8
    bench.keeper.command(RUN, 0)
    bench.until("prime")
    bench.pressure_pa = 0
    bench.ticks(88000)
    bench.pressure_pa = None
    bench.until("idle", 900)
    assert not bench.said("over-run")
    assert bench.records(GIVEN)[0]["run_s"] == 480


def test_the_shortest_longest_run() -> None:
    assert Bench(run_max_s=60, prime_ms=90000).keeper.hand.minutes_max == 1
    assert Bench(run_max_s=14400).keeper.hand.minutes_max == 238
