"""A flash that stalls the loop as long as the worst one seen: how late a tick and a trip come."""

import pytest

from device.board import Board
from tests.device import slowflash
from tests.device.slowflash import HOLDS_MS, STALL_MS, TICK_MS_MAX


def test_no_tick_is_later_than_one_change_of_a_file() -> None:
    """The page is full on the way, and another gives way to the next."""
    slowest_ms, changes, oldest = slowflash.slowest_ms(1750)
    assert STALL_MS <= slowest_ms <= TICK_MS_MAX
    assert changes > 2 * 1750 // 60
    assert oldest > 0


@pytest.mark.parametrize("fault", HOLDS_MS)
def test_a_trip_is_in_time(fault: str) -> None:
    """From the reading to the relay: the hold, and what a tick may be late by."""
    took_ms = slowflash.trips_ms(fault, range(58, 63))
    assert max(took_ms) <= HOLDS_MS[fault] + TICK_MS_MAX


def test_all_at_once_would_be_late(monkeypatch: pytest.MonkeyPatch) -> None:
    def write_all(board: Board) -> None:
        board.log.flush()
        board._remember()

    monkeypatch.setattr(Board, "_write_one", write_all)
    assert slowflash.slowest_ms(1750)[0] > TICK_MS_MAX
