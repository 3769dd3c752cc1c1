"""The serial line: what it answers, and what no noise may do."""

import binascii
import random

import numpy as np
import pytest

from device import commands
from device.commands import CHUNK_LINES, CHUNK_LINES_MAX
from device.help import HELP
from device.serial import LINE_MAX
from keeper import crc, hand, lines
from keeper.records import FIELDS_MAX, MINUTE
from keeper.settings import SCHEMA
from tests.device import bursts
from tests.device.line import Line, Part

CHANGES = (
    "run 3",
    "stop",
    "clear",
    "hold 2",
    "battery 30000",
    "set-clock 2026-07-09 22:30:00",
    "set hand_minutes 5",
    "drop",
    "apply",
    "restart",
    "service",
)


@pytest.fixture
def line() -> Line:
    return Line()


def test_mark_is_a_crc_of_what_stands_before_it() -> None:
    """The check value of CRC-16/CCITT-FALSE: the digits 1 to 9 give 29B1 (catalogue of
    parametrised CRC algorithms)."""
    assert crc.sealed("123456789") == "123456789 ~29B1"
    assert crc.unsealed("123456789 ~29B1") == "123456789"
    assert crc.unsealed("123456789 ~29b1") is None


@pytest.mark.parametrize(
    "ask", ["help", "id", "status", "clock", "settings", "log", "log x", "fresh", "seal run 1"]
)
def test_every_line_of_an_answer_is_marked(ask: str, line: Line) -> None:
    answer = line.say(ask)
    assert all(crc.unsealed(text) for text in answer)
    assert answer[-1].startswith("no" if ask == "log x" else "ok")
    assert not any(text.startswith(("ok", "no")) for text in answer[:-1])


def test_help_names_every_command(line: Line) -> None:
    named = {text.split(" ")[0] for text in HELP}
    assert {change.split(" ")[0] for change in CHANGES} <= named
    for ask in ("help", "id", "status", "clock", "settings", "log", "fresh", "seal"):
        assert ask in named
    assert len(line.say("help")) == len(HELP) + 1


def test_settings_are_all_there(line: Line) -> None:
    answer = "\n".join(line.say("settings"))
    assert all(f"setting {row[0]}=" in answer for row in SCHEMA)


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_needs_number_and_mark(change: str, line: Line) -> None:
    before = line.state()
    assert line.say(change)[0].startswith("no a change needs")
    assert line.say(crc.sealed(change))[0].startswith("no the number is not fresh")
    assert line.say(crc.sealed(change + " #99999"))[0].startswith("no the number is not fresh")
    assert line.state() == before


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_counts_once(change: str, line: Line) -> None:
    sent = line.sealed(change)
    assert line.say(sent)[0].startswith("ok")
    after = line.state()
    assert line.say(sent)[0].startswith("no the number is not fresh")
    assert line.state() == after


def test_what_the_changes_do(line: Line) -> None:
    for change in ("run 3", "stop", "clear", "hold 2", "battery 30000"):
        line.make(change)
    assert line.asked == [
        (hand.RUN, 3),
        (hand.STOP, 0),
        (hand.CLEAR, 0),
        (hand.HOLD, 2),
        (hand.BATTERY, 30000),
    ]
    line.make("set-clock 2026-07-09 22:30:05")
    assert line.clock_set == [(2026, 7, 9, 81005)]
    assert line.asked[-1] == (hand.CLOCK, 0)
    line.make("restart")
    line.make("service")
    assert line.restarts == [False, True]


def test_a_battery_says_what_the_board_then_holds(line: Line) -> None:
    full_mah = line.keeper.settings.capacity_mah
    said = line.make("battery 30000")
    assert said.startswith(f"ok asked battery left_mah=30000 full_mah={full_mah} ")
    said = line.make("battery 0")
    assert said.startswith(f"ok asked battery left_mah={full_mah} full_mah={full_mah} ")
    asked = len(line.asked)
    for absurd in (full_mah + 1, 500000, 500001):
        assert line.make(f"battery {absurd}").startswith("no ")
    assert len(line.asked) == asked


@pytest.mark.parametrize(
    "change", ["run 3", "battery 0", "clear", "set-clock 2026-07-09 22:30:05"]
)
def test_a_board_that_is_busy_says_so(change: str, line: Line) -> None:
    before = line.state()
    line.full = True
    assert line.make(change).startswith("no busy with what was asked before; say it again")
    assert line.state() == before


def test_no_hold_while_the_clock_is_bad(line: Line) -> None:
    """Which night would it count from?"""
    line.keeper.facts.clock_bad = 1
    assert line.make("hold 2").startswith("no the clock is not to be believed")
    assert line.asked == []
    line.keeper.facts.clock_bad = 0
    assert line.make("hold 2").startswith("ok asked hold")


@pytest.mark.parametrize(
    "change",
    [
        "run",
        "run 4",
        "run -1",
        "run 1 2",
        "run 99999999999",
        "stop 1",
        "hold x",
        "set nothing 1",
        "set hand_minutes",
        "set hand_minutes 1.5",
        "set-clock 2026-02-30 10:00:00",
        "set-clock 2026-07-09 24:00:00",
        "set-clock 2026-07-09",
        "set-clock x y",
        "set-clock 1999-07-09 10:00:00",
        "fly",
        "",
    ],
)
def test_a_wrong_change_says_so(change: str, line: Line) -> None:
    before = line.state()
    assert line.make(change).startswith("no ")
    assert line.state() == before


