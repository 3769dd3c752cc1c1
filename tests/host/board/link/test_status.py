"""What `status` and `watch` say of a board: in words, as JSON, and by the status they leave."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from device.status import NEXT_WHY
from keeper import plan, rules
from keeper.cycle import DONE, FLAT, IDLE, LOCKOUT, REST, RUN, SOAK
from keeper.quantities import BATTERY_BAD, CURRENT_BAD, CURRENT_MA, METER_BAD
from keeper.records import BY_HAND, CAUSE_RULE, CAUSES, COMPLETE, TRIPPED
from keeper.relay import SECOND
from keeper.second_relay import SecondRelay
from keeper.sense import ABOVE_BAND, QUALITIES
from rillkeeper.board.link import ports, status_words
from rillkeeper.cli import cli
from rillkeeper.runlog.rule_text import CAUSE_WORDS, RULES
from tests.device.line import Part
from tests.host.board.link.fakeboard import FakeBoard

DAY = 20643
"""2026-07-09, the night of the fake board's clock: it is 22:30."""
NEW_LINES = (b"why ", b"held ", b"next ", b"progress ", b"nights ")


def older(answer: bytes) -> Iterator[bytes]:
    """What a firmware answers that knows nothing of the new lines."""
    lines = answer.splitlines(keepends=True)
    yield b"".join(line for line in lines if not line.startswith(NEW_LINES))


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr(ports.list_ports, "comports", list)


@pytest.fixture
def board() -> Iterator[FakeBoard]:
    with FakeBoard(records=3) as made:
        keeper = made.line.keeper
        keeper.facts.night = DAY
        keeper.clock.day, keeper.clock.second, keeper.clock.known = DAY, 81000, True
        yield made


def say(board: FakeBoard, *args: str) -> Result:
    return CliRunner().invoke(cli, [*args, "--port", board.path], prog_name="rillkeeper")


def document(board: FakeBoard) -> dict[str, object]:
    found: dict[str, object] = json.loads(say(board, "status", "--json").stdout)
    return found


def stop(board: FakeBoard, state: int, cause: int, number: int = 1) -> None:
    """It has stopped at 22:12."""
    keeper = board.line.keeper
    keeper.state = state
    facts = keeper.facts
    facts.stop_cause, facts.stop_set, facts.stop_day, facts.stop_second = cause, number, DAY, 79920


def rule(name: str) -> int:
    return CAUSE_RULE + [row[rules.NAME] for row in rules.RULES].index(name)


def rows(result: Result) -> dict[str, str]:
    """The table as name and text; a text that goes on over lines is one."""
    found: dict[str, str] = {}
    name = ""
    for line in result.stdout.splitlines()[1:]:
        first, rest = line[:13].strip(), line[13:].strip()
        name = first or name
        found[name] = f"{found[name]} {rest}" if name in found else rest
    return found


@pytest.mark.parametrize(
    ("state", "cause", "status", "said"),
    [
        (IDLE, COMPLETE, 0, ""),
        (REST, rule("dead head"), 0, ""),
        (DONE, BY_HAND, 0, ""),
        (DONE, rule("frost"), 0, ""),
        (DONE, rule("dead head"), 4, "stopped for the night, until noon: line shut. Is the tap"),
        (DONE, rule("duty"), 4, "motor must cool"),
        (DONE, rule("bad frost"), 4, "temperature reading bad"),
        (DONE, TRIPPED, 4, "the readings would not settle"),
        (DONE, -1, 0, ""),
        (FLAT, rule("low charge"), 4, "battery flat. Take the battery home"),
        (FLAT, -1, 4, "stopped until the battery is charged"),
        (LOCKOUT, rule("dry run"), 4, "rillkeeper clear, or hold its button for three seconds; "),
        (LOCKOUT, rule("dry run"), 4, "stopped by: pump ran dry. Is the strainer under water"),
        (LOCKOUT, -1, 4, "locked out"),
    ],
)
def test_status_4_calls_a_person(
    board: FakeBoard, state: int, cause: int, status: int, said: str
) -> None:
    stop(board, state, cause)
    for command in (["status"], ["status", "--json"], ["watch", "--count", "1"]):
        result = say(board, *command)
        assert result.exit_code == status, command
        assert said in " ".join(result.stderr.split())
        assert bool(result.stderr) == bool(status)
    assert (document(board)["calls_a_person"] is not None) == bool(status)


