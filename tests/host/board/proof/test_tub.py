"""A tub of known litres says what a pulse of the flow meter is."""

from pathlib import Path

import pytest

from rillkeeper.board.proof.outcome import FAILED, PASSED, Outcome
from rillkeeper.board.proof.records import ProofRecords
from rillkeeper.board.proof.runner import walk
from rillkeeper.board.proof.steps import BY_ID
from rillkeeper.runlog.store import Archive
from tests.host.board.proof.conftest import MakeBench
from tests.host.board.proof.script import ScriptedPerson
from tests.host.board.proof.workbench import Workbench

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("proof, all steps")]


def pulse_m3(bench: Workbench) -> float:
    meter = bench.plant.sensors.meter
    assert meter is not None
    return meter.pulse_m3


def walked(
    make_bench: MakeBench, folder: Path, *, reads: float = 1.0, meter_out: bool = False
) -> tuple[Outcome, int, Workbench, list[str]]:
    """The step; ``reads`` is what the person finds over what is missing in the tub."""
    bench = make_bench(flow_fitted=True)
    with Archive(folder / "a.sqlite") as archive:
        session = bench.session(archive)
        person = ScriptedPerson(bench)
        person.gauge_error = reads
        if meter_out:
            bench.hands.do("meter-plug", "out")
        outcome = walk(BY_ID["flow-meter"], session, person, ProofRecords(archive))
        assert session.status().relay == 0
        return outcome, session.settings["pulse_ul"], bench, [text for _, text in person.said]


def test_a_pulse_is_what_the_plant_has_let_through(make_bench: MakeBench, tmp_path: Path) -> None:
    """This meter's own pulse, which the site file does not know, by a jug of 4 % too little."""
    outcome, pulse_ul, bench, said = walked(make_bench, tmp_path, reads=0.96)
    assert outcome.result == PASSED
    true_ul = 1e9 * pulse_m3(bench)
    assert pulse_ul == pytest.approx(0.96 * true_ul, rel=0.01)
    assert f"write flow_pulses = {1e6 / pulse_ul:.4g} into the site file" in outcome.note
    assert any(f"Then write pulse_ul 2222 -> {pulse_ul}?" in text for text in said)


def test_what_no_meter_is_off_by_is_not_written(make_bench: MakeBench, tmp_path: Path) -> None:
    outcome, pulse_ul, _, _ = walked(make_bench, tmp_path, reads=0.6)
    assert (outcome.result, pulse_ul) == (FAILED, 2222)
    assert outcome.note.endswith("no more than 20 % can be the meter's")


def test_a_meter_without_its_lead_fails(make_bench: MakeBench, tmp_path: Path) -> None:
    """The board itself stops the pump, which sends no pulse."""
    outcome, pulse_ul, _, _ = walked(make_bench, tmp_path, meter_out=True)
    assert (outcome.result, pulse_ul) == (FAILED, 2222)
    assert outcome.note.startswith(("no water came", "the board counted 0 pulses"))
