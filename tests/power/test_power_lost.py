"""The supply is lost at each tick of a start and of a trip; the whole firmware, on a desk."""

from collections.abc import Callable
from pathlib import Path

import pytest

from keeper import lines
from tests.device.desk import Desk
from tests.interpreters.board import BOARD

pytestmark = pytest.mark.interpreter

BUTTON = 2
TOO_HIGH_COUNT = 2400
"""Some 600 kPa on the walks' transducer: over the rating of 413 kPa."""
STARTED = 40
CUTS = range(0, STARTED, 2)


@pytest.fixture
def desk(need: Callable[[str], Path], tmp_path: Path) -> Desk:
    # More starts within the hour than any board would be allowed: each cut costs one.
    return Desk(need("micropython"), tmp_path, {**BOARD, "starts_max": 60})


def press(desk: Desk) -> None:
    desk.ticks(5)
    desk.counts[3] = BUTTON
    desk.ticks(3)
    desk.counts[3] = 0


def lose_power(desk: Desk) -> None:
    desk.board.power_back()
    desk.level = 0


def test_no_start_survives_a_loss_of_power(desk: Desk) -> None:
    """Cut between the press of the button and half a second into the run, then come back: the
    relay is open, nothing starts by itself, and no number of the log is used twice."""
    closed = locked = 0
    with desk:
        for cut in CUTS:
            press(desk)
            closed += any(desk.ticks(cut))
            lose_power(desk)
            assert desk.ticks(30) == [0] * 30, cut
            state = desk.status()["state"]
            assert state in ("idle", "done", "lockout"), cut
            locked += state == "lockout"
            if state != "idle":
                desk.make("clear")
                desk.ticks(3)
        assert closed > 3, "some of the cuts fell into a run"
        assert locked > 3, "each second start in a row that the power broke off locks out"
        numbers = [lines.parse_line(line)[0] for line in desk.board.log]
        assert numbers == sorted(set(numbers))
        assert sum(" boot " in line for line in desk.board.log) == len(CUTS) + 1


def test_a_lockout_outlives_any_loss_of_power(desk: Desk) -> None:
    """From the tick in which the relay has opened on it; cut at each of the ticks after."""
    with desk:
        for cut in range(4):
            press(desk)
            for _ in range(STARTED):
                if desk.ticks(1)[0]:
                    break
            desk.ticks(3)
            desk.pressure_n = TOO_HIGH_COUNT
            while desk.ticks(1)[0]:
                pass
            desk.pressure_n = 0
            desk.ticks(cut)
            lose_power(desk)
            assert desk.status()["state"] == "lockout", cut
            desk.counts[3] = BUTTON
            desk.ticks(3)
            desk.counts[3] = 0
            assert not any(desk.ticks(40)), "a short press does not start a locked board"
            assert desk.make("clear") == "ok asked clear"
            desk.ticks(15)
            assert desk.status()["state"] == "idle"
