"""Each protection, driven through the front door in each state that it watches."""

import pytest

from keeper.cycle import STATES
from keeper.records import STOP
from keeper.rules import ACTIONS

from .bench import Bench
from .cases import CASES, Case
from .table import STATE_AFTER

every_case = pytest.mark.parametrize("case", CASES, ids=str)


def value_of(bench: Bench, key: str | int) -> int:
    return key if isinstance(key, int) else getattr(bench.settings, key)


def is_past(bench: Bench, case: Case) -> bool:
    value, limit = bench.q(case.row.quantity), value_of(bench, case.row.limit)
    return value > limit if case.row.side == "above" else value < limit


def push(bench: Bench, case: Case) -> None:
    """Past the limit, at the first tick on which the board can know it."""
    case.past(bench)
    if case.rule == "late tick":
        bench.tick(501)
        return
    if case.rule == "relay chatter":
        bench.load_on = 1 - bench.load_on
    for _ in range(700):
        if bench.said(case.rule):
            return
        bench.tick()
        if is_past(bench, case):
            return
    raise AssertionError("never past the limit")


@every_case
def test_on_the_limit_is_not_past_it(case: Case) -> None:
    if case.rule == "too many starts":
        bench = Case(case.rule, case.state, case.at, case.past, before=case.before).bench()
    else:
        bench = case.bench()
    case.at(bench)
    hold_ms = value_of(bench, case.row.hold)
    if hold_ms:
        bench.ticks(hold_ms + 300)
    value, limit = bench.q(case.row.quantity), value_of(bench, case.row.limit)
    assert value == limit
    assert bench.state == case.state
    assert not bench.said(case.rule)


def past_case(case: Case, *without: str, **settings: int) -> Bench:
    """A bench one step past the limit; one start more than allowed is made beforehand."""
    if case.rule == "too many starts":
        settings = {"starts_max": 7, **settings}
    bench = case.bench(*without, **settings)
    push(bench, case)
    return bench


@every_case
def test_trips_at_its_hold_and_not_a_tick_before(case: Case) -> None:
    bench = past_case(case)
    row = case.row
    hold_ms = value_of(bench, row.hold)
    for held_ms in range(0, hold_ms, 100):
        assert bench.state == case.state, f"tripped after {held_ms} ms of {hold_ms}"
        assert not bench.said(case.rule)
        bench.tick()
    (said,) = bench.said(case.rule)
    limit = value_of(bench, row.limit)
    assert said["limit"] == limit
    beyond = said["value"] - limit if row.side == "above" else limit - said["value"]
    # A quality or a verdict is a number of its own: any but 0 is bad.
    assert 0 < beyond <= (5 if row.quantity.endswith("_bad") else case.kinds or case.step)
    if row.action in ("warn", "by hand"):
        assert bench.state == case.state
        return
    shown = row.then if row.action == "shorten" else row.action
    assert said["held_ms"] == hold_ms
    assert ACTIONS[said["action"]] == shown
    assert said["tries"] == (1 if row.action == "retry" else 0)
    assert bench.state == STATE_AFTER[shown]
    assert bench.level == 0
    if case.state in ("prime", "run"):
        assert bench.records(STOP)[-1]["cause"] == 16 + said["rule"]


@every_case
def test_without_the_row_the_same_push_does_nothing(case: Case) -> None:
    """So the tests above would notice a deleted row."""
    also = ("bad battery",) if case.rule == "swapped" else ()
    bench = past_case(case, case.rule, *also)
    # One tick late drops the relay by itself (relay.py), whatever the table says.
    bench.ticks(value_of(bench, case.row.hold) + 100)
    assert not bench.said(case.rule)
    assert bench.state == case.state


# High pressure holds for one tick: there is nothing to interrupt.
# The resistance that was learned at a start does not go away.
LEARNED = ("bad supply",)
LONG_HOLDS = [
    case
    for case in CASES
    if case.row.hold not in (0, "rating_hold_ms") and case.rule not in LEARNED
]


@pytest.mark.parametrize("case", LONG_HOLDS, ids=str)
def test_a_break_starts_the_hold_again(case: Case) -> None:
    hold_ms = value_of(Bench(), case.row.hold)
    bench = past_case(case)
    bench.ticks(max(hold_ms - 200, 0))
    knobs = {name: getattr(bench, name) for name in ("pressure_pa", "battery_mv", "load_on")}
    knobs |= {"pump_ma": bench.pump_ma, "frost_dc": bench.frost_dc, "raw": bench.raw}
    state = bench.state
    bench.calm()
    for _ in range(20):
        bench.tick()
        if not is_past(bench, case):
            break
    for name, value in knobs.items():
        setattr(bench, name, value)
    push(bench, case)
    assert bench.state == state
    assert not bench.said(case.rule)


LATE_RULES = [case for case in CASES if case.row.after_ms and case.reach is None]


@pytest.mark.parametrize("case", LATE_RULES, ids=str)
def test_looks_only_after_its_time(case: Case) -> None:
    """Past the limit from the first moment of the state, it trips at ``after`` and its hold."""
    bench = Bench(without=case.muted)
    bench.rest_mv = 11900 if case.rule == "low charge" else bench.rest_mv
    bench.go(case.state)
    entered_ms = bench.at_ms
    if case.rule == "low charge":
        bench.battery_mv = 11200
    elif case.rule == "no sag":
        bench.battery_mv = 12600
    elif case.rule == "line open":
        bench.pressure_pa = 100000
    else:
        bench.keeper.facts.left_mah = 2500
    bench.until(lambda: bool(bench.said(case.rule)), 30)
    hold_ms = value_of(bench, case.row.hold)
    assert bench.at_ms - entered_ms == case.row.after_ms + hold_ms


UNWATCHED = [
    (case, state)
    for case in {case.rule: case for case in CASES}.values()
    if case.rule in ("dry run", "line open", "brown-out", "frost", "bad battery", "no clock")
    for state in STATES[1:]
    if state not in case.row.states.split()
]


@pytest.mark.parametrize(("case", "state"), UNWATCHED, ids=str)
def test_is_not_armed_in_other_states(case: Case, state: str) -> None:
    bench = Bench(without=("no prime", *(case.muted if state != "flat" else ())))
    bench.go(state)
    case.past(bench)
    bench.ticks(1500)
    assert not bench.said(case.rule)


SENSED = [case for case in CASES if case.row.needs]


@pytest.mark.parametrize("case", SENSED, ids=str)
def test_without_its_sensor_it_cannot_trip(case: Case) -> None:
    gone = {sensor + "_fitted": 0 for sensor in case.row.needs.split()[0].split("/")}
    bench = case.bench(**{**gone, "prime_ms": 20000, "jump_count": 4095})
    try:
        push(bench, case)
    except AssertionError:
        pass  # What is not fitted cannot be seen past its limit.
    bench.ticks(3000)
    assert case.rule in bench.keeper.guard.unprotected
    assert not bench.said(case.rule)
