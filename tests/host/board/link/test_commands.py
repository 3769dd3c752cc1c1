"""The commands that talk to a board: what they print, and the status that they leave behind."""

import csv
import json
import os
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from device import store
from keeper import Settings
from keeper.cycle import FLAT, IDLE, LOCKOUT
from keeper.hand import CLEAR, RUN
from rillkeeper.board.link import ports
from rillkeeper.board.link.ports import Candidate
from rillkeeper.cli import cli
from tests.host.board.link.fakeboard import FakeBoard
from tests.interpreters.board import BOARD

TALKING = (
    "status",
    "watch",
    "clock",
    "settings",
    "log",
    "run",
    "stop",
    "hold",
    "relearn",
    "battery",
    "clear",
)


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr(ports.list_ports, "comports", list)


@pytest.fixture
def board() -> Iterator[FakeBoard]:
    with FakeBoard(records=12) as made:
        yield made


def say(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def arguments(command: str) -> list[str]:
    return [command, "5"] if command in ("run", "hold", "battery") else [command]


def change_settings(board: FakeBoard) -> None:
    """Let the board take what is applied, as a real one does."""
    line = board.line

    def apply() -> None:
        text = line.board.settings_slots.load()
        line.keeper.settings = Settings(store.text_settings(text))

    line.board.apply = apply


@pytest.mark.parametrize("command", TALKING)
def test_without_a_board_it_is_one_line_and_status_3(command: str) -> None:
    result = say(*arguments(command))
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr.startswith("rillkeeper: no board found; ")
    assert result.stderr.count("\n") == 1


@pytest.mark.parametrize("command", TALKING)
def test_a_busy_port_is_one_line_and_status_3(command: str, board: FakeBoard) -> None:
    with ports_open(board.path):
        result = say(*arguments(command), "--port", board.path)
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr == (
        f"rillkeeper: {board.path}: the port is busy; close the program that has it open\n"
    )


def ports_open(path: str) -> Any:
    from rillkeeper.board.link.port import Port

    return Port(path)


@pytest.mark.parametrize("command", [*TALKING, "ports", "board"])
def test_help_has_an_example_that_can_be_run(command: str) -> None:
    text = say(command, "--help").stdout
    examples = [
        line.split() for line in text.splitlines() if line.strip().startswith("rillkeeper ")
    ]
    assert command in [words[1] for words in examples], "no example"
    for _, name, *words in examples:
        shown = cli.get_command(click.Context(cli), name)
        assert shown is not None, name
        known = {option for parameter in shown.params for option in parameter.opts}
        assert {word for word in words if word.startswith("-")} <= known


def test_several_candidates_are_listed(monkeypatch: pytest.MonkeyPatch, board: FakeBoard) -> None:
    two = [Candidate("/dev/ttyACM0", "one"), Candidate("/dev/ttyUSB1", "another")]
    monkeypatch.setattr(ports, "candidates", lambda: two)
    result = say("status")
    assert result.exit_code == 3
    assert "/dev/ttyACM0  one" in result.stderr
    assert "/dev/ttyUSB1  another" in result.stderr
    monkeypatch.setattr(ports, "candidates", lambda: [Candidate(board.path, "one")])
    assert say("status").exit_code == 0


def test_only_usb_ports_are_candidates(monkeypatch: pytest.MonkeyPatch) -> None:
    class Found:
        def __init__(self, device: str, vid: int | None) -> None:
            self.device, self.vid, self.description = device, vid, "n/a"

    found = [Found("/dev/ttyS0", None), Found("/dev/ttyUSB0", 0x10C4)]
    monkeypatch.setattr(ports.list_ports, "comports", lambda: found)
    assert [port.name for port in ports.candidates()] == ["/dev/ttyUSB0"]


def test_a_virtual_board_is_found_while_it_runs() -> None:
    with ports.announced("/dev/pts/99"):
        assert ports.candidates() == [Candidate("/dev/pts/99", "virtual board")]
        dead = Path(os.environ["XDG_DATA_HOME"], "rillkeeper", "virtual", "999999999")
        dead.write_text("/dev/pts/98")
        assert len(ports.candidates()) == 1
        assert not dead.exists()
    assert ports.candidates() == []


def test_ports_say_who_is_there(monkeypatch: pytest.MonkeyPatch, board: FakeBoard) -> None:
    board.add_night(run_s=1800, given_ml=250_000)
    there = [Candidate(board.path, "a board"), Candidate("/dev/not-there", "nothing")]
    monkeypatch.setattr("rillkeeper.commands.ports.candidates", lambda: there)
    rows = json.loads(say("ports", "--json").stdout)["ports"]
    assert rows[0]["board"] == "01ab"
    assert rows[0]["last_night"].endswith(": 250 L in 30 min")
    assert "no such port" in rows[1]["problem"]
    assert "250 L in 30 min" in say("ports").stdout


def test_status_and_its_readings(board: FakeBoard) -> None:
    result = say("status", "--port", board.path)
    assert result.exit_code == 0
    for words in ("board 01ab", "waiting", "2026-07-09 22:30:00", "12 records kept", " bar", " V"):
        assert words in result.stdout
    document = json.loads(say("status", "--port", board.path, "--json").stdout)
    assert (document["state"], document["relay"], document["next"]) == ("idle", 0, 12)


def test_a_lockout_is_status_4(board: FakeBoard) -> None:
    board.line.keeper.state = LOCKOUT
    for command in (["status"], ["watch", "--count", "1"], ["run", "3"]):
        result = say(*command, "--port", board.path)
        assert result.exit_code == 4
        assert "locked out" in result.stderr
    assert board.line.asked == []


def test_a_lockout_is_cleared_only_by_a_person_who_has_looked(board: FakeBoard) -> None:
    line = board.line
    assert "nothing to clear" in say("clear", "--yes", "--port", board.path).stdout
    line.keeper.state = LOCKOUT
    asked = say("clear", "--port", board.path)
    assert asked.exit_code == 2
    assert "--yes" in asked.stderr
    assert line.asked == []
    monkey = line.keeper.command

    def command(code: int, value: int) -> bool:
        line.keeper.state = IDLE
        return bool(monkey(code, value))

    line.keeper.command = command
    cleared = say("clear", "--yes", "--port", board.path)
    assert (cleared.exit_code, line.asked) == (0, [(CLEAR, 0)])


def test_a_lockout_that_does_not_clear_is_status_4(
    monkeypatch: pytest.MonkeyPatch, board: FakeBoard
) -> None:
    monkeypatch.setattr("rillkeeper.commands.tell.CLEAR_S", 0.3)
    for stopped in (LOCKOUT, FLAT):
        board.line.keeper.state = stopped
        assert say("clear", "--yes", "--port", board.path).exit_code == 4


def test_trouble_is_status_4(board: FakeBoard) -> None:
    board.line.board.trouble = "lib/keeper/core.py is damaged or missing"
    result = say("status", "--port", board.path)
    assert result.exit_code == 4
    assert "lib/keeper/core.py is damaged or missing" in result.stderr


def test_watch_is_a_line_a_second_when_piped(board: FakeBoard) -> None:
    lines = say("watch", "--count", "2", "--port", board.path).stdout.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("2026-07-09 22:30:00, waiting, relay open, outlet ")


def test_run_waits_for_the_relay_and_never_stops_a_run(board: FakeBoard) -> None:
    line = board.line

    def command(code: int, value: int) -> bool:
        line.asked.append((code, value))
        line.board.relay.level = 1 if code == RUN else 0
        return True

    line.keeper.command = command
    result = say("run", "3", "--port", board.path)
    assert (result.exit_code, line.asked) == (0, [(RUN, 3)])
    assert "for 3 min at most" in result.stdout
    assert "relay is open" in say("stop", "--port", board.path).stdout
    line.keeper.state = 3
    again = say("run", "3", "--port", board.path)
    assert again.exit_code == 1
    assert "rillkeeper stop" in again.stderr
    assert [code for code, _ in line.asked].count(RUN) == 1


def test_a_flat_battery_is_not_pumped_with(board: FakeBoard) -> None:
    board.line.keeper.state = FLAT
    result = say("run", "3", "--port", board.path)
    assert (result.exit_code, board.line.asked) == (4, [])
    assert "put a charged one on" in result.stderr


def test_a_relay_that_stays_closed_is_status_4(
    monkeypatch: pytest.MonkeyPatch, board: FakeBoard
) -> None:
    monkeypatch.setattr("rillkeeper.commands.run.OPEN_S", 0.3)
    board.line.board.inputs.load_on = 1
    result = say("stop", "--port", board.path)
    assert result.exit_code == 4
    assert "hand switch off now" in result.stderr


def test_the_clock_is_set_to_standard_time(board: FakeBoard) -> None:
    now = board.line.board.clock
    result = say("clock", "--port", board.path)
    assert result.exit_code == 0
    assert "2026-07-09 22:30:00, " in result.stdout
    assert say("clock", "--set", "--port", board.path).exit_code == 5, "it stayed as it was"

    def set_to(year: int, month: int, date: int, second: int) -> None:
        from keeper.lines import day_number

        now.day, now.second = day_number(f"{year}-{month}-{date}"), second

    now.set = set_to
    result = say("clock", "--set", "--port", board.path)
    assert result.exit_code == 0, result.stderr
    assert "right to the second" in result.stdout
    now.ok = 0
    assert "clock --set" in say("clock", "--port", board.path).stdout


def test_the_clock_is_set_again_where_it_took_too_long(
    monkeypatch: pytest.MonkeyPatch, board: FakeBoard
) -> None:
    """A second and a half went by before the first one arrived."""
    at = [datetime(2026, 7, 9, 22, 30, 0, 400_000)]
    late_s = [1.5, 0.1]

    def sleep(seconds: float) -> None:
        at[0] += timedelta(seconds=seconds)

    def set_to(year: int, month: int, date: int, second: int) -> None:
        board.line.board.clock.second = second
        sleep(late_s.pop(0))

    monkeypatch.setattr("rillkeeper.commands.clock.standard_time", lambda: at[0])
    monkeypatch.setattr("rillkeeper.commands.clock.sleep", sleep)
    board.line.board.clock.set = set_to
    result = say("clock", "--set", "--port", board.path)
    assert result.exit_code == 0, result.stderr
    assert result.stdout.startswith("2026-07-09 22:30:03, right to the second")
    assert late_s == []


def test_settings_are_compared_written_and_read_back(board: FakeBoard, tmp_path: Path) -> None:
    change_settings(board)
    file = tmp_path / "limits.json"
    assert say("settings", "--port", board.path, "--save", str(file)).exit_code == 0
    document = json.loads(file.read_text())
    assert document["settings"] == board.line.keeper.settings.values()
    document["settings"]["hand_minutes"] = 22
    document["settings"]["battery_offset_mv"] = -35
    file.write_text(json.dumps(document))
    write = ("settings", "--port", board.path, "--write", str(file))
    asked = say(*write)
    assert asked.exit_code == 2
    assert "--yes" in asked.stderr
    assert "-> 22" in asked.stdout
    assert say(*write, "--dry-run").exit_code == 0
    assert board.line.keeper.settings.hand_minutes == BOARD.get("hand_minutes", 15)
    done = say(*write, "--yes")
    assert done.exit_code == 0, done.stderr
    assert board.line.keeper.settings.hand_minutes == 22
    assert board.line.keeper.settings.battery_offset_mv == -35
    assert "already" in say(*write, "--yes").stderr


def test_settings_go_to_toml_and_back(board: FakeBoard, tmp_path: Path) -> None:
    file = tmp_path / "backup.toml"
    say("settings", "--port", board.path, "--save", str(file))
    assert "hand_minutes = " in file.read_text()
    result = say("settings", "--port", board.path, "--write", str(file))
    assert result.exit_code == 0
    assert "already" in result.stderr


def test_settings_that_do_not_arrive_are_status_5(board: FakeBoard, tmp_path: Path) -> None:
    file = tmp_path / "limits.json"
    file.write_text('{"settings": {"hand_minutes": 22}}')
    result = say("settings", "--port", board.path, "--write", str(file), "--yes")
    assert result.exit_code == 5, "this board says ok and applies nothing"
    assert "hand_minutes" in result.stderr


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('{"settings": {"hand_minuets": 22}}', "nearest: hand_minutes"),
        ('{"settings": {"hand_minutes": 2.5}}', "not a whole number"),
        ('{"settings": {"hand_minutes": 9999}}', "outside 1 to 240"),
        ('{"settings": {"cutout_mv": 29999}}', "must be below"),
        ('{"settings": {}}', "nothing under"),
        ("{", "not a settings file"),
    ],
)
def test_settings_with_mistakes_are_status_6(
    text: str, sentence: str, board: FakeBoard, tmp_path: Path
) -> None:
    file = tmp_path / "limits.json"
    file.write_text(text)
    result = say("settings", "--port", board.path, "--write", str(file), "--yes")
    assert result.exit_code == 6
    assert sentence in result.stderr
    assert not board.line.applied


