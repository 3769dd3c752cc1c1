"""The archive: read twice, torn, out of order, from two boards; damaged, or none at all."""

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rillkeeper.board.proof.outcome import PASSED, Outcome
from rillkeeper.board.proof.records import Calibration, ProofRecords
from rillkeeper.cli import cli
from rillkeeper.errors import RillkeeperError
from rillkeeper.morning.report.report import report_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.store import FILE, Archive, ArchiveDamaged
from rillkeeper.site.file import DEMO, demo_site
from tests.host.morning.sample_week import demo_week
from tests.host.runlog.sample_log import Writer, minutes, sample


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "kept" / FILE


@pytest.fixture
def lines() -> list[str]:
    return list(sample().lines)


def say(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def many(count: int) -> list[str]:
    """A log long enough to fill many pages of a database."""
    log = Writer()
    for number in range(count):
        log.add(
            f"{number // 1000} 22:{number // 60 % 60:02d}:{number % 60:02d}", "rain", number % 2
        )
    return log.lines


def test_the_same_log_read_twice_adds_nothing(file: Path, lines: list[str]) -> None:
    with Archive(file) as archive:
        assert archive.add("01ab", 0, lines) == lines
    with Archive(file) as archive:
        assert archive.add("01ab", 0, lines) == []
        assert archive.lines("01ab") == lines


def test_read_in_pieces_out_of_order(file: Path, lines: list[str]) -> None:
    with Archive(file) as archive:
        for piece in (lines[30:], lines[10:20], lines[:15], lines[18:40]):
            archive.add("01ab", 0, piece)
        assert archive.lines("01ab") == lines
        last = archive.last("01ab")
        assert last is not None
        assert last.line == lines[-1]


def test_torn_in_the_middle_is_stated_and_then_mended(file: Path, lines: list[str]) -> None:
    with Archive(file) as archive:
        archive.add("01ab", 0, lines[:20] + lines[25:])
        torn = read_log(archive.lines("01ab"))
        assert torn.missing == 5
        assert not torn.whole
        archive.add("01ab", 0, lines[18:28])
        assert read_log(archive.lines("01ab")).whole


def test_a_line_torn_in_the_file_leaves_the_others(tmp_path: Path, lines: list[str]) -> None:
    """Cut in two by a line break, as a terminal program does: both halves are told."""
    torn = tmp_path / "torn.log"
    text = "\n".join([*lines[:20], lines[20][:22], lines[20][22:], *lines[21:]])
    torn.write_text(text)
    result = say("report", str(torn))
    assert result.exit_code == 0
    assert "1 record is missing between" in result.stdout
    assert "2 lines could not be read: 21, 22." in result.stdout


def test_two_boards_do_not_mix(file: Path, lines: list[str]) -> None:
    with Archive(file) as archive:
        archive.add("01ab", 0, lines)
        archive.add("02cd", 0, lines[:5])
        assert archive.boards() == ["01ab", "02cd"]
        assert archive.lines("01ab") == lines
        assert archive.lines("02cd") == lines[:5]
    result = say("report", "--archive", str(file))
    assert result.exit_code == 2
    assert "choose one with --board: 01ab, 02cd" in result.stderr
    assert say("report", "--archive", str(file), "--board", "01ab").exit_code == 0


def test_a_board_whose_log_rolled_over(file: Path, lines: list[str]) -> None:
    """The board gave up its oldest records before they were read: the hole is stated."""
    with Archive(file) as archive:
        archive.add("01ab", 0, lines[:10])
        archive.add("01ab", 0, lines[30:])
        report = report_of(archive.lines("01ab"))
    assert report.log.missing == 20
    assert report.log.gaps[0].sentence.startswith("20 records are missing between")
    assert len(report.nights) == 3
    assert report.nights[0].run_s is not None


def test_only_the_end_is_left(lines: list[str]) -> None:
    """What came before the first record that there is was never promised by any."""
    log = read_log(lines[35:])
    assert log.whole
    assert log.entries[0].seq == 35


def test_a_wiped_board_begins_a_new_spell(file: Path, lines: list[str]) -> None:
    with Archive(file) as archive:
        archive.add("01ab", 0, lines)
        archive.add("01ab", 1, lines[:3])
        assert archive.lines("01ab") == [*lines, *lines[:3]]


def damage(file: Path, offset: int, count: int = 3000) -> bytes:
    content = bytearray(file.read_bytes())
    content[offset : offset + count] = b"\x5a" * len(content[offset : offset + count])
    file.write_bytes(content)
    return bytes(content)


def test_a_damaged_archive_is_kept_aside_and_saved_from(file: Path) -> None:
    lines = many(3000)
    with Archive(file) as archive:
        archive.add("01ab", 0, lines)
    content = damage(file, file.stat().st_size // 2)
    with pytest.raises(ArchiveDamaged, match="the archive is damaged .* nothing was changed"):
        Archive(file)
    assert file.read_bytes() == content, "whoever only reads leaves it alone"
    with Archive.renewed(file) as archive:
        assert archive.renewal is not None
        aside = archive.renewal.kept_as
        assert aside.read_bytes() == content
        assert aside.name == "archive.damaged-1.sqlite"
        saved = archive.lines("01ab")
        assert archive.renewal.saved == len(saved)
        assert str(len(saved)) in archive.renewal.sentence
        assert saved[0] == lines[0]
        assert len(saved) > 1000
        assert set(saved) <= set(lines)
        missing = len(lines) - len(saved)
        assert len(archive.add("01ab", 0, lines)) == missing, "the rest comes with a new reading"


def test_proofs_and_calibrations_are_saved_too(file: Path) -> None:
    """They lie in the same file, and nobody can read them from the board again."""
    made = Calibration("2026-04-01T10:00:00", {"pressure_offset_pa": 0}, {}, "x")
    with Archive(file) as archive:
        archive.add("01ab", 0, many(3000))
        records = ProofRecords(archive)
        proof = records.begin("01ab", "2026-04-01T10:00:00", "0.1.0", "A", "B", "season")
        records.add(proof, Outcome("dead-head", "dead head", PASSED, ""))
        records.add_calibration("01ab", made)
    damage(file, file.stat().st_size // 2)
    with Archive.renewed(file) as archive:
        assert archive.renewal is not None
        records = ProofRecords(archive)
        saved = records.open_proof("01ab", "season")
        assert saved is not None
        assert [outcome.step for outcome in saved.outcomes] == ["dead-head"]
        assert records.last_calibration("01ab") == made


def test_the_newest_steps_of_a_proof_are_saved_wherever_the_damage_is(file: Path) -> None:
    """Behind the damage, too: the last steps are those that the sign-off waits for."""
    steps = [f"step-{number}" for number in range(500)]
    with Archive(file) as archive:
        records = ProofRecords(archive)
        proof = records.begin("01ab", "2026-04-01T10:00:00", "0.1.0", "A", "B", "season")
        for step in steps:
            records.add(proof, Outcome(step, "dead head", PASSED, "n" * 60))
    page = file.read_bytes().index(b"step-200") // 4096
    damage(file, page * 4096, 4096)
    with Archive.renewed(file) as archive:
        assert archive.renewal is not None
        saved = ProofRecords(archive).open_proof("01ab", "season")
    assert saved is not None
    found = [outcome.step for outcome in saved.outcomes]
    assert found == [step for step in steps if step in found], "each once, in its order"
    assert found[0] == steps[0]
    assert found[-1] == steps[-1]
    assert 400 < len(found) < 500


def test_the_second_damage_does_not_write_over_the_first(file: Path) -> None:
    for name in ("archive.damaged-1.sqlite", "archive.damaged-2.sqlite"):
        with Archive(file) as archive:
            archive.add("01ab", 0, many(3000))
        content = damage(file, 0, 200)
        with Archive.renewed(file) as archive:
            assert archive.renewal is not None
            assert archive.renewal.kept_as.name == name
        assert (file.parent / name).read_bytes() == content


def test_report_on_a_damaged_archive_is_one_clear_line(file: Path) -> None:
    with Archive(file) as archive:
        archive.add("01ab", 0, many(3000))
    content = damage(file, file.stat().st_size // 2)
    result = say("report", "--archive", str(file))
    assert result.exit_code == 1
    assert "the archive is damaged" in result.stderr
    assert "rillkeeper log" in result.stderr
    assert result.stderr.count("\n") == 1
    assert file.read_bytes() == content


def test_what_is_no_archive_is_left_alone(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear archive, this is long enough to be no database at all. " * 20)
    before = letter.read_bytes()
    with pytest.raises(RillkeeperError, match="another kind of file"):
        Archive.renewed(letter)
    assert letter.read_bytes() == before
    assert list(tmp_path.iterdir()) == [letter]


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    other = tmp_path / "songs.sqlite"
    base = sqlite3.connect(other)
    base.execute("CREATE TABLE song (name TEXT)")
    base.commit()
    base.close()
    before = other.read_bytes()
    with pytest.raises(RillkeeperError, match="another program's database"):
        Archive.renewed(other)
    assert other.read_bytes() == before


def test_a_later_version_is_not_touched(file: Path) -> None:
    with Archive(file) as archive:
        archive.add("01ab", 0, many(3))
    base = sqlite3.connect(file)
    base.execute("PRAGMA user_version = 99")
    base.commit()
    base.close()
    with pytest.raises(RillkeeperError, match="later rillkeeper"):
        Archive.renewed(file)


def test_a_board_of_another_site_is_said(tmp_path: Path, lines: list[str]) -> None:
    """The sample's board has a set of 20 min; the demonstration asks for 6 mm in two runs."""

    log = tmp_path / "run.log"
    log.write_text("\n".join(lines))
    result = say("report", str(log), "--site", str(DEMO))
    assert result.exit_code == 0
    told = " ".join(result.stdout.split())
    assert "The board's set 1 is 20 min, and the site file asks for 6.0 mm in 2 runs" in told
    assert "is this the site file of that board" in told


def test_a_site_of_its_own_is_no_other_site() -> None:

    assert report_of(demo_week().log, demo_site()).other_site == ()


def test_each_sign_of_another_site(lines: list[str]) -> None:
    """A smaller battery, a pressure half as high, other sets: a sentence for each."""
    site = demo_site()
    hours = (replace(site.sets[0], unit="minutes", amount=20.0, runs=1, soak_s=0),)
    same = replace(site, sets=hours)
    assert report_of(lines, same).other_site == ()
    small = replace(same, battery=replace(site.battery, capacity_ah=50.0))
    (sign,) = report_of(lines, small).other_site
    assert sign.startswith("The board counts up to 30.0 Ah, and this site's battery gives 21.9 Ah")
    log = Writer()
    log.add("0 22:00:02", "start", 1, 1, 12600, 30000, 150, 11000)
    minutes(log, 0, 1, 20, 60000, 12000)
    (sign,) = report_of(log.lines, same).other_site
    assert sign.startswith("The pressure was 0.60 bar, and ")
