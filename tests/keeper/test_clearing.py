"""What ends each stop, and what does not: retries, noon, a hand, a charge, or the cause itself."""

import pytest

from keeper.hand import CLOCK
from keeper.records import SET, SKIP, START, WARN
from keeper.rules import ACTIONS, DRY_RUN

from .bench import RULE_NAMES, Bench
from .cases import CASES, Case
from .table import STATE_AFTER
from .test_rules import past_case, push, value_of

FIRST_CASES = list({case.rule: case for case in reversed(CASES)}.values())[::-1]
STOPS = [case for case in FIRST_CASES if case.row.final in STATE_AFTER]
RETRIES = [case for case in FIRST_CASES if case.row.action == "retry"]


def stopped(case: Case) -> Bench:
    """The rule has tripped as often as it may, and all knobs are let go."""
    bench = past_case(case)
    wanted = STATE_AFTER[case.row.final]
    limit_ms = bench.at_ms + 7200000
    while bench.state != wanted:
        assert bench.at_ms < limit_ms
        if bench.state == "rest":
            bench.calm()
            case.approach(bench)
            push(bench, case)
        bench.tick()
    bench.calm()
    return bench


@pytest.mark.parametrize("case", RETRIES, ids=str)
def test_retries_are_counted_and_run_out(case: Case) -> None:
    bench = stopped(case)
    tries_max = value_of(bench, case.row.tries)
    trips = bench.said(case.rule)
    assert [trip["tries"] for trip in trips] == [*range(1, tries_max + 1), tries_max]
    actions = [ACTIONS[trip["action"]] for trip in trips]
    assert actions == ["retry"] * tries_max + [case.row.then]
    rests = [row for row in bench.log if row[4] == START]
    assert len(rests) == tries_max + 1


@pytest.mark.parametrize("tries", [0, 1, 5])
def test_as_many_tries_as_the_setting_says(tries: int) -> None:
    bench = Bench(dead_head_tries=tries, starts_max=20)
    bench.go("run")
    for _ in range(tries):
        bench.pressure_pa = 300000
        bench.until("rest")
        bench.calm()
        bench.until("run")
    bench.pressure_pa = 300000
    bench.until("done")


def test_dry_runs_and_failed_primes_are_counted_together() -> None:
    bench = Bench(prime_ms=9000)
    bench.go("run")
    bench.pressure_pa = 0
    bench.until("rest")
    bench.until("lockout", 1200)
    assert [trip["tries"] for trip in bench.said("dry run")] == [1]
    assert [trip["tries"] for trip in bench.said("no prime")] == [2, 2]


def test_tries_survive_a_power_cut() -> None:
    bench = Bench()
    bench.go("run")
    bench.pressure_pa = 0
    bench.until("rest")
    bench.reboot()
    assert bench.keeper.guard.tries[DRY_RUN] == 1


def starts_again(bench: Bench) -> bool:
    """Whether the button starts a run that reaches pressure."""
    bench.go("run")
    return bench.state == "run"


def by_name(cleared: str, *finals: str) -> list[Case]:
    return [c for c in STOPS if c.row.cleared == cleared and c.row.final in finals]


@pytest.mark.parametrize("case", by_name("noon", "night", "refuse"), ids=str)
def test_night_stop_lasts_until_noon(case: Case) -> None:
    bench = stopped(case)
    bench.reboot()
    assert bench.state == "done", "pulling the battery clears nothing"
    bench.rest_mv = 12800
    bench.sleep(3600)
    assert bench.state == "done", "a high voltage clears nothing"
    bench.new_battery()
    assert bench.state == "done"
    bench.sleep_until("11:59:59")
    assert bench.state == "done"
    bench.sleep(2)
    assert bench.state == "idle"
    assert not any(bench.keeper.guard.tries)
    assert starts_again(bench)


@pytest.mark.parametrize("case", by_name("noon", "night"), ids=str)
def test_a_person_ends_a_night_stop_earlier(case: Case) -> None:
    bench = stopped(case)
    bench.clear()
    assert bench.state == "idle"
    assert not any(bench.keeper.guard.tries)


@pytest.mark.parametrize("case", by_name("hand", "lock"), ids=str)
def test_lockout_lasts_until_a_person_clears_it(case: Case) -> None:
    bench = stopped(case)
    bench.reboot()
    assert bench.state == "lockout"
    bench.rest_mv = 12800
    bench.sleep(2 * 86400)
    assert bench.state == "lockout", "no noon and no voltage clears it"
    bench.new_battery()
    bench.keeper.command(CLOCK, 0)
    bench.tick()
    bench.button = 1
    bench.ticks(500)
    bench.button = 0
    bench.ticks(500)
    assert bench.state == "lockout", "a short press does not clear it"
    assert not bench.keeper.locked() or bench.level == 0
    assert bench.keeper.locked()
    bench.button = 1
    bench.ticks(3200)
    bench.button = 0
    bench.ticks(300)
    assert bench.state == "idle"
    assert not any(bench.keeper.guard.tries)
    assert not bench.keeper.locked()


