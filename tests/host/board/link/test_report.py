"""The report out of the archive, or out of a file: it is the one of the same log."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rillkeeper.cli import cli
from rillkeeper.runlog.store import Archive
from rillsim.boards.virtualboard import VIRTUAL
from tests.host.runlog.sample_log import sample


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))


@pytest.fixture
def lines() -> list[str]:
    return list(sample().lines)


def say(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def keep(tmp_path: Path, board: str, lines: list[str]) -> None:
    with Archive(tmp_path / "rillkeeper" / "archive.sqlite") as archive:
        archive.add(board, 0, lines)


def test_archive_and_file_give_the_same(tmp_path: Path, lines: list[str]) -> None:
    keep(tmp_path, "01ab", lines)
    file = tmp_path / "run.log"
    file.write_text("\n".join(lines))
    from_file, from_archive = say("report", str(file), "--json"), say("report", "--json")
    assert from_file.exit_code == 0, from_file.stderr
    assert from_file.stdout == from_archive.stdout
    document = json.loads(from_file.stdout)
    assert document["log"]["records"] == len(lines)
    assert len(document["nights"]) > 1
    shown = say("report")
    assert "Verdict" in shown.stdout


def test_since_a_day(tmp_path: Path, lines: list[str]) -> None:
    keep(tmp_path, "01ab", lines)
    nights = json.loads(say("report", "--json").stdout)["nights"]
    last = nights[-1]["night_of"]
    some = json.loads(say("report", "--json", "--since", last).stdout)["nights"]
    assert 1 <= len(some) < len(nights)
    assert some[-1]["night_of"] == last
    none = say("report", "--since", "2099-01-01")
    assert none.exit_code == 1
    assert "2099-01-01" in none.stderr


def test_which_board(tmp_path: Path, lines: list[str]) -> None:
    empty = say("report")
    assert empty.exit_code == 1
    assert "rillkeeper log" in empty.stderr
    keep(tmp_path, "01ab", lines)
    keep(tmp_path, "02cd", lines[:5])
    several = say("report")
    assert several.exit_code == 2
    assert "01ab, 02cd" in several.stderr
    assert say("report", "--board", "01ab").exit_code == 0
    assert say("report", "--board", "03ef").exit_code == 2


def test_a_virtual_board_does_not_stand_in_the_way(tmp_path: Path, lines: list[str]) -> None:
    """Its number shows what it is: beside a real board it is only reported when it is named."""
    virtual = (VIRTUAL + b"\x01\x02\x03\x04").hex()
    keep(tmp_path, virtual, lines[:8])
    assert say("report").exit_code == 0
    keep(tmp_path, "01ab", lines)
    assert json.loads(say("report", "--json").stdout)["log"]["records"] == len(lines)
    some = json.loads(say("report", "--json", "--board", virtual).stdout)
    assert some["log"]["records"] == 8


def test_files_beside_it(tmp_path: Path, lines: list[str]) -> None:
    pytest.importorskip("matplotlib")
    keep(tmp_path, "01ab", lines)
    page, table = tmp_path / "nights.html", tmp_path / "nights.csv"
    result = say("report", "--page", str(page), "--csv", str(table))
    assert result.exit_code == 0, result.stderr
    assert "</html>" in page.read_text(encoding="utf-8")
    assert table.read_text(encoding="utf-8").startswith("night_of,")
    assert say("report", "--page", str(tmp_path / "no" / "x.html")).exit_code == 2


def test_a_file_that_is_no_log_is_told_so(tmp_path: Path) -> None:
    file = tmp_path / "junk.log"
    file.write_text("hello\n")
    refused = say("report", str(file))
    assert refused.exit_code == 1
    assert "1 line could not be read; give one that `rillkeeper log --raw`" in refused.stderr
    assert refused.stderr.count("\n") == 1
