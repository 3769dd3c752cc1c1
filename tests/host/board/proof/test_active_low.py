"""A relay module that closes when it is told to open fails the first step that closes it."""

from pathlib import Path

import pytest

from rillkeeper.board.proof.outcome import FAILED
from rillkeeper.board.proof.records import ProofRecords
from rillkeeper.board.proof.runner import walk
from rillkeeper.board.proof.steps import BY_ID, STEPS
from rillkeeper.runlog.store import Archive
from rillsim.boards import contact
from tests.host.board.proof.conftest import MakeBench
from tests.host.board.proof.script import ScriptedPerson

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("proof, active-low")]


@pytest.mark.parametrize(
    ("fitted", "note"),
    [
        ({"load_sense_fitted": True}, "active-low"),
        # Pump unplugged, no transducer: nothing but the person's meter can tell.
        ({"load_sense_fitted": False, "pressure_fitted": False}, "stays dead"),
    ],
    ids=["load sense", "no load sense"],
)
def test_the_first_step_fails(
    fitted: dict[str, bool], note: str, make_bench: MakeBench, tmp_path: Path
) -> None:
    assert STEPS[0].id == "relay-click"
    bench = make_bench(**fitted)
    bench.turn(contact_mode=contact.INVERTED)
    with Archive(tmp_path / "a.sqlite") as archive:
        session = bench.session(archive)
        person = ScriptedPerson(bench)
        outcome = walk(BY_ID["relay-click"], session, person, ProofRecords(archive))
        assert outcome.result == FAILED
        assert note in outcome.note
