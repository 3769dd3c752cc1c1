"""What the board answers to "say": true, plain, and no wider than a phone's terminal."""

from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

from device import say, status
from keeper import plan
from keeper.crc import unsealed
from keeper.cycle import STATES
from keeper.records import CAUSE_RULE, CAUSES
from keeper.rules import NAME, RULES, number_of
from rillkeeper.pages.plot_card import WORD
from rillkeeper.runlog import rule_text
from tests.device.desk import Desk
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

SETTINGS = {**BOARD, "set1_start_s": 22 * 3600, "set2_unit": 0, "set3_unit": 0}
STOPS = ("complete", "by hand", "rain", "tripped", "noon")
"""Causes with which something that runs can end (keeper/waiting.py, `_note_stop`)."""
PHONE = 40
"""Columns of a terminal on a phone that is held upright (common practice, no source)."""
DAY = 20644
MORNING_S = 7 * 3600


# By itself: every state, every stop, every reason.


def board_in(state: str, cause: int = -1, **facts: int) -> SimpleNamespace:
    """As much of a board as is told of."""
    known = {
        "stop_cause": cause,
        "stop_day": DAY - 1,
        "stop_second": 82260,
        "night_run_s": 3590,
        "night_ml": 1_014_300,
        **facts,
    }
    keeper = SimpleNamespace(
        state=STATES.index(state),
        facts=SimpleNamespace(**known),
        plan=SimpleNamespace(current=plan.NONE, given_s=[0] * 4, given_ml=[0] * 4),
        settings=SimpleNamespace(pressure_fitted=1),
        waiting=SimpleNamespace(nights_left_tenths=lambda: 18),
    )
    return SimpleNamespace(
        keeper=keeper,
        trouble="settings cannot be used: starts_max: 0 is outside 1 to 20",
        clock=SimpleNamespace(day=DAY, second=MORNING_S, ok=True),
        log=SimpleNamespace(next_seq=0, lines_from=lambda seq, count: []),
        pumping_soon=lambda: False,
    )


@pytest.fixture(autouse=True)
def next_is(monkeypatch: pytest.MonkeyPatch) -> Callable[[str, str], None]:
    """The line "next" of the status, which has its own tests."""

    def put(why: str, number: str = "1") -> None:
        at = "2026-07-10_22:30:00" if number != "none" else "none"
        line = f"set={number} at={at} why={why}"
        monkeypatch.setattr(status, "next_set", lambda keeper: line)

    put("due")
    return put


def told(board: SimpleNamespace) -> str:
    """The answer as one text; each line fits."""
    lines = say.lines_of(board)
    assert all(0 < len(line) <= PHONE for line in lines), lines
    assert all(32 <= ord(letter) <= 126 for line in lines for letter in line)
    return "\n".join(lines)


