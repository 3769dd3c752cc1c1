"""Power that goes in mid-run: once in a row is told, twice locks out (K28)."""

import pytest

from keeper import memory
from keeper.records import BOOT, POWER_BACK, POWER_BROKE_RUN

from .bench import Bench


def causes(bench: Bench) -> list[int]:
    return [record["cause"] for record in bench.records(BOOT)]


def cut(bench: Bench, state: str) -> None:
    bench.go(state)
    bench.reboot()


@pytest.mark.parametrize("state", ["check", "prime", "run"])
def test_a_run_that_was_broken_off_is_told_and_goes_on(state: str) -> None:
    bench = Bench()
    cut(bench, state)
    assert causes(bench)[-1] == POWER_BROKE_RUN
    assert bench.state == "idle"
    bench.calm()
    bench.go("run")


@pytest.mark.parametrize("state", ["idle", "soak", "rest", "done", "flat"])
def test_power_that_goes_while_the_pump_stands_breaks_nothing_off(state: str) -> None:
    bench = Bench()
    cut(bench, state)
    assert causes(bench) == [bench.keeper.cause] * 2
    assert bench.keeper.facts.broken_runs == 0
    assert not bench.said("runs broken off")


def test_the_cause_of_a_start_is_else_what_the_device_says() -> None:
    bench = Bench()
    bench.keeper.facts.judged = 0
    bench.keeper.cause = POWER_BACK
    bench.sleep(60)
    assert causes(bench)[-1] == POWER_BACK


def test_two_one_after_the_other_lock_out_until_a_person_has_looked() -> None:
    bench = Bench()
    cut(bench, "run")
    cut(bench, "run")
    assert bench.state == "lockout"
    (said,) = bench.said("runs broken off")
    assert (said["value"], said["limit"]) == (2, 1)
    bench.reboot()
    assert bench.state == "lockout"
    bench.clear()
    bench.sleep(120)
    assert bench.state == "idle"
    cut(bench, "run")
    assert bench.state == "idle", "the count begins anew"


@pytest.mark.parametrize("between", ["soak", "done"])
def test_a_run_that_is_seen_to_its_end_lies_between(between: str) -> None:
    bench = Bench()
    for _ in range(3):
        cut(bench, "run")
        bench.go(between)
        bench.reboot()
    assert not bench.said("runs broken off")


def test_a_check_that_refuses_is_no_run() -> None:
    bench = Bench()
    cut(bench, "run")
    bench.frost_dc = 0
    bench.go("check")
    bench.until("done")
    bench.reboot()
    assert causes(bench)[-1] != POWER_BROKE_RUN
    assert bench.keeper.facts.broken_runs == 1, "nor does it make good for the one before"


def test_a_lockout_that_was_lost_with_the_power_costs_one_start_more() -> None:
    """What is on flash is from before the trip each time: the cut comes first."""
    bench = Bench()
    starts = 0
    while bench.state != "lockout":
        bench.go("run")
        starts += 1
        kept = memory.save(bench.keeper)
        bench.pressure_pa = 420000
        bench.until("lockout")
        bench.keeper = bench._board()
        memory.load(bench.keeper, kept)
        bench.level = 0
        bench.calm()
        bench.ticks(500)
    assert starts == 2
    assert bench.said("runs broken off")
