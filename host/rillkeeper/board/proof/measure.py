"""The two steps with a meter: what the board reads against what is true, and the trims for it."""

from collections.abc import Callable

from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.calibrate import Implausible, Point, battery_trims, pressure_trims
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, Outcome
from rillkeeper.board.proof.person import Person
from rillkeeper.board.proof.records import Calibration, ProofRecords
from rillkeeper.board.proof.session import LOOK_S, Session
from rillkeeper.board.proof.step import Step

LOOKS = 10
AGREE_MV = 20.0
"""Four and a half steps of the converter: nothing is written for less."""
AGREE_PA = 2000.0
"""Six and a half steps, and 20 cm of water."""

_ONE_POINT = "at one point only: right there, less so elsewhere"
_SECOND_V = (
    "Now another voltage, at least 0.5 V away: a lamp as a load, another battery, a bench supply. "
    "What does the meter show? (Leave it empty to go without.)"
)
_SECOND_PA = (
    "Now a known pressure: a gauge, or a hose full of water held up. What is it, as 98 kPa or as "
    "10 m of water? (Leave it empty to go without.)"
)


def battery(step: Step, session: Session, person: Person, records: ProofRecords) -> Outcome:
    """The battery channel against a meter."""
    person.ready(step, step.before)
    points: list[Point] = []
    for question in ("What does the meter show?", _SECOND_V):
        volts = person.value(step, question, "voltage")
        if volts is None:
            break
        points.append((_mean(session, lambda now: now.battery_mv), volts * 1e3))
    return _settle(
        step,
        session,
        person,
        records,
        points,
        battery_trims,
        AGREE_MV,
        lambda: _mean(session, lambda now: now.battery_mv),
        "mV",
    )


def pressure(step: Step, session: Session, person: Person, records: ProofRecords) -> Outcome:
    """The transducer at zero and at a known pressure."""
    person.ready(step, step.before)
    points: list[Point] = [(_mean(session, lambda now: now.pressure_pa), 0.0)]
    known = person.value(step, _SECOND_PA, "pressure")
    if known is not None:
        points.append((_mean(session, lambda now: now.pressure_pa), known))
    return _settle(
        step,
        session,
        person,
        records,
        points,
        pressure_trims,
        AGREE_PA,
        lambda: _mean(session, lambda now: now.pressure_pa),
        "Pa",
    )


def _settle(
    step: Step,
    session: Session,
    person: Person,
    records: ProofRecords,
    points: list[Point],
    trims_of: Callable[[list[Point], dict[str, int]], dict[str, int]],
    agree: float,
    read_again: Callable[[], float],
    unit: str,
) -> Outcome:
    """Nothing to do, or trims that are shown, agreed to, kept, written and seen to help."""
    if not points:
        return Outcome(step.id, step.rule, NOT_PROVED, "nothing was measured")
    note = "" if len(points) > 1 else _ONE_POINT
    worst = max(abs(read - true) for read, true in points)
    if worst <= agree:
        return _passed(step, f"{worst:.0f} {unit} off, nothing changed", note)
    try:
        trims = trims_of(points, session.settings)
    except Implausible as refusal:
        return Outcome(step.id, step.rule, FAILED, str(refusal))
    before = {key: session.settings[key] for key in trims}
    shown = ", ".join(f"{key} {before[key]} -> {trims[key]}" for key in trims)
    if not person.confirm(step, f"{worst:.0f} {unit} off. Write {shown}?"):
        return Outcome(step.id, step.rule, NOT_PROVED, f"{worst:.0f} {unit} off, left so")
    at = session.now_text()
    records.add_calibration(session.who.board, Calibration(at, before, trims, note or step.id))
    session.keep(trims)
    session.sleep(1.0)
    left = abs(read_again() - points[-1][1])
    if left > agree:
        return Outcome(step.id, step.rule, FAILED, f"{left:.0f} {unit} off after {shown}")
    return _passed(step, f"{worst:.0f} {unit} off before, {left:.0f} after: {shown}", note)


def _passed(step: Step, *notes: str) -> Outcome:
    return Outcome(step.id, step.rule, PASSED, "; ".join(note for note in notes if note))


def _mean(session: Session, reading: Callable[[Status], int | None]) -> float:
    session.status()  # It wakes a board that looks at its readings but once a minute.
    session.sleep(1.0)
    total = 0
    for _ in range(LOOKS):
        total += reading(session.status()) or 0
        session.sleep(LOOK_S)
    return total / LOOKS