def test_the_last_good_reading_is_told_as_that(board: FakeBoard) -> None:
    board.line.keeper.q[BATTERY_BAD] = QUALITIES.index("below band")
    told = rows(say(board, "status"))
    assert "V when last good; now the channel is below all that is possible" in told["battery"]
    assert "when last good" not in told["outlet"]
    found = document(board)
    assert (found["pressure_bad"], found["battery_bad"]) == (0, 1)


def test_why_it_stands_still_and_what_to_look_at(board: FakeBoard) -> None:
    stop(board, DONE, rule("dead head"))
    told = rows(say(board, "status"))
    assert told["does"] == "stopped for the night, until noon"
    assert told["because of"] == "line shut (set 1), 2026-07-09 22:12"
    assert told["look at"].startswith("Is the tap at the sprinkler open?")
    assert told["next"] == "set 1, 2026-07-10 22:00"
    line = say(board, "watch", "--count", "1").stdout
    assert "until noon, since: line shut (set 1), 2026-07-09 22:12, relay open, " in line
    assert document(board)["last_stop"] == {
        "cause": "dead head",
        "set": 1,
        "at": "2026-07-09T22:12:00",
    }


def test_which_of_two_relays_is_trusted(board: FakeBoard) -> None:
    assert "two relays" not in rows(say(board, "status"))
    assert document(board)["two_relays"] is None
    keeper = board.line.keeper
    keeper.second = SecondRelay(keeper)
    assert rows(say(board, "status"))["two relays"] == "not proved yet"
    keeper.facts.proved_day = DAY
    assert rows(say(board, "status"))["two relays"] == "both seen to open on 2026-07-09"
    keeper.facts.stuck_relay = SECOND
    told = rows(say(board, "status"))["two relays"]
    assert told == "the second does not open: the first alone stops the pump"
    assert document(board)["two_relays"] == {"stuck": "second", "proved": "2026-07-09"}


def test_what_the_flow_meter_has_counted(board: FakeBoard) -> None:
    assert "flow meter" not in rows(say(board, "status"))
    assert document(board)["meter"] is None
    keeper = board.line.keeper
    keeper.settings.flow_fitted = 1
    board.line.board.inputs.flow = (Part(total=812),)
    assert rows(say(board, "status"))["flow meter"] == "812 pulses since power-up"
    assert document(board)["meter"] == {"pulses": 812, "stands_still": False}
    keeper.q[METER_BAD] = 1
    told = rows(say(board, "status"))["flow meter"]
    assert told == "812 pulses since power-up, and it stands still"
    assert document(board)["meter"] == {"pulses": 812, "stands_still": True}


def test_what_the_current_sensor_reads(board: FakeBoard) -> None:
    keeper = board.line.keeper
    keeper.settings.current_fitted = 0
    assert "pump" not in rows(say(board, "status"))
    assert document(board)["current_ma"] is None
    keeper.settings.current_fitted = 1
    keeper.q[CURRENT_MA] = 6240
    assert rows(say(board, "status"))["pump"] == "6.2 A"
    assert document(board)["current_ma"] == 6240
    keeper.q[CURRENT_BAD] = ABOVE_BAND
    told = rows(say(board, "status"))["pump"]
    assert told.startswith("6.2 A when last good; now the channel is ")
    assert document(board)["current_bad"] == ABOVE_BAND


@pytest.mark.parametrize(("closed", "relay"), [(0, 0), (1, 0), (2, 0), (3, 1)])
def test_with_two_relays_the_pump_is_on_when_both_are_closed(
    board: FakeBoard, closed: int, relay: int
) -> None:
    board.line.keeper.second = SecondRelay(board.line.keeper)
    board.line.board.relay.level = closed
    assert document(board)["relay"] == relay


def test_the_last_stop_of_a_board_that_waits(board: FakeBoard) -> None:
    assert rows(say(board, "status"))["last stop"].startswith("nothing has stopped yet")
    stop(board, IDLE, BY_HAND, plan.HAND)
    assert rows(say(board, "status"))["last stop"] == "by hand (run by hand), 2026-07-09 22:12"
    board.line.keeper.facts.stop_day = -1
    assert rows(say(board, "status"))["last stop"].endswith(", the time is not known")


def test_what_holds_sets_off_and_until_when(board: FakeBoard) -> None:
    keeper = board.line.keeper
    assert "held off" not in rows(say(board, "status"))
    keeper.facts.hold_until_night = DAY + 2
    told = rows(say(board, "status"))
    assert told["held off"] == "on hold, as asked: no set before the evening of 2026-07-11"
    assert told["next"] == "set 1, 2026-07-11 22:00"
    keeper.facts.hold_until_night = -1
    keeper.facts.held_off_ms = 840000
    told = rows(say(board, "status"))
    assert told["held off"] == "a proof: no set for 14 min"
    assert told["next"] == "set 1, 2026-07-09 22:00, but a proof holds sets off"
    keeper.facts.held_off_ms = 0
    keeper.facts.dry_ms = 3600000
    told = rows(say(board, "status"))
    assert told["held off"] == "rain: a set due within 5 h is left out"
    assert told["next"].endswith(", but it will be left out: it has rained")
    assert document(board)["held"] == {"until": None, "proof_s": 0, "rain_s": 18000, "pause_s": 0}


