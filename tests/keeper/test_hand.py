"""What a person asks for: each wish is obeyed, in order, or refused."""

import pytest

from keeper import Keeper
from keeper.hand import BATTERY, CLEAR, HOLD, RUN, STOP, WISHES_MAX
from keeper.records import HAND

from .bench import Bench


def obeyed(bench: Bench) -> list[tuple[int, int]]:
    return [(record["command"], record["value"]) for record in bench.records(HAND)]


def test_wishes_of_one_tick_are_all_obeyed_in_their_order() -> None:
    bench = Bench()
    wishes = [(BATTERY, 20000), (HOLD, 2), (CLEAR, 0), (BATTERY, 30000)]
    assert all(bench.keeper.command(*wish) for wish in wishes)
    bench.ticks(1000)
    assert obeyed(bench) == wishes
    assert bench.keeper.nap_ms > 0, "and then it sleeps"


def test_one_too_many_is_refused() -> None:
    bench = Bench()
    for nights in range(WISHES_MAX):
        assert not bench.keeper.busy()
        assert bench.keeper.command(HOLD, nights)
    assert bench.keeper.busy()
    assert not bench.keeper.command(HOLD, 9)
    bench.tick()
    assert bench.keeper.command(HOLD, 9)
    bench.ticks(1000)
    assert [value for _, value in obeyed(bench)] == [0, 1, 2, 3, 9]


@pytest.mark.parametrize("runs", [0, 1, 2])
def test_a_stop_comes_first_and_takes_back_the_starts_before_it(runs: int) -> None:
    bench = Bench()
    for _ in range(runs):
        bench.keeper.command(RUN, 5)
    bench.keeper.command(HOLD, 2)
    bench.keeper.command(BATTERY, 20000)
    assert bench.keeper.command(STOP, 0)
    assert not bench.keeper.command(RUN, 5), "nor one after it"
    bench.ticks(1000)
    assert obeyed(bench) == [(STOP, 0), (HOLD, 2), (BATTERY, 20000)]
    assert bench.state == "idle"
    assert bench.keeper.command(RUN, 5)
    bench.ticks(1000)
    assert bench.state == "check"


def test_a_stop_is_taken_when_nothing_else_is() -> None:
    bench = Bench()
    bench.go("run")
    for _ in range(WISHES_MAX):
        bench.keeper.command(HOLD, 1)
    assert bench.keeper.command(STOP, 0)
    bench.tick()
    assert bench.level == 0


def test_without_settings_nothing_waits() -> None:
    keeper = Keeper(None)
    assert all(keeper.command(HOLD, 1) for _ in range(WISHES_MAX + 1))
    assert not keeper.busy()
