"""Settings on trial, and a board that is told to stand still: what a proof needs of it."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from device import seal
from tests.device.desk import Desk
from tests.interpreters.board import BOARD

pytestmark = pytest.mark.interpreter

KEY, VALUE = "starts_max", 17


@pytest.fixture
def desk(need: Callable[[str], Path], tmp_path: Path) -> Iterator[Desk]:
    with Desk(need("micropython"), tmp_path, BOARD) as made:
        made.ticks(10)
        yield made


def shown(desk: Desk) -> int:
    words = dict(line.split(" ")[1].split("=") for line in desk.say("settings")[:-1])
    return int(words[KEY])


def put_on_trial(desk: Desk, seconds: int) -> str:
    assert desk.make(f"set {KEY} {VALUE}").startswith("ok")
    return desk.make(f"try {seconds}")


def test_it_is_used_shown_and_given_up_again(desk: Desk) -> None:
    assert put_on_trial(desk, 600) == "ok trying=1"
    assert shown(desk) == VALUE
    assert 590 <= int(desk.status()["left_s"]) < 600
    assert desk.make("try 0") == "ok"
    assert shown(desk) == BOARD[KEY]
    assert "left_s" not in desk.status()


def test_it_ends_by_itself(desk: Desk) -> None:
    put_on_trial(desk, 20)
    desk.ticks(150)
    assert shown(desk) == VALUE
    desk.ticks(60)
    assert shown(desk) == BOARD[KEY]


def test_it_does_not_end_under_a_running_pump(desk: Desk) -> None:
    put_on_trial(desk, 10)
    desk.make("run 2")
    assert desk.ticks(120)[-1] == 1
    assert shown(desk) == VALUE
    desk.make("stop")
    desk.ticks(10)
    assert shown(desk) == BOARD[KEY]


@pytest.mark.parametrize("loss", ["power", "restart"])
def test_it_outlives_no_start(loss: str, desk: Desk) -> None:
    put_on_trial(desk, 600)
    if loss == "power":
        desk.board.power_back()
    else:
        assert desk.make("restart") == "ok"
    desk.ticks(20)
    assert shown(desk) == BOARD[KEY]


def test_nothing_is_kept_from_it(desk: Desk) -> None:
    """What is staged during a trial cannot carry the trial's values to flash."""
    put_on_trial(desk, 600)
    desk.make("set hand_minutes 9")
    assert desk.make("apply").startswith("no other settings are on trial")
    desk.make("try 0")
    desk.make("set hand_minutes 9")
    assert desk.make("apply") == "ok"
    desk.board.power_back()
    desk.ticks(5)
    assert shown(desk) == BOARD[KEY]


def test_wrong_values_are_refused_and_change_nothing(desk: Desk) -> None:
    desk.make("set starts_max 99")
    assert desk.make("try 60") == "no starts_max: 99 is outside 1 to 60 times"
    assert shown(desk) == BOARD[KEY]
    assert desk.make("try").startswith("no try takes")
    assert desk.make("try 3601").startswith("no try takes")
    assert desk.make("halt 2001").startswith("no halt takes")


def test_not_while_the_pump_runs(desk: Desk) -> None:
    desk.make("run 2")
    desk.ticks(60)
    assert put_on_trial(desk, 60).startswith("no not while the pump runs")


def test_nobody_has_come_and_no_power_was_lost(desk: Desk) -> None:
    """The log gains no start and no battery, a stop for the night stays, the charge too."""
    desk.make("run 2")
    desk.ticks(60)
    desk.make("stop")
    desk.ticks(250)
    before, status = desk.board.log, desk.status()
    put_on_trial(desk, 60)
    desk.ticks(20)
    desk.make("try 0")
    desk.ticks(20)
    after = desk.status()
    assert (after["state"], after["left_mah"]) == (status["state"], status["left_mah"])
    assert desk.board.log == before


def test_a_board_that_stands_still_drops_the_relay(desk: Desk) -> None:
    """The hardware's timer opens it after half a second; the rule then says why."""
    desk.make("run 2")
    desk.ticks(60)
    desk.put(seal.sealed(desk.say("seal halt 1500")[0]).encode() + b"\n")
    time.sleep(0.05)  # a terminal takes a moment to hand bytes over
    levels = desk.ticks(14)
    assert levels[0] == 1
    assert levels[-1] == 0
    assert levels.index(0) <= 7
    desk.ticks(10)
    assert " trip rule=20 " in "\n".join(desk.board.log)


def test_the_firmware_has_a_number_of_its_own(desk: Desk) -> None:
    files = desk.say("id")[1]
    assert files.startswith("files crc=")
    assert len(files) == len("files crc=") + 8


def test_no_set_starts_after_a_power_loss_in_a_proof(desk: Desk) -> None:
    """The trial is gone with the power, what holds sets off is not; "try 0" ends both."""

    def held_off_ms() -> int:
        return int(desk.status()["held_off_ms"])

    assert held_off_ms() == 0
    put_on_trial(desk, 600)
    desk.board.power_back()
    desk.ticks(20)
    assert shown(desk) == BOARD[KEY]
    assert 3 * 3600000 - 60000 < held_off_ms() <= 3 * 3600000
    assert desk.make("try 0") == "ok"
    assert held_off_ms() == 0
    desk.board.power_back()
    desk.ticks(20)
    assert held_off_ms() == 0


def test_new_settings_are_no_start_and_no_other_battery(desk: Desk) -> None:
    before = desk.board.log
    desk.make("set starts_max 18")
    assert desk.make("apply") == "ok"
    desk.ticks(20)
    assert shown(desk) == 18
    assert desk.board.log == before


def test_a_new_nozzle_is_learned_afresh_and_other_settings_leave_what_is_known(
    desk: Desk,
) -> None:
    desk.make("run 2")
    desk.ticks(900)
    desk.make("stop")
    desk.ticks(20)
    known = desk.status()
    assert int(known["base_pa"]) > 0
    desk.make("set starts_max 18")
    desk.make("apply")
    desk.ticks(20)
    assert desk.status()["base_pa"] == known["base_pa"]
    assert desk.status()["resistance_mohm"] == known["resistance_mohm"] != "0"
    desk.make(f"set flow_ml_min {BOARD['flow_ml_min'] - 1000}")
    desk.make("apply")
    desk.ticks(20)
    assert desk.status()["base_pa"] == "0"
    assert desk.status()["resistance_mohm"] == known["resistance_mohm"]
    desk.board.power_back()
    desk.ticks(20)
    assert desk.status()["base_pa"] == "0", "flash has let go of it too"
