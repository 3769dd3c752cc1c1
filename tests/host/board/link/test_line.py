"""The line between desktop and board, on pseudo-terminals: what noise and cuts may not do."""

import errno
import os
import pty
import tty
from pathlib import Path
from typing import Any

import pytest
import serial

from keeper.crc import sealed
from keeper.hand import RUN, STOP
from rillkeeper.board.link import state, talk
from rillkeeper.board.link.change import AnswerLost, make
from rillkeeper.board.link.fetch import Fetch
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.talk import REFUSALS, NoAnswer, Refused, Talk
from rillkeeper.errors import NoBoard, UsageMistake
from rillkeeper.runlog.store import Archive
from tests.host.board.link.fakeboard import (
    Behind,
    Cable,
    FakeBoard,
    Late,
    Noisy,
    SocketBoard,
    Some,
    banner,
    drip,
    lost,
    torn,
    whole,
)

RECORDS = 280
CHUNKS = 1 + -(-(RECORDS - 8) // 40)
"""Answers that they take on a clean line: eight in the first, then forty in each."""
BAD_CABLES = {
    "whole": lambda: whole,
    "drip": lambda: drip,
    "noisy": lambda: Noisy(1.0),
    "torn": lambda: Some(torn, range(1, 60, 3)),
    "banner": lambda: Some(banner, range(2, 60, 4)),
    "late": Late,
    "lost": lambda: Some(lost, range(1, 60, 4)),
}


@pytest.fixture(params=BAD_CABLES)
def cable(request: pytest.FixtureRequest) -> Cable:
    made: Cable = BAD_CABLES[request.param]()
    return made


def talk_to(port: Port) -> Talk:
    """With little patience, where a cable loses answers: each costs it."""
    return Talk(port, patience_s=0.3)


def test_the_log_is_read_whole_through_any_cable(cable: Cable, tmp_path: Path) -> None:
    with FakeBoard(cable, RECORDS) as board, Archive(tmp_path / "a.sqlite") as archive:
        with Port(board.path) as port:
            fetch = Fetch(talk_to(port), archive, "b")
            new = [line for lines in fetch.read() for line in lines]
        assert new == board.log_lines == archive.lines("b")
        assert len(new) == RECORDS
        hurt = cable not in (whole, drip)
        assert (board.answers > CHUNKS) is hurt, "the cable had no effect: nothing was tested"
        assert (fetch.damaged, fetch.dropped, fetch.anew) == (0, 0, False)


def test_a_start_is_asked_once_through_any_cable(cable: Cable) -> None:
    """Whatever happens to the answers, the pump is never asked to start twice."""
    with FakeBoard(cable) as board, Port(board.path) as port:
        try:
            assert make(talk_to(port), "run 3", repeatable=False) == "ok asked run"
        except AnswerLost:
            assert cable is not whole
        assert board.line.asked == [(RUN, 3)]


def test_a_start_whose_answer_is_lost(tmp_path: Path) -> None:
    with FakeBoard(Some(lost, [1])) as board, Port(board.path) as port:
        with pytest.raises(AnswerLost, match="rillkeeper status"):
            make(talk_to(port), "run 3", repeatable=False)
        assert board.line.asked == [(RUN, 3)]


def test_a_stop_whose_answer_is_lost_is_asked_again() -> None:
    with FakeBoard(Some(lost, [1])) as board, Port(board.path) as port:
        assert make(talk_to(port), "stop") == "ok asked stop"
        assert board.line.asked == [(STOP, 0), (STOP, 0)]


def test_a_change_is_refused_with_the_boards_reason() -> None:
    with FakeBoard() as board, Port(board.path) as port:
        with pytest.raises(
            Refused, match="up to 3 minutes, .* the longest run that run_max_s allows"
        ):
            make(talk_to(port), "run 9999")
        assert board.line.asked == []


def test_what_the_board_says_is_understood() -> None:
    with FakeBoard(records=3) as board, Port(board.path) as port:
        talk = Talk(port)
        assert state.identity(talk).board == "01ab"
        now = state.status(talk)
        assert (now.state, now.relay, now.trouble, now.next) == ("idle", 0, "", 3)
        assert f"{state.board_time(talk).now}" == "2026-07-09 22:30:00"
        assert state.settings(talk) == board.line.keeper.settings.values()


def test_a_half_line_left_in_the_board_does_no_harm() -> None:
    """A modem program has probed the port, and a terminal left a word without its end."""
    with FakeBoard() as board, Port(board.path) as port:
        port.write(b"AT\rstat")
        assert state.identity(Talk(port)).board == "01ab"


def test_a_late_refusal_of_what_was_left_there_is_none_of_a_question() -> None:
    """The board is busy: it refuses the half line only together with its answer to the next."""
    cable = Late()
    cable.count = 2
    with FakeBoard(cable) as board, Port(board.path) as port:
        port.write(b"AT\r")
        assert state.identity(Talk(port)).board == "01ab"
        assert board.answers == 3


def test_nor_are_two_late_ones() -> None:
    """A busy machine read the refusals of both lines that were left there as those of its own."""
    with FakeBoard(Behind(2)) as board, Port(board.path) as port:
        port.write(b"AT\rstat")
        assert state.identity(Talk(port)).board == "01ab"


def test_what_is_refused_for_good_is_refused() -> None:
    with FakeBoard() as board, Port(board.path) as port:
        answer = Talk(port).ask("log x")
        assert answer.refusal == "log takes whole numbers"
        assert board.answers == REFUSALS


def test_a_later_version_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    with FakeBoard() as board, Port(board.path) as port:
        monkeypatch.setattr(state, "LOG_VERSION", 7)
        with pytest.raises(Exception, match="update the older"):
            state.identity(Talk(port))


def test_a_port_is_opened_once_at_a_time() -> None:
    with FakeBoard() as board, Port(board.path):
        with pytest.raises(NoBoard, match="busy"):
            Port(board.path)
    with FakeBoard() as board:
        Port(board.path).close()
        Port(board.path).close()


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        (errno.EACCES, "sudo usermod -a -G dialout"),
        (errno.EBUSY, "busy"),
        (errno.ENOENT, "no such port"),
        (errno.EIO, "cannot be opened"),
    ],
)
def test_why_a_port_cannot_be_opened(
    monkeypatch: pytest.MonkeyPatch, number: int, sentence: str
) -> None:
    def refuse(self: object) -> None:
        raise serial.SerialException(number, os.strerror(number))

    monkeypatch.setattr(serial.Serial, "open", refuse)
    with pytest.raises(NoBoard, match=sentence) as caught:
        Port("/dev/not-there")
    assert caught.value.exit_code == 3


