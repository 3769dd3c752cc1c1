"""The three rounds of the proof: what each is for, and which of them is due by the record."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from rillkeeper.board.proof.outcome import FAILED, PASSED
from rillkeeper.board.proof.records import Proof, ProofRecords
from rillkeeper.board.proof.step import BUILD, BY_ITSELF, SEASON, Step
from rillkeeper.board.proof.steps import STEPS
from rillkeeper.display_units import counted
from rillkeeper.errors import UsageMistake

ALL = "all"
SEASON_DAYS = 270
"""A season's proof holds so long: a season is nine months at most (own estimate)."""


@dataclass(frozen=True)
class Round:
    """One round: steps that belong to one occasion."""

    name: str
    when: str
    what: str
    """What is done in it, said before it begins."""
    alone: bool = False
    """Whether nobody is needed once it goes."""


ROUNDS = (
    Round(
        BUILD,
        "once, and after every change of a wire, a part or a sensor",
        "What a person does once: wires, plugs and sensors in turn, then the pump. Have a lamp of "
        "5 W, a meter, ice, and a fuse of 1 A in place of the main one until the pump is plugged "
        "in.",
    ),
    Round(
        SEASON,
        "at the start of each season",
        "What wears or corrodes, each stop that saves the pump, and the hand switch. Have a lamp "
        "of 5 W, a meter, a test lead with a fuse in it, and somebody else for the strainer.",
    ),
    Round(
        BY_ITSELF,
        "with every firmware",
        "Limits are moved until the board stops by them: nobody is needed. The pump is plugged in "
        "and starts some ten times, the strainer under water, the outlet open, nobody in the "
        "spray, no charger on the battery. Then you may go.",
        alone=True,
    ),
)
NAMES = tuple(one.name for one in ROUNDS)


def of_name(name: str) -> Round:
    """A round by its name."""
    return ROUNDS[NAMES.index(name)]


def steps_of(name: str, settings: Mapping[str, int]) -> list[Step]:
    """The steps of a round that fit a board, in their order."""
    return [step for step in STEPS if step.round == name and step.fits(settings)]


def standing(
    name: str,
    records: ProofRecords,
    board: str,
    settings: Mapping[str, int],
    files_crc: str,
    now: datetime,
) -> tuple[bool, str]:
    """Whether a round is due by the record, and why or since when not.

    A proof of an older archive was of all steps, and counts for each round.
    """
    begun = records.open_proof(board, name)
    if begun is not None:
        results = [one.result for one in begun.outcomes if one.step in _ids(name, settings)]
        done = f"begun {_day(begun.begun)}, {counted(results.count(PASSED), 'step')} passed"
        failed = results.count(FAILED)
        return True, f"{done}, {failed} failed" if failed else done
    last = records.last(board, name, signed=True)
    if last is None or last.ended is None:
        return True, "never proved"
    reason = _stale(name, last, settings, files_crc, now)
    return bool(reason), reason or f"proved {_day(last.ended)}"


def _stale(
    name: str, last: Proof, settings: Mapping[str, int], files_crc: str, now: datetime
) -> str:
    """Why a signed proof holds no longer; empty where it does."""
    assert last.ended is not None
    proved = f"last proved {_day(last.ended)}"
    failed = sum(outcome.result == FAILED for outcome in last.outcomes)
    if failed:
        return f"{proved}, {counted(failed, 'step')} failed"
    missing = [step for step in _ids(name, settings) if step not in _known(last)]
    if missing:
        return f"{proved}, without {', '.join(missing)}"
    if name == BY_ITSELF and last.files_crc != files_crc:
        return f"{proved}, with other firmware"
    if name == SEASON and (now - datetime.fromisoformat(last.ended)).days > SEASON_DAYS:
        return proved
    return ""


def chosen(name: str | None, due: list[str]) -> list[str]:
    """The rounds to walk: the one that is named, all, or those that are due. Raises."""
    if name == ALL:
        return list(NAMES)
    if name is not None:
        return [name]
    if not due:
        raise UsageMistake(f"no round is due; name one with --round: {', '.join(NAMES)} or all")
    return due


def _known(proof: Proof) -> set[str]:
    return {outcome.step for outcome in proof.outcomes}


def _ids(name: str, settings: Mapping[str, int]) -> list[str]:
    return [step.id for step in steps_of(name, settings)]


def _day(at: str) -> str:
    return at.partition("T")[0]
