"""The whole proof against the whole firmware, with the plant behind it: every step passes."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from keeper.rules import NAME, NEEDS, RULES
from keeper.settings import SCHEMA
from rillkeeper.board.link import state
from rillkeeper.board.proof import procedure
from rillkeeper.board.proof.outcome import NOT_PROVED, PASSED, UNPROTECTED
from rillkeeper.board.proof.records import Proof, ProofRecords
from rillkeeper.board.proof.step import hold_ms
from rillkeeper.board.proof.steps import BY_ID, STEPS
from rillkeeper.runlog.store import Archive
from tests.host.board.proof.conftest import MakeBench
from tests.host.board.proof.script import ScriptedPerson
from tests.host.board.proof.workbench import Workbench

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("proof, all steps")]

RULE_NAMES = [row[NAME] for row in RULES]
FITTINGS: dict[str, dict[str, Any]] = {
    "everything": {"current_fitted": True, "second_relay_fitted": True},
    "no current, frost or rain": {"frost_fitted": False, "rain_fitted": False},
    "no load-side sense, no clock chip": {"load_sense_fitted": False, "clock_backed": False},
    "no transducer": {"pressure_fitted": False},
}
PUMPED_S_MAX = 900
"""All steps together; a night's set takes as long."""


@dataclass
class Proved:
    """A proof that was walked from the first step to the sign-off."""

    bench: Workbench
    person: ScriptedPerson
    proof: Proof
    left_mah: tuple[int, int]
    after: state.Status
    settings: dict[str, int]


@pytest.fixture(scope="module", params=FITTINGS)
def proved(request: pytest.FixtureRequest, make_bench: MakeBench, tmp_path_factory: Any) -> Proved:
    bench = make_bench(**FITTINGS[request.param])
    path: Path = tmp_path_factory.mktemp("archive") / "a.sqlite"
    with Archive(path) as archive:
        records = ProofRecords(archive)
        session = bench.session(archive)
        before = session.status().left_mah or 0
        person = ScriptedPerson(bench)
        proof = procedure.open_or_begin(session, records)
        steps = procedure.to_walk(proof, session.settings)
        procedure.prove(session, person, records, proof, steps, lambda outcome: None)
        procedure.sign(session, records, proof, "the tester")
        after = session.status()
        proof = records.last(session.who.board) or proof
        made = Proved(
            bench,
            person,
            proof,
            (before, after.left_mah or 0),
            after,
            state.settings(session.talk),
        )
    return made


def test_every_step_passes(proved: Proved) -> None:
    """But for the rules that no step can provoke: those say so."""
    wrong = [row for row in proved.proof.outcomes if row.result not in (PASSED, UNPROTECTED)]
    assert {row.rule: (row.result, row.note) for row in wrong} == {
        rule: (NOT_PROVED, reason)
        for rule, reason in procedure.not_on_site(proved.bench.settings).items()
    }


def test_every_rule_is_in_the_record(proved: Proved) -> None:
    rows = {row.rule: row.result for row in proved.proof.outcomes if row.rule}
    assert sorted(rows) == sorted(RULE_NAMES)
    not_on_site = procedure.not_on_site(proved.bench.settings)
    for name, result in rows.items():
        needs = RULES[RULE_NAMES.index(name)][NEEDS].split()
        fitted = all(proved.bench.settings[f"{word}_fitted"] for word in needs)
        assert (result == PASSED) == (fitted and name not in not_on_site), name


def test_times_are_the_holds_of_the_board(proved: Proved) -> None:
    """What the board says it waited is its own setting, and at most two ticks more."""
    held = 0
    for row in proved.proof.outcomes:
        if row.result == PASSED and row.rule and BY_ID[row.step].timed == "held":
            assert row.measured is not None
            hold = hold_ms(row.rule, proved.settings)
            assert hold <= row.measured <= hold + 200, row
            held += 1
    assert held >= 9


def test_the_board_is_as_it_was(proved: Proved) -> None:
    """Its settings but for the trims, which the person agreed to; nothing is left locked."""
    given = proved.bench.settings
    assert {key: proved.settings[key] for key in given} == given
    trimmed = [key for key in proved.settings if "_trim_" in key or key == "battery_offset_mv"]
    others = [row[0] for row in SCHEMA if row[0] not in (*given, *trimmed)]
    assert all(proved.settings[row[0]] == row[4] for row in SCHEMA if row[0] in others)
    assert any(proved.settings[key] for key in trimmed)
    assert (proved.after.state, proved.after.relay) == ("idle", 0)
    before, after = proved.left_mah
    assert 0 <= before - after < 5000, "lowered limits do not touch the count of charge"


def test_the_pump_runs_no_longer_than_it_must(proved: Proved) -> None:
    assert proved.bench.pumped_ticks / 10.0 < PUMPED_S_MAX


def test_the_person_saw_readings_and_time_left(proved: Proved) -> None:
    assert any(
        "bar" in line and "V" in line and "s left" in line for line in proved.person.watched
    )
    told = {step for step, _ in proved.person.said}
    assert {step.id for step in STEPS if step.fits(proved.bench.settings)} == told


def test_the_resistance_of_the_supply_stands_beside_its_limit(proved: Proved) -> None:
    (row,) = [row for row in proved.proof.outcomes if row.step == "weak-supply"]
    limit = proved.bench.settings["resistance_warn_mohm"]
    found = re.fullmatch(rf"the supply has (\d+) mohm, its limit is {limit} mohm", row.note)
    assert found, row.note
    assert int(found[1]) == pytest.approx(proved.bench.settings["resistance_mohm"], rel=0.5)


def test_the_record_says_what_it_holds_for(proved: Proved) -> None:
    proof = proved.proof
    assert proof.ended is not None
    assert proof.person == "the tester"
    assert len(proof.files_crc) == len(proof.settings_crc) == 8
    assert proof.firmware
    assert proof.under_way == ""
