"""`rillkeeper prove` on the command line, its record in the archive, and how that is shown."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rillkeeper.board.link import ports
from rillkeeper.board.proof import record_page
from rillkeeper.board.proof.minutes import TYPICAL
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, UNPROTECTED, Outcome
from rillkeeper.board.proof.records import Calibration, Proof, ProofRecords
from rillkeeper.board.proof.rounds import standing
from rillkeeper.board.proof.step import BUILD, SEASON
from rillkeeper.board.proof.steps import STEPS
from rillkeeper.cli import cli
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.runlog.store import Archive
from rillkeeper.site.file import demo_site
from tests.host.runlog.sample_log import sample

DEAD_HEAD = Outcome("dead-head", "dead head", PASSED, "", 600, 900)
ROWS = (
    DEAD_HEAD,
    Outcome("over-run", "over-run", PASSED, "", 61000, 61000, "ms", 1000),
    Outcome("relay-chatter", "relay chatter", FAILED, "it came <late>", 4, 3, "changes"),
    Outcome("frost", "frost", NOT_PROVED, "left out: no ice"),
    Outcome("stall", "stall", UNPROTECTED, "its sensor is not fitted"),
    Outcome("relay-click", "", PASSED),
)


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(ports.list_ports, "comports", list)
    path = tmp_path / "archive.sqlite"
    Archive(path).__enter__()
    return path


def kept(
    path: Path, board: str = "01ab", person: str = "A. Gardener", name: str = SEASON
) -> Proof:
    with Archive(path) as opened:
        records = ProofRecords(opened)
        proof = records.begin(board, "2026-04-01T10:00:00", "0.1.0", "0123ABCD", "89EF4567", name)
        for row in ROWS:
            records.add(proof, row)
        records.sign(proof, "2026-04-01T12:30:00", person, "89EF4567")
    return proof


def say(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def test_the_steps_are_listed_without_a_board() -> None:
    text = say("prove", "--list").stdout
    for step in STEPS:
        assert step.id in text
        assert step.title in text


def test_without_a_terminal_it_asks_nobody(archive: Path) -> None:
    result = say("prove", "--archive", str(archive))
    assert (result.exit_code, result.stdout) == (2, "")
    assert "needs a person at a terminal" in result.stderr
    assert result.stderr.count("\n") == 1


def test_what_makes_no_sense(archive: Path) -> None:
    assert say("prove", "--json").exit_code == 2
    nothing = say("prove", "--show", "--archive", str(archive))
    assert nothing.exit_code == 1
    assert "no proof in the archive yet" in nothing.stderr
    kept(archive)
    kept(archive, "02cd")
    several = say("prove", "--show", "--archive", str(archive))
    assert several.exit_code == 2
    assert "--board: 01ab, 02cd" in several.stderr
    assert say("prove", "--show", "--board", "9", "--archive", str(archive)).exit_code == 2


def test_the_record_is_shown(archive: Path) -> None:
    kept(archive)
    text = say("prove", "--show", "--archive", str(archive)).stdout
    # "Proved" was said of a round with a step that had failed.
    assert "season: not proved, 1 step failed, walked 2026-04-01 12:30:00 by A. Gardener" in text
    assert "board 01ab, firmware 0.1.0" in text
    assert "firmware files 0123ABCD, settings 89EF4567" in text
    assert "0.6 s (to 0.1 s)" in text
    assert "5 rules: 2 passed, 1 failed, 1 not proved, 1 unprotected" in text


def test_the_record_as_json(archive: Path) -> None:
    kept(archive)
    document = json.loads(say("prove", "--show", "--json", "--archive", str(archive)).stdout)
    assert document["schema"] == 2
    assert document["never"] == ["build", "by-itself"]
    (season,) = document["rounds"]
    assert (season["round"], season["settings_crc"]) == ("season", "89EF4567")
    row = next(one for one in season["steps"] if one["step"] == "dead-head")
    assert (row["measured"], row["limit"], row["unit"], row["resolution"]) == (600, 900, "ms", 100)


def test_the_page_is_whole_and_escapes_what_was_typed(archive: Path) -> None:
    kept(archive, person="<b>A & B</b>")
    page = archive.parent / "proof.html"
    result = say("prove", "--show", "--page", str(page), "--archive", str(archive))
    assert result.exit_code == 0, result.stderr
    text = page.read_text(encoding="utf-8")
    assert "&lt;b&gt;A &amp; B&lt;/b&gt;" in text
    assert "it came &lt;late&gt;" in text
    assert "date and signature" in text
    assert "http" not in text
    assert "@page" in text


def test_a_later_try_takes_the_place_of_an_earlier_one(archive: Path) -> None:
    with Archive(archive) as opened:
        records = ProofRecords(opened)
        proof = records.begin("01ab", "2026-04-01T10:00:00", "0.1.0", "A", "B", SEASON)
        records.add(proof, Outcome("dead-head", "dead head", FAILED, "it never came"))
        records.add(proof, DEAD_HEAD)
        assert records.open_proof("01ab", SEASON) is not None
        assert records.open_proof("01ab", BUILD) is None
        found = records.last("01ab", SEASON)
        assert found is not None
        assert found.outcomes == [DEAD_HEAD]
        assert records.last("01ab", SEASON, signed=True) is None


def test_calibrations_are_kept_with_what_was_before(archive: Path) -> None:
    with Archive(archive) as opened:
        records = ProofRecords(opened)
        assert records.last_calibration("01ab") is None
        made = Calibration(
            "2026-04-01T10:00:00", {"battery_offset_mv": 0}, {"battery_offset_mv": 40}, "x"
        )
        records.add_calibration("01ab", made)
        assert records.last_calibration("01ab") == made


def test_the_log_of_the_same_archive_is_untouched(archive: Path) -> None:
    kept(archive)
    with Archive(archive) as found:
        assert found.boards() == []


def test_report_prints_the_last_proof(archive: Path) -> None:
    with Archive(archive) as made:
        made.add("01ab", 0, sample().lines)
    before = say("report", "--archive", str(archive))
    assert before.exit_code == 0, before.stderr
    assert "never been proved" in before.stdout
    assert "proof" not in json.loads(say("report", "--json", "--archive", str(archive)).stdout)
    kept(archive)
    document = json.loads(say("report", "--json", "--archive", str(archive)).stdout)
    assert document["proof"]["rounds"][0]["person"] == "A. Gardener"
    text = say("report", "--archive", str(archive)).stdout
    assert "not proved, 1 step failed, walked 2026-04-01 12:30:00 by A. Gardener" in text
    assert "2 passed, 1 failed, 1 not proved, 1 unprotected" in text


@pytest.mark.parametrize(("seen", "wanted"), [("12,61", 12.61), ("12610 mV", 12.61)])
def test_a_value_is_read_as_it_is_typed(seen: str, wanted: float) -> None:
    from rillkeeper.board.proof.at_terminal import read_value

    assert read_value(seen, "voltage") == pytest.approx(wanted)
    assert read_value("15 psi", "pressure") == pytest.approx(103421, rel=1e-4)


def test_a_round_whose_steps_were_left_out_is_not_simply_proved(archive: Path) -> None:
    left_out = [Outcome(step, "", NOT_PROVED, "left out: no hands") for step in ("frost", "stall")]
    not_on_site = Outcome("fuse blown", "fuse blown", NOT_PROVED, "it takes a pump that stands")
    whole = Proof(1, "b", "", "2026-04-01T12:30:00", "0.1.0", "A", "B", "", "", BUILD, [DEAD_HEAD])
    assert record_page.headline(whole).startswith("build: proved 2026-04-01")
    whole.outcomes.append(not_on_site)
    assert record_page.headline(whole).startswith("build: proved 2026-04-01")
    whole.outcomes += left_out
    assert record_page.headline(whole).startswith("build: proved, but for 2 steps, 2026-04-01")


def test_what_fails_today_is_not_covered_by_what_was_signed_before(archive: Path) -> None:
    """A round may stay open with a step that failed; one that is only begun tells nothing yet."""
    with Archive(archive) as opened:
        records = ProofRecords(opened)
        signed = records.begin("01ab", "2026-04-01T10:00:00", "0.1.0", "A", "B", SEASON)
        records.add(signed, DEAD_HEAD)
        records.sign(signed, "2026-04-01T12:30:00", "A. Gardener", "B")
        newer = records.begin("01ab", "2027-04-01T10:00:00", "0.1.0", "A", "B", SEASON)
        records.add(newer, Outcome("relay-click", "", PASSED))
        assert [one.number for one in record_page.latest(records, "01ab")] == [signed.number]
        records.add(newer, Outcome("dead-head", "dead head", FAILED, "it never came"))
        (shown,) = record_page.latest(records, "01ab")
        assert shown.number == newer.number
        assert "not proved, 1 step failed, not signed" in record_page.headline(shown)
        is_due, why = standing(SEASON, records, "01ab", TYPICAL, "A", datetime(2027, 4, 1))
        assert (is_due, why) == (True, "begun 2027-04-01, 1 step passed, 1 failed")


def test_the_table_has_a_row_a_step() -> None:
    proof = Proof(1, "b", "2026-04-01T10:00:00", None, "0.1.0", "A", "B", "", "", "", list(ROWS))
    assert record_page.table_of(proof).row_count == len(ROWS)
    assert [row.step for row in record_page.rows_of(proof)][:2] == ["frost", "relay-chatter"]
    assert "not signed" in record_page.headline(proof)


def test_new_settings_of_a_site_leave_a_calibration_alone() -> None:
    derived = settings_of(replace(demo_site(), faults=(), battery_trips=()))
    assert not [key for key in derived if "_trim_" in key or key == "battery_offset_mv"]
