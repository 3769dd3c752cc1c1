"""Small tests in the archive: the next answer counts with them, and says so everywhere."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from rillkeeper.cli import cli
from rillkeeper.commands import diagnosis, report
from rillkeeper.commands.test import _refuse, _say
from rillkeeper.desk import pages
from rillkeeper.errors import RillkeeperError
from rillkeeper.inquiry.why.small_tests import informed
from rillkeeper.inquiry.why.small_tests.bank import Bank, read_all
from rillkeeper.inquiry.why.small_tests.kept import PROOF, KeptTests, Made, without_tests
from rillkeeper.inquiry.why.small_tests.table import BY_NAME
from rillkeeper.runlog.lines import RunLog, read_log
from rillkeeper.runlog.store import Archive
from rillkeeper.site.file import load_site
from rillsim.site import Site
from tests.host.inquiry.why.conftest import Bench, fault

pytestmark = pytest.mark.xdist_group("why")

BOARD = "0123456789abcdef"
KINK = ("hose_kinked", 0.75)
CAUSE = "hose kinked or crushed"


@pytest.fixture(scope="module")
def folder(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site file, and an archive with a week of a kinked hose."""
    made = tmp_path_factory.mktemp("kept")
    (made / "site.toml").write_text(bench.text, encoding="utf-8")
    bench.known_in(made / "data")
    with Archive(made / "archive.sqlite") as archive:
        archive.add(BOARD, 0, bench.week(312, fault(*KINK)).log)
    return made


def asked(folder: Path, *more: str) -> str:
    words = ["why", str(folder / "site.toml"), "--archive", str(folder / "archive.sqlite"), *more]
    result = CliRunner().invoke(
        cli, words, prog_name="rillkeeper", env={"XDG_DATA_HOME": str(folder / "data")}
    )
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_answer_names_a_test_and_the_next_one_counts_with_it(
    bench: Bench, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(folder / "data"))
    before = json.loads(asked(folder, "--json"))
    assert len(before["first_answer"]) > 1
    name = before["next_test"]["name"]
    assert before["next_test"]["right_after"] > before["next_test"]["right_before"]
    page = folder / "why.html"
    told = asked(folder, "--page", str(page))
    assert f"rillkeeper test {name}" in " ".join(told.split())
    assert "One small test" in page.read_text(encoding="utf-8")

    test = BY_NAME[name]
    read = read_all(Bank(bench.site, bench.settings, [KINK]), [test])
    readings = {one.key: read[one.key] for one in test.readings}
    with Archive(folder / "archive.sqlite") as archive:
        last = read_log(archive.lines(BOARD)).entries[-1]
        made = Made(name, "2026-07-14T09:00:00", last.night, readings)
        KeptTests(archive).add(BOARD, made, (0, last.seq + 1, last.seq + 1))
    after = json.loads(asked(folder, "--json"))
    assert after["causes"][0]["name"] == CAUSE
    chance = {one["name"]: one["probability"] for one in before["causes"]}
    assert after["causes"][0]["probability"] > chance[CAUSE]
    assert [one["test"] for one in after["tests_made"]] == [name]
    assert name not in {one["name"] for one in after["small_tests"]}
    assert f"Test {name} of 2026-07-14: " in asked(folder)

    site = load_site(str(folder / "site.toml"))
    _say(test, made, BOARD, str(folder / "archive.sqlite"), site)
    said = capsys.readouterr().out
    assert "Before this test: " in said
    assert f"After it: {CAUSE} " in said
    assert "(sound: " in said


