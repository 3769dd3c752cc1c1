"""A round of the proof: step after step, gone on with where it was broken off, then signed."""

from collections.abc import Callable, Mapping

from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, UNPROTECTED, Outcome
from rillkeeper.board.proof.person import Nobody, Person
from rillkeeper.board.proof.records import Calibration, Proof, ProofRecords
from rillkeeper.board.proof.rounds import NAMES, steps_of
from rillkeeper.board.proof.runner import walk
from rillkeeper.board.proof.session import Session
from rillkeeper.board.proof.step import BUILD, Step, unprotected
from rillkeeper.board.proof.steps import (
    BY_ID,
    NOT_BY_BATTERY_ALONE,
    NOT_ON_SITE,
    NOT_WITHOUT_LOAD_SENSE,
    STEPS,
)
from rillkeeper.errors import BoardStopped, RillkeeperError, UsageMistake

Said = Callable[[Outcome], None]


def begun(session: Session, records: ProofRecords, name: str) -> Proof | None:
    """The proof of a round that was broken off, if firmware and settings are still the same."""
    found = records.open_proof(session.who.board, name)
    crcs = (session.files_crc, session.settings_crc)
    return found if found and (found.files_crc, found.settings_crc) == crcs else None


def open_or_begin(session: Session, records: ProofRecords, name: str) -> Proof:
    """The proof of a round to go on with, or a new one. From here on no set starts.

    Raises BoardStopped where the board stopped for something that no step has done.
    """
    who = session.who
    now = session.status()
    open_proofs = [records.open_proof(who.board, one) for one in NAMES]
    ours = any(proof is not None and proof.under_way for proof in open_proofs)
    if now.state == "lockout" and not ours:
        raise BoardStopped(now.needs_a_person)
    if now.state == "flat" and not ours:
        raise BoardStopped(f"the board is {now.doing}; put a charged one on first")
    found = begun(session, records, name)
    if found is None:
        found = records.begin(
            who.board,
            session.now_text(),
            who.firmware,
            session.files_crc,
            session.settings_crc,
            name,
        )
    for outcome in not_fitted(session.settings, name):
        records.add(found, outcome)
    session.hold_off()
    return found


def step_of(only: str) -> Step:
    """A step by its name. Raises UsageMistake."""
    if only not in BY_ID:
        raise UsageMistake(f"no step {only}; see `rillkeeper prove --list`")
    return BY_ID[only]


def to_walk(proof: Proof | None, name: str, settings: Mapping[str, int]) -> list[Step]:
    """The steps of a round that are left for this board, in their order."""
    outcomes = proof.outcomes if proof else []
    passed = {outcome.step for outcome in outcomes if outcome.result == PASSED}
    return [step for step in steps_of(name, settings) if step.id not in passed]


def prove(
    session: Session,
    person: Person,
    records: ProofRecords,
    proof: Proof,
    steps: list[Step],
    said: Said,
    *,
    alone: bool = False,
    fuse_a: float | None = None,
) -> None:
    """Walk steps; each result is kept before the next begins. ``alone``: nobody is asked."""
    person = Nobody(person) if alone else person
    for step in steps:
        again = True
        while again:
            records.enter(proof, step.id, session.settings_crc)
            outcome = walk(step, session, person, records, fuse_a)
            records.add(proof, outcome)
            records.enter(proof, "", session.settings_crc)
            said(outcome)
            again = outcome.result == FAILED and person.confirm(step, "Try this step again?")


def sign(session: Session, records: ProofRecords, proof: Proof, person: str) -> Proof:
    """Close the proof of a round."""
    records.sign(proof, session.now_text(), person, session.settings_crc)
    return proof


def not_fitted(settings: Mapping[str, int], name: str) -> list[Outcome]:
    """A row for each rule that nothing stands behind, and for each that no step can meet.

    Each is in the round of its step; where there is no step at all, in the build's.
    """
    first = {step.rule: step for step in reversed(STEPS) if step.rule}
    rows = [(rule, UNPROTECTED, "its sensor is not fitted") for rule in unprotected(settings)]
    rows += [(rule, NOT_PROVED, why) for rule, why in not_on_site(settings).items()]
    return [
        Outcome(first[rule].id if rule in first else rule, rule, result, note)
        for rule, result, note in rows
        if (first[rule].round if rule in first else BUILD) == name
    ]


def not_on_site(settings: Mapping[str, int]) -> dict[str, str]:
    """Rules that guard this board and that no step can meet on it, each with the reason."""
    reasons = dict(NOT_ON_SITE)
    if not settings["load_sense_fitted"]:
        reasons |= NOT_WITHOUT_LOAD_SENSE
        if not settings["pressure_fitted"]:
            reasons |= NOT_BY_BATTERY_ALONE
    bare = unprotected(settings)
    return {rule: reason for rule, reason in reasons.items() if rule not in bare}


def undo(session: Session, records: ProofRecords) -> Calibration:
    """Give the trims of the last calibration back; that is kept as one more."""
    last = records.last_calibration(session.who.board)
    if last is None:
        raise RillkeeperError("this archive has no calibration of this board")
    now = {key: session.settings[key] for key in last.before}
    if now == dict(last.before):
        raise RillkeeperError("the board has the values from before that calibration already")
    made = Calibration(session.now_text(), now, last.before, f"undoes that of {last.made}")
    session.make_safe()
    records.add_calibration(session.who.board, made)
    session.keep(last.before)
    session.end()
    return made
