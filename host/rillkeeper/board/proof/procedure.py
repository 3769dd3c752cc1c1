"""The whole proof: step after step, gone on with where it was broken off, signed at the end."""

from collections.abc import Callable, Mapping

from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, UNPROTECTED, Outcome
from rillkeeper.board.proof.person import Person
from rillkeeper.board.proof.records import Calibration, Proof, ProofRecords
from rillkeeper.board.proof.runner import walk
from rillkeeper.board.proof.session import Session
from rillkeeper.board.proof.step import Step, unprotected
from rillkeeper.board.proof.steps import BY_ID, NOT_ON_SITE, NOT_WITHOUT_LOAD_SENSE, STEPS
from rillkeeper.errors import BoardStopped, RillkeeperError, UsageMistake

Said = Callable[[Outcome], None]


def open_or_begin(session: Session, records: ProofRecords) -> Proof:
    """The proof to go on with: the one broken off, if firmware and settings are still the same.

    Raises BoardStopped where the board stopped for something that no step has done.
    """
    who = session.who
    found = records.open_proof(who.board)
    now = session.status()
    ours = found is not None and bool(found.under_way)
    if now.state == "lockout" and not ours:
        raise BoardStopped(now.needs_a_person)
    if now.state == "flat" and not ours:
        raise BoardStopped(f"the board is {now.doing}; put a charged one on first")
    same = found is not None and (found.files_crc, found.settings_crc) == (
        session.files_crc,
        session.settings_crc,
    )
    if found is None or not same:
        found = records.begin(
            who.board, session.now_text(), who.firmware, session.files_crc, session.settings_crc
        )
    for outcome in not_fitted(session.settings):
        records.add(found, outcome)
    return found


def to_walk(proof: Proof, settings: Mapping[str, int], only: str | None = None) -> list[Step]:
    """The steps that are left for this board, in their order."""
    if only is not None:
        step = BY_ID.get(only)
        if step is None:
            raise UsageMistake(f"no step {only}; see `rillkeeper prove --list`")
        if not step.fits(settings):
            raise UsageMistake(f"{only}: this board has not the sensors for it")
        return [step]
    passed = {outcome.step for outcome in proof.outcomes if outcome.result == PASSED}
    return [step for step in STEPS if step.fits(settings) and step.id not in passed]


def prove(
    session: Session,
    person: Person,
    records: ProofRecords,
    proof: Proof,
    steps: list[Step],
    said: Said,
) -> None:
    """Walk steps; each result is kept before the next begins."""
    for step in steps:
        again = True
        while again:
            records.enter(proof, step.id, session.settings_crc)
            outcome = walk(step, session, person, records)
            records.add(proof, outcome)
            records.enter(proof, "", session.settings_crc)
            said(outcome)
            again = outcome.result == FAILED and person.confirm(step, "Try this step again?")


def sign(session: Session, records: ProofRecords, proof: Proof, person: str) -> Proof:
    """Close the proof; what was not walked is not proved. The board is on its own again."""
    session.end()
    have = {outcome.step for outcome in proof.outcomes}
    for step in to_walk(proof, session.settings):
        if step.id not in have:
            records.add(proof, Outcome(step.id, step.rule, NOT_PROVED, "not reached"))
    records.sign(proof, session.now_text(), person, session.settings_crc)
    return proof


def not_fitted(settings: Mapping[str, int]) -> list[Outcome]:
    """A row for each rule that nothing stands behind, and for each that no step can meet."""
    first = {step.rule: step.id for step in reversed(STEPS) if step.rule}
    bare = unprotected(settings)
    rows = [
        Outcome(first.get(rule, rule), rule, UNPROTECTED, "its sensor is not fitted")
        for rule in bare
    ]
    reasons = not_on_site(settings)
    return rows + [
        Outcome(first.get(rule, rule), rule, NOT_PROVED, reasons[rule]) for rule in reasons
    ]


def not_on_site(settings: Mapping[str, int]) -> dict[str, str]:
    """Rules that guard this board and that no step can meet on it, each with the reason."""
    reasons = dict(NOT_ON_SITE)
    if not settings["load_sense_fitted"]:
        reasons |= NOT_WITHOUT_LOAD_SENSE
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
    return made
