"""The board's clock: drift, loss, jumps and standing still."""

import pytest

from rillsim.boards.boardclock import BoardClock

DAY_TICKS = 864000
NOON_S = 43200


def clock(backed: bool = True, seed: int = 1) -> BoardClock:
    return BoardClock(backed, 20000, NOON_S, seed)


def second_of(made: BoardClock, n: int) -> int:
    day, second, known = made.reading(n)
    assert known
    return day * 86400 + second


def test_it_starts_with_the_right_time() -> None:
    assert clock().reading(0) == (20000, NOON_S, True)
    assert clock().reading(10) == (20000, NOON_S + 1, True)


def test_it_passes_midnight() -> None:
    made = clock()
    made.drift_ppm = 0.0
    assert made.reading(DAY_TICKS // 2 - 1) == (20000, 86399, True)
    assert made.reading(DAY_TICKS // 2) == (20001, 0, True)


@pytest.mark.parametrize("ppm", [-50.0, 20.0])
def test_it_drifts_by_parts_per_million(ppm: float) -> None:
    made = clock()
    made.drift_ppm = ppm
    week = 7 * DAY_TICKS
    off = second_of(made, week) - made.true_s(week)
    assert off == pytest.approx(7 * 86400 * ppm * 1e-6, abs=1.0)


def test_a_chip_drifts_less_than_a_board() -> None:
    backed = [abs(clock(True, seed).drift_ppm) for seed in range(200)]
    internal = [abs(clock(False, seed).drift_ppm) for seed in range(200)]
    assert sum(internal) > 5.0 * sum(backed) > 0.0


def test_only_a_backed_clock_survives_the_battery() -> None:
    backed, internal = clock(True), clock(False)
    for made in (backed, internal):
        made.power_lost()
    assert backed.reading(100)[2]
    assert internal.reading(100) == (0, 0, False)
    internal.set_to(100, 20000, 50000)
    assert internal.reading(110) == (20000, 50001, True)


def test_a_lost_clock_knows_that_it_is_lost() -> None:
    made = clock()
    made.lose()
    assert made.reading(5) == (0, 0, False)


def test_it_can_be_set_back() -> None:
    made = clock()
    before = second_of(made, 1000)
    made.set_back(1000, 7200.0)
    assert second_of(made, 1000) == before - 7200
    assert second_of(made, 1100) == before - 7190


def test_it_can_be_misread_for_a_while() -> None:
    made = clock()
    shown = second_of(made, 1000)
    made.misread_s = 40 * 86400.0
    assert second_of(made, 1000) == shown + 40 * 86400
    made.misread_s = 0.0
    assert second_of(made, 1000) == shown


def test_it_can_stand_still_and_go_on() -> None:
    made = clock()
    made.stop(1000)
    stood = second_of(made, 1000)
    assert second_of(made, 50000) == stood
    made.set_back(50000, 60.0)
    assert second_of(made, 60000) == stood - 60
    made.start(60000)
    assert second_of(made, 60010) == stood - 59
    made.start(60010)
    assert second_of(made, 60020) == stood - 58