def test_ports_that_are_none() -> None:
    with pytest.raises(NoBoard, match="no such port"):
        Port("/dev/not-there")
    with pytest.raises(NoBoard, match="not a serial port"):
        Port("/dev/null")
    with pytest.raises(UsageMistake, match="no such kind of port"):
        Port("carrier-pigeon://loft")


def test_modem_wires_never_reset_the_board(monkeypatch: pytest.MonkeyPatch) -> None:
    """RTS without DTR is reset, on boards with a USB bridge (Espressif's auto-reset circuit,
    esptool documentation, "Boot mode selection")."""
    seen: list[tuple[bool, bool]] = []

    class Wires:
        in_waiting = 0

        def __init__(self) -> None:
            self.__dict__.update(dtr=False, rts=False, opened=False)

        def __setattr__(self, name: str, value: bool) -> None:
            self.__dict__[name] = value
            if self.__dict__["opened"]:
                seen.append((self.__dict__["dtr"], self.__dict__["rts"]))

        def open(self) -> None:
            self.opened = True

        def close(self) -> None:
            pass

    monkeypatch.setattr(serial, "serial_for_url", lambda *_a, **_k: Wires())
    Port("/dev/any").close()
    assert seen[0] == (True, True), "a board with USB of its own sends nothing without DTR"
    assert (False, True) not in seen
    assert seen[-1] == (False, False)