def test_a_set_that_waits_for_the_motor(board: FakeBoard) -> None:
    stop(board, IDLE, COMPLETE, plan.HAND)
    keeper = board.line.keeper
    keeper.journal.day, keeper.journal.second = DAY, 81000
    keeper.facts.heat_ms = 399000
    told = rows(say(board, "status"))
    assert told["next"].endswith("22:00, when the pump has rested from the run by hand")


def test_how_far_the_set_is(board: FakeBoard) -> None:
    sets = board.line.keeper.plan
    board.line.keeper.state = RUN
    sets.take_up(1, DAY)
    sets.deliver(60, 12000)
    told = rows(say(board, "status"))
    assert told["gives"] == "set 1, run 1 of 2: 60 s of 3 min, 12 L"
    assert told["next"].startswith("set 2, ")
    assert document(board)["progress"] == {
        "set": 1,
        "run": 1,
        "runs": 2,
        "given_s": 60,
        "given_ml": 12000,
        "target_s": 180,
        "target_ml": None,
    }
    sets.take_up(2, DAY)
    sets.deliver(40, 8000)
    assert rows(say(board, "status"))["gives"] == "set 2: 8 L of 16 L, in 40 s"
    sets.take_up(plan.HAND, DAY)
    assert rows(say(board, "status"))["gives"] == "run by hand: 0 s of 15 min, 0 L"


@pytest.mark.parametrize("state", [SOAK, REST])
def test_how_long_a_pause_still_is(board: FakeBoard, state: int) -> None:
    keeper = board.line.keeper
    keeper.state, keeper.waiting.pause_ms, keeper.quiet_ms = state, 50000, 8000
    assert rows(say(board, "status"))["does"].endswith(", 42 s still")


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"state": LOCKOUT}, "none until you have looked"),
        ({"state": FLAT}, "none until the battery is charged"),
        ({"clock_bad": 1}, "none until the clock is right"),
        ({"units": [0, 0, 0, 0]}, "none: the board's settings have no set"),
    ],
)
def test_why_no_set_comes(board: FakeBoard, change: dict[str, object], why: str) -> None:
    keeper = board.line.keeper
    for name, value in change.items():
        holder = {"state": keeper, "clock_bad": keeper.facts, "units": keeper.plan}[name]
        setattr(holder, name, value)
    assert rows(say(board, "status"))["next"].startswith(why)
    following = document(board)["next_set"]
    assert isinstance(following, dict)
    assert (following["set"], following["at"]) == (None, None)


def test_a_trial_of_a_proof_is_not_called_the_boards_settings(board: FakeBoard) -> None:
    board.line.keeper.plan.units = [0, 0, 0, 0]
    board.line.keeper.hold_off(60000)
    assert rows(say(board, "status"))["next"] == "none while a proof goes on"


def test_nights_left_are_the_boards_own_figure(board: FakeBoard) -> None:
    board.line.keeper.waiting.nights_left_tenths = lambda: 31
    assert rows(say(board, "status"))["nights left"] == "3.1 at least, by the board's own count"
    assert document(board)["nights_left"] == 3.1


def test_an_older_firmware_is_read_and_what_it_does_not_say_is_said(board: FakeBoard) -> None:
    board.cable = older
    board.line.keeper.state = DONE
    result = say(board, "status")
    assert result.exit_code == 0, "it does not say why"
    told = rows(result)
    assert told["why, next"].startswith("this board's firmware is older and does not say")
    assert not {"because of", "next", "nights left"} & set(told)
    found = document(board)
    assert [found[name] for name in ("last_stop", "held", "next_set", "progress")] == [None] * 4
    assert found["nights_left"] is None
    assert say(board, "watch", "--count", "1").exit_code == 0


def test_every_word_of_the_board_has_its_words() -> None:
    assert set(NEXT_WHY) == {*status_words.NO_NEXT, *status_words.IN_THE_WAY}
    assert set(CAUSES) == set(CAUSE_WORDS)
    for row in rules.RULES:
        assert status_words.cause_words(row[rules.NAME]) == RULES[row[rules.NAME]].short
