"""What the whole firmware answers to "status" in each of its states."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from keeper.crc import unsealed
from keeper.facts import CLOCK_NOT_SET
from keeper.records import BY_HAND
from keeper.relay import SECOND
from tests.device.desk import QUIET, Desk
from tests.device.line import Line
from tests.interpreters.board import BOARD

pytestmark = pytest.mark.interpreter
SETTINGS = {**BOARD, "set1_start_s": 22 * 3600, "set2_unit": 0, "set3_unit": 0}


@pytest.fixture
def desk(need: Callable[[str], Path], tmp_path: Path) -> Iterator[Desk]:
    with Desk(need("micropython"), tmp_path, SETTINGS) as made:
        made.ticks(30)
        yield made


def told(desk: Desk) -> dict[str, str]:
    """The lines of the answer by their first word."""
    return {first: rest for first, _, rest in (line.partition(" ") for line in desk.say("status"))}


def until(desk: Desk, state: str, ticks: int = 3000) -> dict[str, str]:
    """Let time pass until it is in a state; a look costs some ticks."""
    for _ in range(ticks // 5):
        desk.ticks(5)
        answer = told(desk)
        if answer["status"].startswith(f"state={state} "):
            return answer
    raise AssertionError(f"never in {state}: {answer}")


def a_set_is_due(desk: Desk) -> None:
    desk.make("set-clock 2026-07-09 21:59:58")
    desk.ticks(40)


def test_waiting_for_tonight(desk: Desk) -> None:
    answer = told(desk)
    assert answer["status"] == "state=idle relay=0 trouble=none"
    assert answer["why"] == "cause=none set=none at=none"
    assert answer["held"] == "until=none proof_s=0 rain_s=0 pause_s=0"
    assert answer["next"] == "set=1 at=2026-07-09_22:00:00 why=due"
    assert answer["progress"] == "set=none"
    left = int(answer["reads"].split("left_mah=")[1].split(" ")[0])
    # 3 minutes at 5.98 A (4 A, and 1.1 A a bar at 1.8 bar) are 299 mAh; some is kept in reserve.
    assert 0 < int(answer["nights"].removeprefix("left_tenths=")) <= left * 10 / 299


def test_a_reading_that_is_none_is_told_from_the_last_good_one(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where the battery is at home and the board hangs on its USB lead."""
    good = told(desk)["reads"]
    assert good.endswith(" pressure_bad=0 battery_bad=0")
    monkeypatch.setattr("tests.device.desk.QUIET", [3, 3, *QUIET[2:]])
    desk.ticks(30)
    gone = told(desk)["reads"]
    assert gone.endswith(" pressure_bad=1 battery_bad=1")
    assert gone.split(" ")[:2] == good.split(" ")[:2]


def test_a_hold_says_until_when(desk: Desk) -> None:
    desk.make("hold 2")
    desk.ticks(5)
    answer = told(desk)
    assert answer["held"].startswith("until=2026-07-11 ")
    assert answer["next"] == "set=1 at=2026-07-11_22:00:00 why=due"


def test_a_proof_holds_off_and_says_for_how_long(desk: Desk) -> None:
    a_set_is_due(desk)
    desk.make("stop")
    desk.make("clear")
    desk.make("set starts_max 9")
    assert desk.make("try 600") == "ok trying=1"
    desk.make("set-clock 2026-07-10 20:00:00")
    desk.ticks(20)
    answer = told(desk)
    assert 10700 < int(answer["held"].split("proof_s=")[1].split(" ")[0]) <= 10800
    assert answer["next"] == "set=1 at=2026-07-10_22:00:00 why=proof"
    assert answer["trial"].startswith("left_s=")


def test_rain_says_for_how_long_it_holds(desk: Desk) -> None:
    desk.make("set-clock 2026-07-09 18:00:00")
    desk.counts[3] = 1
    desk.ticks(590)
    assert "rain_s=0 " in told(desk)["held"], "a minute of it is rain"
    desk.ticks(60)
    answer = told(desk)
    assert "rain_s=21600 " in answer["held"]
    assert answer["next"] == "set=1 at=2026-07-09_22:00:00 why=rain"


def test_a_run_by_hand_and_how_far_it_is(desk: Desk) -> None:
    assert desk.make("run 4") == (
        "no run takes a whole number up to 3 minutes, with priming the longest run that run_max_s "
        "allows"
    )
    desk.make("run 2")
    assert told(desk)["status"].startswith("state=check relay=0")
    until(desk, "prime", 60)
    answer = until(desk, "run", 100)
    assert answer["progress"].startswith("set=0 run=1 runs=1 given_s=")
    assert answer["progress"].endswith(" target_s=120")
    desk.make("stop")
    desk.ticks(10)
    answer = told(desk)
    assert answer["status"].startswith("state=idle ")
    assert answer["why"].startswith("cause=by_hand set=0 at=2026-07-09_12:0")
    assert answer["next"] == "set=1 at=2026-07-09_22:00:00 why=due", "and the set stands"


