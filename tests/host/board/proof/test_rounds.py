"""Which round is due by the record, what each asks of a person; archives from before rounds."""

import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from keeper.settings import SCHEMA
from rillkeeper.board.proof.look_at import LOOK_AT
from rillkeeper.board.proof.minutes import HANDS_S, TYPICAL, minutes
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, Outcome
from rillkeeper.board.proof.records import ProofRecords
from rillkeeper.board.proof.rounds import (
    ALL,
    NAMES,
    ROUNDS,
    SEASON_DAYS,
    chosen,
    of_name,
    standing,
    steps_of,
)
from rillkeeper.board.proof.step import BUILD, BY_ITSELF, SEASON
from rillkeeper.board.proof.steps import STEPS
from rillkeeper.errors import UsageMistake
from rillkeeper.runlog.store import Archive
from tests.notes.sums import NOTES

BOARD, FILES = "01ab", "0123ABCD"
NOW = datetime(2026, 4, 1, 12)
OLDER = """
CREATE TABLE proof (
    id INTEGER PRIMARY KEY, board TEXT NOT NULL, begun TEXT NOT NULL, ended TEXT,
    firmware TEXT NOT NULL, files_crc TEXT NOT NULL, settings_crc TEXT NOT NULL,
    person TEXT NOT NULL DEFAULT '', under_way TEXT NOT NULL DEFAULT ''
);
INSERT INTO proof VALUES (1, '01ab', '2026-03-01T10:00:00', '2026-03-01T11:00:00', '0.1.0',
    '0123ABCD', '89EF4567', 'A. Gardener', '');
"""


@pytest.fixture
def records(tmp_path: Path) -> ProofRecords:
    return ProofRecords(Archive(tmp_path / "a.sqlite"))


def prove(records: ProofRecords, name: str, *, failed: str = "", left_out: str = "") -> None:
    """A round gone through on the first of April."""
    proof = records.begin(BOARD, "2026-04-01T10:00:00", "0.1.0", FILES, "89EF4567", name)
    for step in steps_of(name, TYPICAL):
        result = FAILED if step.id == failed else NOT_PROVED if step.id == left_out else PASSED
        records.add(proof, Outcome(step.id, step.rule, result))
    records.sign(proof, "2026-04-01T11:00:00", "A. Gardener", "89EF4567")


def due(
    records: ProofRecords, name: str, *, files: str = FILES, now: datetime = NOW, **settings: int
) -> tuple[bool, str]:
    return standing(name, records, BOARD, {**TYPICAL, **settings}, files, now)


@pytest.mark.parametrize("name", NAMES)
def test_a_round_is_due_until_it_is_proved(name: str, records: ProofRecords) -> None:
    assert due(records, name) == (True, "never proved")
    prove(records, name)
    assert due(records, name) == (False, "proved 2026-04-01")
    assert [one for one in NAMES if due(records, one)[0]] == [one for one in NAMES if one != name]


@pytest.mark.parametrize("name", NAMES)
def test_what_failed_is_due_and_what_a_person_left_out_is_not(
    name: str, records: ProofRecords
) -> None:
    first = steps_of(name, TYPICAL)[0].id
    prove(records, name, left_out=first)
    assert not due(records, name)[0]
    prove(records, name, failed=first)
    assert due(records, name) == (True, "last proved 2026-04-01, 1 step failed")


def test_other_firmware_asks_only_for_what_goes_by_itself(records: ProofRecords) -> None:
    for name in NAMES:
        prove(records, name)
    found = {name: due(records, name, files="another")[0] for name in NAMES}
    assert found == {BUILD: False, SEASON: False, BY_ITSELF: True}


def test_a_season_ends(records: ProofRecords) -> None:
    for name in NAMES:
        prove(records, name)
    last = datetime(2026, 4, 1, 11)
    for days, is_due in ((SEASON_DAYS, False), (SEASON_DAYS + 1, True)):
        later = last.fromtimestamp(last.timestamp() + 86400 * days)
        found = {name: due(records, name, now=later)[0] for name in NAMES}
        assert found == {BUILD: False, SEASON: is_due, BY_ITSELF: False}