def flowing(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("state", STATES)
def test_every_state_has_its_words(state: str) -> None:
    text = flowing(told(board_in(state)))
    assert text.startswith("Now: ")
    assert ("cannot pump: settings cannot be used" in text) == (state == "unset")
    assert ("Battery: 1.8 nights left" in text) == (state != "unset")


@pytest.mark.parametrize("cause", range(len(CAUSES)))
def test_every_cause_has_the_words_of_the_report(cause: int) -> None:
    words = rule_text.CAUSE_WORDS[CAUSES[cause]]
    if CAUSES[cause] not in STOPS:
        words = CAUSES[cause]  # Only a set that is left out has it, and that is no stop.
    assert f"Last stop: {words}, 2026-07-09 22:51" in flowing(told(board_in("idle", cause)))


@pytest.mark.parametrize("rule", range(len(RULES)))
def test_every_rule_has_the_name_of_the_report_and_what_to_do(rule: int) -> None:
    """One name an event, on the desk and at the plot."""
    words = rule_text.RULES[RULES[rule][NAME]]
    text = flowing(told(board_in("done", CAUSE_RULE + rule)))
    assert f"Last stop: {words.short}, 2026-07-09 22:51" in text
    after = text.split("22:51 ")[1]
    harmless = ("too many starts", "late tick", "frost")
    assert after.startswith("Next: ") == (RULES[rule][NAME] in harmless)
    if any(part in after.split("Next: ")[0] for part in ("clamp", "fuse", "wires", "pump by")):
        assert "and switch" in after, "no hand goes there with the switch on"
    waits = flowing(told(board_in("idle", CAUSE_RULE + rule)))
    assert waits.split("22:51 ")[1].startswith("Next: "), "nothing to look at any more"


@pytest.mark.parametrize("why", status.NEXT_WHY)
def test_every_reason_for_the_next_set(why: str, next_is: Callable[[str, str], None]) -> None:
    none = why in ("no_sets", "no_clock", "flat", "lockout")
    next_is(why, "none" if none else "2")
    text = flowing(told(board_in("idle")))
    assert ("No set comes: " in text) == none
    assert ("Next: set 2, 2026-07-10 22:30" in text) == (not none)


def test_the_night_is_the_one_that_it_was() -> None:
    board = board_in("idle")
    assert "Last night: 60 min, 1014 L" in told(board)
    board.clock.second = 23 * 3600
    assert "Tonight so far: 60 min, 1014 L" in told(board)
    board = board_in("idle", night_run_s=0, night_ml=0)
    assert "ight" not in told(board).replace("nights left", ""), "nothing is known, nothing said"
    line = "7 2026-07-10 12:00:00 ok night run_s=%d given_ml=880400 used_mah=1 left_mah=1 ~0000"
    board.log.next_seq = 12
    board.log.lines_from = lambda seq, count: [line % 3000, "8 2026-07-10 12:00:01 ok boot"]
    assert "The night to 2026-07-10: 50 min, 880 L" in told(board)
    board.log.lines_from = lambda seq, count: [line % 0]
    assert "The night to 2026-07-10: no water" in told(board)
    board.pumping_soon = lambda: True
    assert "The night to" not in told(board), "no time for flash while it pumps"


def test_the_morning_on_the_page() -> None:
    page = (rigs.ROOT / "hardware_notes/serial.md").read_text(encoding="utf-8")
    shown = page.split("In the morning after a shut tap:\n\n```\n")[1].split("\nok\n```")[0]
    cause = CAUSE_RULE + number_of("dead head")
    board = board_in("done", cause, night_run_s=1260, night_ml=355_000)
    board.clock.second = 7 * 3600 + 12 * 60
    assert told(board) == shown


def test_a_set_that_is_given_and_a_clock_that_is_wrong() -> None:
    board = board_in("run")
    board.keeper.plan = SimpleNamespace(current=1, given_s=[0, 725], given_ml=[0, 203_000])
    assert "Set 1 so far: 12 min, 203 L" in told(board)
    board.keeper.plan.current = 0
    assert "By hand so far: no water" in told(board)
    board.clock.ok = False
    assert "Clock: 2026-07-10 07:00, not to be believed" in flowing(told(board))


def test_litres_are_told_only_where_a_transducer_counts_them() -> None:
    board = board_in("idle")
    board.keeper.settings.pressure_fitted = 0
    assert "Last night: 60 min\n" in told(board)
    assert " L" not in told(board)
    board = board_in("idle", night_ml=0)
    assert "Last night: 60 min, 0 L" in told(board), "it ran, and gave nothing"


# On the whole firmware.


@pytest.fixture
def desk(need: Callable[[str], Path], tmp_path: Path) -> Iterator[Desk]:
    with Desk(need("micropython"), tmp_path, SETTINGS) as made:
        made.ticks(30)
        yield made


@pytest.mark.interpreter
def test_an_evening_and_the_day_after(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    first = desk.say(WORD)
    assert first[0] == "Now: waiting"
    assert "Next: set 1, 2026-07-09 22:00" in first
    assert first[-1] == "ok"
    desk.make("set-clock 2026-07-09 21:59:58")
    desk.ticks(40)
    desk.say(WORD)  # Who looks wakes it.
    desk.ticks(300)
    pumping = desk.say(WORD)
    assert pumping[0] == "Now: pumping"
    assert pumping[1].startswith("Set 1 so far: ")
    raw = desk.heard.decode().split("\r\n")
    assert all(len(line) <= PHONE and unsealed(line) is None for line in raw), "no marks"
    desk.ticks(4 * 600)
    given = desk.say(WORD)
    assert given[0] == "Now: waiting"
    assert "Last stop: all given, 2026-07-09 22:03" in " ".join(given)
    assert any(line.startswith("Tonight so far: 3 min, ") for line in given)
    desk.make("set-clock 2026-07-10 11:59:58")
    assert any(line.startswith("Last night: 3 min, ") for line in desk.say(WORD))
    desk.ticks(60)
    after = desk.say(WORD)
    assert any(line.startswith("The night to 2026-07-10: 3 min, ") for line in after), after


@pytest.mark.interpreter
def test_a_board_without_settings(need: Callable[[str], Path], tmp_path: Path) -> None:
    with Desk(need("micropython"), tmp_path, None) as desk:
        desk.ticks(5)
        lines = desk.say(WORD)
    assert lines[0] == "Now: cannot pump: no settings"
    assert lines[1].startswith("Clock: ")
    assert lines[2:] == ["ok"]