def test_a_set_with_its_pause(desk: Desk) -> None:
    a_set_is_due(desk)
    answer = until(desk, "soak", 1500)
    assert answer["progress"].startswith("set=1 run=2 runs=2 given_s=90 ")
    assert answer["next"] == "set=1 at=2026-07-10_22:00:00 why=due"
    pause_s = int(answer["held"].split("pause_s=")[1])
    assert 0 < pause_s <= 20
    answer = until(desk, "idle", 3000)
    assert answer["why"].startswith("cause=complete set=1 at=2026-07-09_22:0")


def test_a_rest_and_then_the_stop_for_the_night(desk: Desk) -> None:
    a_set_is_due(desk)
    until(desk, "run", 200)
    desk.pressure_n = 1550  # Past dead_head_pa, short of the rating.
    answer = until(desk, "rest", 100)
    assert answer["why"].startswith("cause=dead_head set=1 at=2026-07-09_22:00:")
    assert 0 < int(answer["held"].split("pause_s=")[1]) <= 15
    answer = until(desk, "done", 3000)
    assert answer["why"].startswith("cause=dead_head set=1 at=2026-07-09_22:0")
    assert answer["next"] == "set=1 at=2026-07-10_22:00:00 why=due", "noon ends the stop"


def test_a_lockout_is_told_after_a_power_cut_too(
    need: Callable[[str], Path], tmp_path: Path
) -> None:
    micropython = need("micropython")
    with Desk(micropython, tmp_path, SETTINGS) as desk:
        desk.ticks(30)
        a_set_is_due(desk)
        until(desk, "run", 200)
        desk.pressure_n = 3000
        before = until(desk, "lockout", 100)
        assert before["why"].startswith("cause=high_pressure set=1 at=2026-07-09_22:00:")
        assert before["next"] == "set=none at=none why=lockout"
        desk.ticks(20)
    with Desk(micropython, tmp_path, None) as desk:
        desk.ticks(30)
        after = told(desk)
        assert after["status"].startswith("state=lockout ")
        assert after["why"] == before["why"]


def test_a_flat_battery(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """A battery of which little is left: of a fuller one such a fall would be the supply's."""
    desk.make("battery 14000")
    a_set_is_due(desk)
    until(desk, "run", 200)
    desk.ticks(100)  # The supply is learned with a battery that is still good.
    plant = desk._pump

    def flat() -> None:
        plant()
        desk.counts[0] = 2380 if desk.level else QUIET[0] - 300

    monkeypatch.setattr(desk, "_pump", flat)
    answer = until(desk, "flat", 600)
    assert answer["why"].startswith("cause=low_charge set=1 ")
    assert answer["next"] == "set=none at=none why=flat"
    assert answer["nights"] == "left_tenths=0"


def test_a_clock_that_is_not_known() -> None:
    """In this process: the stand-in's clock never forgets."""
    line = Line()
    facts = line.keeper.facts
    facts.clock_bad, facts.stop_cause, facts.stop_set = CLOCK_NOT_SET, BY_HAND, 0
    answer = [unsealed(text) for text in line.say("status")]
    assert "next set=none at=none why=no_clock" in answer
    assert "why cause=by_hand set=0 at=none" in answer


def test_without_a_set(need: Callable[[str], Path], tmp_path: Path) -> None:
    with Desk(need("micropython"), tmp_path, {**SETTINGS, "set1_unit": 0}) as desk:
        desk.ticks(30)
        assert told(desk)["next"] == "set=none at=none why=no_sets"


def test_without_settings(need: Callable[[str], Path], tmp_path: Path) -> None:
    with Desk(need("micropython"), tmp_path, None) as desk:
        desk.ticks(30)
        answer = told(desk)
        assert answer["status"] == "state=unset relay=0 trouble=no_settings"
        assert not set(answer) & {"reads", "why", "held", "next", "progress", "nights"}


def test_two_relays_say_which_is_trusted(need: Callable[[str], Path], tmp_path: Path) -> None:
    """A run with both; then the second does not open, and the next check finds it."""
    with Desk(need("micropython"), tmp_path, {**SETTINGS, "second_relay_fitted": 1}) as desk:
        assert told(desk)["relays"] == "closed=none stuck=none proved=none"
        a_set_is_due(desk)
        answer = until(desk, "run")
        assert answer["status"] == "state=run relay=1 trouble=none"
        assert answer["relays"] == "closed=both stuck=none proved=2026-07-09"
        desk.make("stop")
        desk.ticks(20)
        assert told(desk)["relays"].startswith("closed=none ")
        desk.stuck = SECOND
        desk.make("run 1")
        answer = until(desk, "lockout")
        assert answer["status"] == "state=lockout relay=0 trouble=none"
        assert answer["relays"] == "closed=none stuck=second proved=2026-07-09"
        assert answer["why"].startswith("cause=relay_stuck ")