def test_records_of_a_test_are_no_fault_of_the_night(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last run of the log marked as a test: its records are gone from the answer, its number
    of missing records is not."""
    with Archive(folder / "archive.sqlite") as archive:
        lines = archive.lines(BOARD)
    entries = read_log(lines).entries
    start = next(entry for entry in reversed(entries) if entry.kind == "start")
    with Archive(tmp_path / "archive.sqlite") as archive:
        archive.add(BOARD, 0, lines)
        made = Made("tap", "2026-07-14T09:00:00", start.night, {})
        KeptTests(archive).add(BOARD, made, (0, start.seq, entries[-1].seq + 1))
        (kept,) = KeptTests(archive).of(BOARD)
    assert len(kept.records) == entries[-1].seq + 1 - start.seq
    words = ["report", "--archive", str(tmp_path / "archive.sqlite"), "--json"]
    told = json.loads(CliRunner().invoke(cli, words, prog_name="rillkeeper").stdout)
    assert told["tests_made"] == [{"test": "tap", "made": made.made, "readings": {}}]
    assert told["log"]["missing"] == 0
    assert told["log"]["records"] == start.seq
    assert "the runs of small tests (tap of 2026-07-14)" in pages.morning(
        tmp_path / "archive.sqlite", BOARD
    )
    given: list[tuple[Made, ...]] = []
    monkeypatch.setattr(pages, "inquiry_of", lambda _site, _log, made: given.append(made))
    monkeypatch.setattr("rillkeeper.pages.why.html_of", lambda _inquiry: "")
    pages.why(tmp_path / "archive.sqlite", BOARD)
    assert [one.test for one in given[0]] == ["tap"]
    spared = without_tests(read_log(lines), [kept])
    assert [entry.seq for entry in spared.entries] == list(range(start.seq))
    assert spared.missing == read_log(lines).missing == 0


def test_a_report_asks_with_the_tests_whatever_part_of_the_log_it_shows(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As its note says: why counts with what they read."""
    archive_file = tmp_path / "archive.sqlite"
    with Archive(folder / "archive.sqlite") as archive:
        lines = archive.lines(BOARD)
    last = read_log(lines).entries[-1]
    with Archive(archive_file) as archive:
        archive.add(BOARD, 0, lines)
        made = Made("tap", "2026-07-14T09:00:00", last.night, {})
        KeptTests(archive).add(BOARD, made, (0, last.seq, last.seq + 1))
    asked_with: list[list[str]] = []

    def asked(_log: RunLog, _site: Site, *, made: tuple[Made, ...] = ()) -> None:
        asked_with.append([one.test for one in made])

    monkeypatch.setattr(report, "ask_why", asked)
    monkeypatch.setattr(diagnosis, "ask_why", asked)
    words = ["report", "--archive", str(archive_file), "--site", str(folder / "site.toml")]
    for more in ([], ["--since", "2026-07-12"]):
        result = CliRunner().invoke(cli, [*words, *more], prog_name="rillkeeper")
        assert result.exit_code == 0, result.output
    pages.morning(archive_file, BOARD)
    assert asked_with == [["tap"]] * 3


def test_what_a_proof_has_provoked_is_no_fault_of_the_night(folder: Path, tmp_path: Path) -> None:
    """The last night of the log, its stops among it, was a person's doing; so was what came after
    the board had been wiped."""
    with Archive(folder / "archive.sqlite") as archive:
        lines = archive.lines(BOARD)
    entries = read_log(lines).entries
    start = next(entry for entry in reversed(entries) if entry.kind == "start")
    archive_file = tmp_path / "archive.sqlite"
    with Archive(archive_file) as archive:
        archive.add(BOARD, 0, lines[: start.seq])
        before = archive.last(BOARD)
        kept = KeptTests(archive)
        kept.add_since(BOARD, Made(PROOF, "2026-07-13T09:00:00", 0, {}), before)
        assert kept.of(BOARD) == (), "nothing came"
        archive.add(BOARD, 0, lines[start.seq :])
        archive.add(BOARD, 1, [lines[start.seq]])
        kept.add_since(BOARD, Made(PROOF, "2026-07-14T09:00:00", 0, {}), before)
        (old, new) = kept.of(BOARD)
    assert len(old.records) == len(lines) - start.seq
    assert len(new.records) == 1
    words = ["report", "--archive", str(archive_file)]
    told = json.loads(CliRunner().invoke(cli, [*words, "--json"], prog_name="rillkeeper").stdout)
    assert told["proofs_left_out"] == [old.made, new.made]
    assert told["tests_made"] == []
    assert told["log"]["records"] == start.seq
    shown = CliRunner().invoke(cli, words, prog_name="rillkeeper").stdout
    assert "no night's doing: what a proof has provoked (2026-07-14)." in " ".join(shown.split())
    assert "small tests" not in shown


def test_a_site_on_which_a_test_would_not_do_is_told_so(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No pressure sensor; and a pump that would come near its rating against the shut tap (a site
    where it would pass the rating has no limits at all)."""
    bare = replace(bench.site, board=replace(bench.site.board, pressure_fitted=False))
    with pytest.raises(RillkeeperError, match="has not the sensors"):
        _refuse(BY_NAME["tap"], bare)
    _refuse(BY_NAME["volts"], bare)
    _refuse(BY_NAME["tap"], bench.site)
    monkeypatch.setattr(informed, "TAP_SHARE", 0.5)
    with pytest.raises(RillkeeperError, match="too near to its"):
        _refuse(BY_NAME["tap"], bench.site)
