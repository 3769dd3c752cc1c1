"""All rounds against the whole firmware, with the plant behind it: every step passes."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from keeper.rules import NAME, NEEDS, RULES
from keeper.settings import SCHEMA
from rillkeeper.board.link import state
from rillkeeper.board.proof import procedure
from rillkeeper.board.proof.minutes import hands_s, minutes, reading_s, step_s
from rillkeeper.board.proof.outcome import NOT_PROVED, PASSED, UNPROTECTED, Outcome
from rillkeeper.board.proof.records import Proof, ProofRecords
from rillkeeper.board.proof.rounds import NAMES, ROUNDS, steps_of
from rillkeeper.board.proof.step import BUILD, BY_ITSELF, SEASON, hold_ms
from rillkeeper.board.proof.steps import BY_ID, STEPS
from rillkeeper.runlog.store import Archive
from tests.host.board.proof.conftest import MakeBench
from tests.host.board.proof.script import ScriptedPerson
from tests.host.board.proof.workbench import Workbench

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("proof, all steps")]

RULE_NAMES = [row[NAME] for row in RULES]
FITTINGS: dict[str, dict[str, Any]] = {
    "everything": {
        "current_fitted": True,
        "pressure_switch": True,
        "second_relay_fitted": True,
        "flow_fitted": True,
    },
    "no load-side sense, clock chip, current, frost or rain": {
        "load_sense_fitted": False,
        "clock_backed": False,
        "frost_fitted": False,
        "rain_fitted": False,
        "pressure_switch": True,
    },
    "no transducer": {"pressure_fitted": False, "pressure_switch": True},
    "flow meter, no transducer": {
        "pressure_fitted": False,
        "flow_fitted": True,
        "pressure_switch": True,
    },
}
PUMPED_S_MAX = {BUILD: 320, SEASON: 200, BY_ITSELF: 120}
"""Of each round; a night's set takes 900."""
METERED_S = 75
"""On top of a build's with a flow meter: 15 L out of a tub, and a meter that stands still."""
PRIMES_MAX = 4
"""In a round of a board without a transducer: its pump gets all the time to prime, each time."""
SEASON_MIN_MAX = 30


@dataclass
class Proved:
    """All rounds of a board, walked from the first step to the sign-off."""

    bench: Workbench
    person: ScriptedPerson
    proofs: dict[str, Proof]
    left_mah: tuple[int, int]
    after: state.Status
    settings: dict[str, int]
    board_s: dict[str, float]
    """What each step took, but for reading, hands and feet."""
    pumped_s: dict[str, float]

    @property
    def outcomes(self) -> list[Outcome]:
        return [row for proof in self.proofs.values() for row in proof.outcomes]


@pytest.fixture(scope="module", params=FITTINGS)
def proved(request: pytest.FixtureRequest, make_bench: MakeBench, tmp_path_factory: Any) -> Proved:
    bench = make_bench(**FITTINGS[request.param])
    path: Path = tmp_path_factory.mktemp("archive") / "a.sqlite"
    with Archive(path) as archive:
        records = ProofRecords(archive)
        session = bench.session(archive)
        before = session.status().left_mah or 0
        person = ScriptedPerson(bench)
        board_s, pumped_s = {}, {}
        for one in ROUNDS:
            proof = procedure.open_or_begin(session, records, one.name)
            pumped = bench.pumped_ticks
            for step in procedure.to_walk(proof, one.name, session.settings):
                began = bench.n - person.handled_ticks
                procedure.prove(
                    session,
                    person,
                    records,
                    proof,
                    [step],
                    lambda outcome: None,
                    alone=one.alone,
                    fuse_a=bench.plant.site.cable.fuse_a,
                )
                board_s[step.id] = (bench.n - person.handled_ticks - began) / 10.0
            pumped_s[one.name] = (bench.pumped_ticks - pumped) / 10.0
            procedure.sign(session, records, proof, "the tester")
        session.end()
        after = session.status()
        board = session.who.board
        proofs = {one.name: records.last(board, one.name, signed=True) for one in ROUNDS}
        made = Proved(
            bench,
            person,
            {name: proof for name, proof in proofs.items() if proof is not None},
            (before, after.left_mah or 0),
            after,
            state.settings(session.talk),
            board_s,
            pumped_s,
        )
    return made


def test_every_step_passes(proved: Proved) -> None:
    """But for the rules that no step can provoke: those say so."""
    wrong = [row for row in proved.outcomes if row.result not in (PASSED, UNPROTECTED)]
    assert {row.rule: (row.result, row.note) for row in wrong} == {
        rule: (NOT_PROVED, reason)
        for rule, reason in procedure.not_on_site(proved.bench.settings).items()
    }


def test_every_rule_is_in_the_record(proved: Proved) -> None:
    rows = {row.rule: row.result for row in proved.outcomes if row.rule}
    assert sorted(rows) == sorted(RULE_NAMES)
    not_on_site = procedure.not_on_site(proved.bench.settings)
    for name, result in rows.items():
        needs = RULES[RULE_NAMES.index(name)][NEEDS].split()
        fitted = all(
            any(proved.bench.settings[f"{sensor}_fitted"] for sensor in need.split("/"))
            for need in needs
        )
        assert (result == PASSED) == (fitted and name not in not_on_site), name


