"""Pages of a board in the archive that open from the desk."""

from pathlib import Path

import pytest

from rillkeeper.board.proof.outcome import Outcome
from rillkeeper.board.proof.records import ProofRecords
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.desk.guard import SHOWN_POLICY
from rillkeeper.runlog.boards import Boards
from rillkeeper.runlog.store import Archive
from rillkeeper.site.file import read_site
from rillsim.replay import replay
from tests.host.desk.serving import DEMO_TEXT, Open, served

SHORT = read_site(DEMO_TEXT.replace('depth = "6 mm"', 'run = "4 min"'))


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("shown") / "archive.db"
    done = replay(SHORT, settings_of(SHORT), nights=1)
    with Archive(path) as found:
        found.add("b1", 0, done.log)
        Boards(found).was_read("b1")
    return path


def test_the_morning_page(archive: Path) -> None:
    with served(archive) as desk:
        found = desk.get("shown/morning?board=b1")
        assert found.status == 200
        assert found.headers["content-security-policy"] == SHOWN_POLICY
        assert "script" not in SHOWN_POLICY
        text = found.body.decode()
        assert "Thursday 9 July 2026" in text
        assert desk.get("shown/morning").status == 200, "the only board"
        assert desk.get("shown/morning?board=b2").status == 404


def test_the_proofs_record(archive: Path) -> None:
    with served(archive) as desk:
        assert "make one: rillkeeper prove" in desk.get("shown/proof").body.decode()
        with Archive(archive) as found:
            records = ProofRecords(found)
            proof = records.begin("b1", "2026-07-09T10:00:00", "0.1", "A1", "B2", "season")
            records.add(proof, Outcome("dry-run", "dry run", "passed", measured=2000, limit=2500))
        shown = desk.get("shown/proof")
        assert shown.status == 200
        assert "Proof of the protections" in shown.body.decode()


def test_why_says_what_it_lacks(desk: Open) -> None:
    found = desk.get("shown/why")
    assert found.status == 404
    assert "nothing in the archive yet; read a board: rillkeeper log" in found.body.decode()
