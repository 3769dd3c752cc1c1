"""What is wired in another way than the board believes fails the first steps of either round."""

from pathlib import Path

import pytest

from rillkeeper.board.proof.outcome import FAILED
from rillkeeper.board.proof.records import ProofRecords
from rillkeeper.board.proof.runner import walk
from rillkeeper.board.proof.step import BUILD, SEASON
from rillkeeper.board.proof.steps import BY_ID, STEPS
from rillkeeper.runlog.store import Archive
from rillsim.boards import contact
from tests.host.board.proof.conftest import MakeBench
from tests.host.board.proof.script import ScriptedPerson

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("proof, active-low")]


BARE = {"load_sense_fitted": False, "pressure_fitted": False}
"""Pump unplugged, no transducer: nothing but the person's meter can tell."""
SENSED = {"load_sense_fitted": True}


@pytest.mark.parametrize("fitted", [SENSED, BARE], ids=["load sense", "no load sense"])
def test_the_first_steps_fail(
    fitted: dict[str, bool], make_bench: MakeBench, tmp_path: Path
) -> None:
    """Of the build the resistor and the polarity, of the season power and the click."""
    bench = make_bench(**fitted)
    bench.hands.do("pump-plug", "out")
    bench.turn(contact_mode=contact.INVERTED)
    firsts = [[step.id for step in STEPS if step.round == name][:2] for name in (BUILD, SEASON)]
    assert firsts == [["pull-down", "polarity"], ["stays-dead", "relay-click"]]
    with Archive(tmp_path / "a.sqlite") as archive:
        session = bench.session(archive)
        for step in firsts[0] + firsts[1]:
            person = ScriptedPerson(bench)
            outcome = walk(BY_ID[step], session, person, ProofRecords(archive))
            assert outcome.result == FAILED, step
            seen = ("active-low", "stays dead", "not so")
            assert any(words in outcome.note for words in seen), outcome


def test_wires_turned_round_are_seen_by_the_meter(make_bench: MakeBench, tmp_path: Path) -> None:
    bench = make_bench()
    with Archive(tmp_path / "a.sqlite") as archive:
        session = bench.session(archive)
        person = ScriptedPerson(bench)
        person.turned_round = True
        outcome = walk(BY_ID["polarity"], session, person, ProofRecords(archive))
        assert outcome.result == FAILED
        assert outcome.note.endswith("the wires to the plug are turned round")
        assert bench.level == 0


WITH_A_SECOND = {"second_relay_fitted": True}
WITHOUT_A_SECOND = {"second_relay_fitted": False}


@pytest.mark.parametrize(
    ("wired", "told"),
    [(WITHOUT_A_SECOND, WITH_A_SECOND), (WITH_A_SECOND, WITHOUT_A_SECOND)],
    ids=["second relay missing", "second relay not told of"],
)
def test_a_second_relay_that_is_not_as_told(
    wired: dict[str, bool], told: dict[str, bool], make_bench: MakeBench, tmp_path: Path
) -> None:
    bench = make_bench(told=told, **wired)
    bench.hands.do("pump-plug", "out")
    with Archive(tmp_path / "a.sqlite") as archive:
        session = bench.session(archive)
        for step in ("polarity", "relay-click"):
            outcome = walk(BY_ID[step], session, ScriptedPerson(bench), ProofRecords(archive))
            assert outcome.result == FAILED, step