def test_a_port_that_never_ends_talking_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Something else is on that port; four patient tries of half a minute would look hung."""
    monkeypatch.setattr(talk, "STRANGE_S", 0.2)

    class Chatty:
        name = "/dev/chatty"
        reads = 0

        def write(self, data: bytes) -> None:
            """It does not listen."""

        def read(self) -> bytes:
            self.reads += 1
            assert self.reads < 1_000_000
            return b"$GPGGA,161229.487,3723.2475\r\n"

    with pytest.raises(NoAnswer, match="not a rillkeeper board"):
        Talk(Chatty(), patience_s=0.2).ask("id")


def test_a_silent_port_is_said_to_be_waited_for(capsys: pytest.CaptureFixture[str]) -> None:
    class Silent:
        name = "/dev/silent"

        def write(self, data: bytes) -> None:
            """Nobody is there."""

        def read(self) -> bytes:
            return b""

    with pytest.raises(NoAnswer, match="is the board powered"):
        Talk(Silent(), tries=3, patience_s=0.05).ask("id")
    said = capsys.readouterr().err
    assert said.count("no answer yet; asking again for up to") == 1, "once is enough"


def test_a_silent_port_and_one_that_talks_nonsense() -> None:
    host, port = pty.openpty()
    tty.setraw(port)
    try:
        with Port(os.ttyname(port)) as opened:
            with pytest.raises(NoAnswer, match="is the board powered"):
                Talk(opened, tries=2, patience_s=0.1).ask("id")
    finally:
        os.close(host)
        os.close(port)
    with Port("loop://") as opened:
        with pytest.raises(NoAnswer, match="not a rillkeeper board"):
            Talk(opened, tries=2, patience_s=0.1).ask("id")


def test_over_a_socket() -> None:
    board = SocketBoard()
    with Port(board.url) as port:
        talk = talk_to(port)
        assert state.identity(talk).board == "01ab"
        assert make(talk, "stop") == "ok asked stop"
    assert board.line.asked == [(STOP, 0)]


def test_unplugged_in_mid_read_loses_nothing(tmp_path: Path) -> None:
    with Archive(tmp_path / "a.sqlite") as archive:
        with FakeBoard(records=RECORDS) as board:
            board.unplug_after = 3
            with Port(board.path) as port, pytest.raises(NoBoard, match="unplugged"):
                list(Fetch(talk_to(port), archive, "b").read())
            kept = archive.lines("b")
            assert 0 < len(kept) < RECORDS
        with FakeBoard(records=RECORDS) as board, Port(board.path) as port:
            new = [line for some in Fetch(talk_to(port), archive, "b").read() for line in some]
            assert kept + new == archive.lines("b") == board.log_lines


def read_all(archive: Archive, board: FakeBoard) -> tuple[int, Any]:
    """Read a board's log; returns how many records were new."""
    with board, Port(board.path) as port:
        fetch = Fetch(talk_to(port), archive, "b")
        return sum(len(lines) for lines in fetch.read()), fetch


def test_a_second_reading_adds_nothing(tmp_path: Path) -> None:
    with Archive(tmp_path / "a.sqlite") as archive:
        assert read_all(archive, FakeBoard(records=20))[0] == 20
        assert read_all(archive, FakeBoard(records=20))[0] == 0
        assert read_all(archive, FakeBoard(records=23))[0] == 3
        assert len(archive.lines("b")) == 23


@pytest.mark.parametrize("records", [5, 20, 40])
def test_a_wiped_board_overwrites_nothing(records: int, tmp_path: Path) -> None:
    """Fewer, as many and more records than were read before it was wiped."""
    with Archive(tmp_path / "a.sqlite") as archive:
        before = FakeBoard(records=20)
        read_all(archive, before)
        after = FakeBoard(records=0, anew=1)
        for seq in range(records):
            after.add(sealed(f"{seq} 2026-08-01 10:00:00 ok rain closed=1"))
        new, fetch = read_all(archive, after)
        assert (new, fetch.anew) == (records, True)
        assert archive.lines("b") == before.log_lines + after.log_lines


def test_records_that_the_board_gave_up_are_counted(tmp_path: Path) -> None:
    with Archive(tmp_path / "a.sqlite") as archive:
        read_all(archive, FakeBoard(records=10))
        board = FakeBoard()
        for seq in range(15, 30):
            board.add(sealed(f"{seq} 2026-07-09 10:00:00 ok rain closed=1"))
        new, fetch = read_all(archive, board)
        assert (new, fetch.dropped, fetch.anew) == (15, 5, False)


def test_a_line_damaged_on_flash_is_counted_and_passed(tmp_path: Path) -> None:
    board = FakeBoard(records=5)
    board.add("5 2026-07-09 10:00:00 ok rain closed=7 ~0000")
    board.add(sealed("6 2026-07-09 10:00:00 ok rain closed=1"))
    with Archive(tmp_path / "a.sqlite") as archive:
        new, fetch = read_all(archive, board)
        assert (new, fetch.damaged) == (6, 1)