def test_settings_are_staged_checked_and_applied(line: Line) -> None:
    assert line.make("set dead_head_pa 1000").startswith("ok staged=1")
    assert "no normal_pa" in line.make("apply")
    assert line.applied == 0
    line.make("drop")
    line.make("set hand_minutes 7")
    assert line.make("apply").startswith("ok")
    assert line.applied == 1
    text = line.board.settings_slots.load()
    assert "hand_minutes 7" in text
    line.pumping = True
    assert line.make("apply").startswith("no not while the pump runs")


def test_the_log_goes_on_where_the_reader_asks(line: Line) -> None:
    log = line.board.log
    for seq in range(100):
        log.add(lines.format_line([seq, 20643, 0, 1, MINUTE] + [seq] * FIELDS_MAX))
        log.flush()
    got: list[str] = []
    following = 0
    for _ in range(20):
        *records, last = line.say(f"log {following}")
        got += records
        assert len(records) <= CHUNK_LINES
        following = int(last.split("next=")[1].split(" ")[0])
    assert [lines.parse_line(text)[0] for text in got] == list(range(100))
    assert line.say("log 40")[0].startswith("40 ")
    for asked, given in ((0, 0), (3, 3), (20, 20), (999, CHUNK_LINES_MAX)):
        *records, last = line.say(f"log 10 {asked}")
        assert [lines.parse_line(text)[0] for text in records] == list(range(10, 10 + given))
        assert f"next={10 + given} " in last
    assert line.say("log 10 x")[0].startswith("no log takes")


@pytest.mark.parametrize("change", ["run 3", "service"])
def test_every_single_bit_and_every_burst_is_refused(change: str, line: Line) -> None:
    """A 16-bit CRC finds every burst up to its own length (Peterson and Brown, Cyclic codes for
    error detection, Proceedings of the IRE 49, 1961): all of them, at every place of the line."""
    good = line.sealed(change)
    before = line.state()
    tally = bursts.sweep(line, change, sample=2000, split_sample=25)
    assert tally.tried > 32768 * (8 * len(good) - 16)
    assert tally.accepted == 0
    assert tally.parsed > 4000
    assert line.state() == before
    assert line.say(good)[0].startswith("ok"), "the true line still counts"


def test_a_burst_of_17_bits_can_pass(line: Line) -> None:
    """The polynomial itself: the sweep above would see it."""
    good = int.from_bytes(line.sealed("run 3").encode(), "big")
    size = len(line.sealed("run 3"))
    lines = [(good ^ 0x11021 << shift).to_bytes(size, "big") for shift in range(48, 8 * size - 17)]
    rows = np.array([list(text) for text in lines], dtype=np.uint8)
    assert bursts.marks_fit(rows).any()


def test_a_torn_line_is_refused(line: Line) -> None:
    good = line.sealed("run 3")
    before = line.state()
    for end in range(len(good)):
        line.say(good[:end])
        line.say(good[end + 1 :])
    assert line.state() == before


def test_noise_is_passed_over(line: Line) -> None:
    """A million bytes of noise, and of noise made of the words that mean something."""
    chance = random.Random(5)
    words = [text.encode() for text in (*CHANGES, "help", " #", " ~", "0", "\n", "\r", "log ")]
    before = line.state()
    for _ in range(100):
        line.put(chance.randbytes(5000))
    for _ in range(100):
        line.put(b"".join(chance.choice(words) for _ in range(900)))
    assert line.state() == before
    assert line.serial.passed_over > 100
    line.put(b"\n")
    assert line.say("fresh")[0].startswith("ok fresh=")


def test_an_overlong_line_is_passed_over(line: Line) -> None:
    assert line.say("help " + "x" * LINE_MAX) == []
    assert line.serial.passed_over == 1
    assert line.say("fresh")


def test_a_host_that_does_not_read_delays_nothing(line: Line) -> None:
    """The port takes nothing: attending returns, and a change is made all the same."""
    sent = line.sealed("stop")
    line.send.room = 0
    for _ in range(50):
        line.put(b"settings\nhelp\n")
    line.put(sent.encode() + b"\n")
    assert line.asked == [(hand.STOP, 0)]
    assert not line.send.data
    line.send.room = None
    assert b"ok asked stop" in line.put(b"")


def test_a_new_line_ends_the_answer_before(line: Line) -> None:
    line.send.room = 200
    line.put(b"help\n")
    line.send.room = None
    answer = line.put(b"fresh\n").decode().splitlines()
    whole = [text for text in answer if crc.unsealed(text)]
    assert len(whole) == 1
    assert whole[0].startswith("ok fresh=")


@pytest.mark.parametrize("drawn", [b"\x00\x00", b"\x05\x06", b"\xff\xff"])
def test_the_number_is_drawn_at_each_start(drawn: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    board = Line().board
    monkeypatch.setattr(commands, "os", Part(urandom=lambda size: drawn[:size]))
    assert commands.Commands(board)._fresh == int.from_bytes(drawn, "big")


def test_the_mark_is_that_of_the_records() -> None:
    text = "417 2026-07-09"
    assert crc.sealed(text)[-4:] == f"{binascii.crc_hqx(text.encode(), 0xFFFF):04X}"