def test_times_are_the_holds_of_the_board(proved: Proved) -> None:
    """What the board says it waited is its own setting, and at most two ticks more."""
    held = 0
    for row in proved.outcomes:
        if row.result == PASSED and row.rule and BY_ID[row.step].timed == "held":
            assert row.measured is not None
            hold = hold_ms(row.rule, proved.settings)
            assert hold <= row.measured <= hold + 200, row
            held += 1
    assert held >= 9


def test_the_board_is_as_it_was(proved: Proved) -> None:
    """Its settings but for the trims, which the person agreed to; nothing is left locked."""
    given = dict(proved.bench.settings)
    assert {key: proved.settings[key] for key in given} == given
    trimmed = [key for key in proved.settings if "_trim_" in key or key == "battery_offset_mv"]
    given.pop("pulse_ul", None)
    trimmed.append("pulse_ul")
    others = [row[0] for row in SCHEMA if row[0] not in (*given, *trimmed)]
    assert all(proved.settings[row[0]] == row[4] for row in SCHEMA if row[0] in others)
    assert any(proved.settings[key] for key in trimmed)
    assert (proved.after.state, proved.after.relay) == ("idle", 0)
    before, after = proved.left_mah
    assert 0 <= before - after < 5000, "lowered limits do not touch the count of charge"


@pytest.mark.parametrize("name", NAMES)
def test_the_pump_runs_no_longer_than_it_must(name: str, proved: Proved) -> None:
    settings = proved.bench.settings
    told = settings["pressure_fitted"] or settings["flow_fitted"]
    primed_s = 0 if told else PRIMES_MAX * settings["prime_ms"] / 1000.0
    metered_s = METERED_S if name == BUILD and settings["flow_fitted"] else 0
    assert proved.pumped_s[name] < PUMPED_S_MAX[name] + primed_s + metered_s


def test_a_season_is_proved_in_half_an_hour(proved: Proved) -> None:
    """Step by step: what the board took here, and what hands, feet and reading take a person."""
    settings = proved.settings
    steps = steps_of(SEASON, settings)
    taken_s = sum(proved.board_s[one.id] + hands_s(one) + reading_s(one) for one in steps)
    assert taken_s <= 60 * SEASON_MIN_MAX
    assert minutes(steps, settings) <= SEASON_MIN_MAX


def test_the_minutes_that_are_said_are_those_it_takes(proved: Proved) -> None:
    """Rather too many than too few: a step may wait for the board's slowest, or for its motor."""
    for name in NAMES:
        steps = steps_of(name, proved.settings)
        taken_s = 0.0
        for one in steps:
            took_s = proved.board_s[one.id] + hands_s(one) + reading_s(one)
            assert took_s - 30 <= step_s(one, proved.settings) <= took_s + 80, one.id
            taken_s += took_s
        assert 0.9 * taken_s <= 60 * minutes(steps, proved.settings) <= 1.25 * taken_s + 120, name


def test_the_person_saw_readings_and_time_left(proved: Proved) -> None:
    assert any(
        "bar" in line and "V" in line and "s left" in line for line in proved.person.watched
    )


def test_a_person_is_asked_in_every_step_but_of_the_round_that_goes_by_itself(
    proved: Proved,
) -> None:
    asked = {step for step, _ in proved.person.said}
    fitting = [step for step in STEPS if step.fits(proved.bench.settings)]
    assert {step.id for step in fitting if step.round != BY_ITSELF} == asked


def test_the_resistance_of_the_supply_stands_beside_its_limit(proved: Proved) -> None:
    (row,) = [row for row in proved.outcomes if row.step == "weak-supply"]
    limit = proved.bench.settings["resistance_warn_mohm"]
    found = re.fullmatch(rf"the supply has (\d+) mohm, its limit is {limit} mohm", row.note)
    assert found, row.note
    assert int(found[1]) == pytest.approx(proved.bench.settings["resistance_mohm"], rel=0.5)


def test_the_record_says_what_it_holds_for(proved: Proved) -> None:
    assert tuple(proved.proofs) == NAMES
    for name, proof in proved.proofs.items():
        assert proof.round == name
        assert proof.ended is not None
        assert proof.person == "the tester"
        assert len(proof.files_crc) == len(proof.settings_crc) == 8
        assert proof.firmware
        assert proof.under_way == ""


def test_hand_switch_pressure_switch_fuse_and_joints_are_in_the_record(proved: Proved) -> None:
    notes = {row.step: row.note for row in proved.outcomes}
    fitted = proved.bench.settings
    missed = "relay open" if fitted["load_sense_fitted"] else "bad battery"
    assert notes["hand-switch"] == f"the board said {missed}"
    assert notes["fuse-and-joints"] == "25 A, joints cold"
    opened = re.fullmatch(
        r"it opened at (\d\.\d) bar|it opened unmeasured", notes["pressure-switch"]
    )
    assert opened, notes["pressure-switch"]
    if opened[1]:
        assert float(opened[1]) == pytest.approx(60 * 0.0689, abs=0.3), "60 psi, by its plate"