def test_the_log_in_four_forms(board: FakeBoard, tmp_path: Path) -> None:
    first = say("log", "--port", board.path, "--raw")
    assert first.stdout.splitlines() == board.log_lines
    assert first.stderr.startswith("12 new records; 12 records of 01ab in ")
    assert say("log", "--port", board.path).stdout == ""
    file = tmp_path / "log.csv"
    assert say("log", "--port", board.path, "--csv", str(file)).exit_code == 0
    text = file.read_bytes()
    assert text.count(b"\r\n") == text.count(b"\n") == 13, "RFC 4180, section 2.1"
    rows = list(csv.DictReader(file.read_text().splitlines()))
    assert [int(row["seq"]) for row in rows] == list(range(12))
    assert rows[3]["time"] == "2026-07-09T00:03:00"
    document = json.loads(say("log", "--port", board.path, "--json").stdout)
    assert [row["seq"] for row in document["records"]] == list(range(12))
    assert document["missing"] == 0


def test_the_log_since_a_day(board: FakeBoard) -> None:
    assert say("log", "--port", board.path, "--since", "2026-07-10").stdout == ""
    words = say("log", "--port", board.path, "--since", "2026-07-09").stdout.splitlines()
    assert words[0].startswith(
        "!!  Thu 9 Jul 00:00  Power came on. The board has no valid settings."
    )
    assert words[1].startswith("    Thu 9 Jul 00:01  11 minutes of pumping; the last one: ")
    assert len(words) == 2
    raw = say("log", "--port", board.path, "--since", "2026-07-09", "--raw").stdout
    assert raw.splitlines() == board.log_lines
    assert say("log", "--port", board.path, "--since", "yesterday").exit_code == 2


def test_an_archive_that_is_none(board: FakeBoard, tmp_path: Path) -> None:
    file = tmp_path / "letter.txt"
    file.write_text("Dear archive, this is long enough to be no database at all." * 20)
    result = say("log", "--port", board.path, "--archive", str(file))
    assert result.exit_code == 1
    assert "cannot be used as an archive" in result.stderr