def test_flat_lasts_until_the_battery_is_charged() -> None:
    bench = Bench()
    bench.go("flat")
    bench.reboot()
    assert bench.state == "flat", "the same voltage after a power cycle clears nothing"
    bench.sleep(2 * 86400)
    assert bench.state == "flat", "noon clears nothing"
    for rest_mv in range(12250, 12901, 50):
        bench.rest_mv = rest_mv
        bench.sleep(3600)
    assert bench.state == "flat", "a battery that comes up slowly was only left alone"
    bench.rest_mv = 12955
    bench.sleep(55)
    assert bench.state == "flat", "not yet long enough"
    bench.sleep(180)
    assert bench.state == "idle"


def test_a_voltage_that_falls_back_starts_the_hold_again() -> None:
    bench = Bench()
    bench.go("flat")
    bench.sleep(120)
    bench.rest_mv = 13200
    bench.sleep(70)
    bench.rest_mv = 12000
    bench.sleep(70)
    bench.rest_mv = 13200
    bench.ticks(10000)
    assert bench.state == "flat"


def test_a_fresh_battery_at_power_up_ends_flat_at_once() -> None:
    bench = Bench()
    bench.go("flat")
    bench.rest_mv = 12700
    bench.reboot()
    assert bench.state == "idle"
    assert bench.keeper.facts.left_mah == bench.settings.capacity_mah


def test_a_bad_channel_is_no_fresh_battery() -> None:
    bench = Bench()
    bench.go("flat")
    bench.raw = {"battery": 4000}
    bench.reboot()
    bench.sleep(600)
    assert bench.state == "flat"


def test_a_person_cannot_start_or_clear_an_empty_battery() -> None:
    bench = Bench()
    bench.go("flat")
    bench.keeper.facts.left_mah = 100
    bench.clear()
    assert bench.state == "flat"
    assert bench.records(WARN)[-1]["rule"] == RULE_NAMES.index("charge reserve")
    bench.keeper.facts.left_mah = 20000
    bench.clear()
    assert bench.state == "idle"


def test_a_person_who_brings_a_battery_ends_flat() -> None:
    bench = Bench()
    bench.go("flat")
    bench.new_battery()
    assert bench.state == "idle"


@pytest.mark.parametrize("case", by_name("charge", "night"), ids=str)
def test_what_only_a_charge_cures_stops_every_night_until_then(case: Case) -> None:
    bench = stopped(case)
    left_mah = bench.keeper.facts.left_mah
    for night in (2, 3):
        bench.sleep_until("12:00:30")
        assert bench.state == "idle"
        assert bench.keeper.facts.left_mah <= left_mah
        bench.sleep_until("22:05:00")
        assert bench.state == "done"
        assert len(bench.said(case.rule)) >= night
    bench.new_battery()
    bench.sleep_until("12:00:30")
    bench.sleep_until("22:05:00")
    assert bench.state == "run"


@pytest.mark.parametrize("state", ["idle", "done"])
def test_a_clock_that_is_lost_starts_nothing_and_clears_itself(state: str) -> None:
    bench = Bench()
    bench.go(state)
    bench.clock_ok = 0
    bench.sleep_until("22:05:00")
    assert not bench.records(SET) or state == "done"
    assert [warn["value"] for warn in bench.said("no clock")] == [1]
    if state == "idle":
        bench.clock_ok = 1
        bench.sleep(5 * 60)
        assert bench.state in ("check", "prime", "run")
    else:
        assert bench.state == "done"


def test_without_a_clock_the_button_works() -> None:
    bench = Bench()
    bench.clock_ok = 0
    bench.sleep(120)
    bench.go("run")
    assert bench.level == 1


def test_without_the_row_a_lost_clock_would_start_a_set() -> None:
    bench = Bench(without=("no clock",))
    bench.sleep_until("21:00:00")
    bench.clock_ok = 0
    bench.sleep_until("22:05:00")
    assert bench.records(SET)


WARNINGS = [case for case in FIRST_CASES if case.row.final == "warn" and case.state == "run"]


@pytest.mark.no_cover
@pytest.mark.parametrize("case", WARNINGS, ids=str)
def test_a_warning_is_said_once_a_night_and_stops_nothing(case: Case) -> None:
    bench = past_case(case)
    bench.until("idle", 600)
    bench.go("run")
    bench.ticks(65000)
    assert len(bench.said(case.rule)) == 1
    assert bench.state == "run"
    bench.sleep_until("12:00:30")
    assert not any(bench.keeper.guard.said)


def test_short_charge_cuts_the_set_instead_of_stopping() -> None:
    """Half an hour would take 6 Ah; 3 Ah above the reserve are a quarter of an hour."""
    bench = Bench(clock="21:59:00")
    bench.keeper.facts.left_mah = 5000
    bench.until("idle")
    bench.until(lambda: bool(bench.level), 200)
    (short,) = (dict(row) for row in bench.records(12))
    assert short["planned_s"] == 1800
    assert 895 <= short["given_s"] <= 900
    bench.until("idle", 1200)
    given = bench.records(13)[-1]
    assert given["run_s"] == short["given_s"]
    assert not bench.records(SKIP)


def test_the_most_severe_of_several_wins() -> None:
    bench = Bench(dead_head_hold_ms=100)
    bench.go("run")
    bench.pressure_pa = 420000
    bench.until(lambda: bench.state != "run")
    assert bench.state == "lockout"
    assert not bench.said("dead head")