def test_a_sensor_that_is_fitted_later_is_a_change_of_the_build(records: ProofRecords) -> None:
    bare = dict(TYPICAL, frost_fitted=0)
    proof = records.begin(BOARD, "2026-04-01T10:00:00", "0.1.0", FILES, "89EF4567", BUILD)
    for step in steps_of(BUILD, bare):
        records.add(proof, Outcome(step.id, step.rule, PASSED))
    records.sign(proof, "2026-04-01T11:00:00", "", "89EF4567")
    assert not due(records, BUILD, frost_fitted=0)[0]
    assert due(records, BUILD) == (True, "last proved 2026-04-01, without bad-frost, frost")


def test_a_round_that_was_begun_is_due(records: ProofRecords) -> None:
    proof = records.begin(BOARD, "2026-04-01T10:00:00", "0.1.0", FILES, "89EF4567", SEASON)
    records.add(proof, Outcome("dead-head", "dead head", PASSED))
    assert due(records, SEASON) == (True, "begun 2026-04-01, 1 step passed")


def test_rounds_are_chosen_by_name_or_by_what_is_due() -> None:
    assert chosen(None, [SEASON]) == [SEASON]
    assert chosen(BUILD, [SEASON]) == [BUILD]
    assert chosen(ALL, []) == list(NAMES)
    with pytest.raises(UsageMistake, match="no round is due; name one with --round: build"):
        chosen(None, [])


def test_a_proof_from_before_there_were_rounds_is_of_each(tmp_path: Path) -> None:
    archive = Archive(tmp_path / "a.sqlite")
    archive.hold(OLDER)
    records = ProofRecords(archive)
    for name in NAMES:
        found = records.last(BOARD, name, signed=True)
        assert found is not None
        assert (found.number, found.round, found.person) == (1, "", "A. Gardener")
        assert due(records, name)[0], "its steps were others"
    prove(ProofRecords(archive), SEASON)
    assert due(records, SEASON) == (False, "proved 2026-04-01")


def test_every_step_is_in_a_round_and_says_what_hands_do() -> None:
    assert [one.name for one in ROUNDS] == [BUILD, SEASON, BY_ITSELF]
    assert {step.round for step in STEPS} == set(NAMES)
    assert [one.name for one in ROUNDS if one.alone] == [BY_ITSELF]
    for step in STEPS:
        assert bool(step.hands) == (step.round != BY_ITSELF), step.id
        assert set(step.hands) <= set(HANDS_S), step.id


def test_a_season_is_a_dozen_steps_in_half_an_hour() -> None:
    steps = steps_of(SEASON, TYPICAL)
    assert 11 <= len(steps) <= 14
    assert minutes(steps, TYPICAL) <= 30
    bare = {**TYPICAL, "load_sense_fitted": 0}
    assert minutes(steps_of(SEASON, bare), bare) <= 30


def test_nothing_in_a_round_that_goes_by_itself_wants_a_hand() -> None:
    for step in steps_of(BY_ITSELF, TYPICAL):
        assert not any((step.during, step.after, step.ask, step.caution)), step.id
    said = of_name(BY_ITSELF).what
    for must in ("strainer under water", "outlet open", "nobody in the spray", "no charger"):
        assert must in said


@pytest.mark.parametrize(
    "word", ["clamp off", "take the battery off", "again and again", "nozzle off", "ten metres"]
)
def test_what_hurts_people_is_asked_of_nobody(word: str) -> None:
    """A clamp under load is a spark, a hose under pressure a whip (W6, W13 of our own review)."""
    for step in STEPS:
        texts = " ".join((step.before, step.during, step.after, step.caution)).lower()
        assert word not in texts, step.id


def test_the_board_of_the_list_is_one_of_the_schema() -> None:
    assert set(TYPICAL) == {row[0] for row in SCHEMA}
    step = steps_of(SEASON, TYPICAL)[0]
    assert replace(step, needs="!rain").fits(TYPICAL) is False


def test_every_step_says_where_to_look_and_names_terminals_that_are_there() -> None:
    """Terminals are those of the build guide's wire list."""
    assert set(LOOK_AT) == {step.id for step in STEPS}
    wire_list = (NOTES / "wires.md").read_text(encoding="utf-8")
    named = re.findall(r"\b[XFSK]\d\.\d+", " ".join(LOOK_AT.values()))
    assert len(named) > 20
    for terminal in named:
        assert f"| {terminal} |" in wire_list, terminal
