"""The two steps with a meter: what the board reads against what is true, and the trims for it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.calibrate import (
    Implausible,
    Point,
    battery_retrimmed,
    battery_trims,
    head_pa,
    pressure_retrimmed,
    pressure_trims,
)
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, Outcome
from rillkeeper.board.proof.person import Person
from rillkeeper.board.proof.records import Calibration, ProofRecords
from rillkeeper.board.proof.session import LOOK_S, Session
from rillkeeper.board.proof.step import ZERO, Step

LOOKS = 10
RUN_MINUTES = 3
SETTLED_S = 5.0
"""Pressure, current and with them the voltage have come to rest."""
AGREE_MV = 20.0
"""Four and a half steps of the converter: nothing is written for less."""
AGREE_PA = 1000.0
"""Three steps, and 10 cm of water: a fortieth of the pressure of a hose that is held up."""

_ONE_POINT = "at one point only: right there, less so elsewhere"
_SHOWS = "What does the meter show?"
_SHOWS_ON = "And now, with the pump on? (Leave it empty to go without.)"
KNOWN_PA = (
    "Now a known pressure: a gauge, or a hose full of water held up from the ground. What is it, "
    "as 35 kPa or as 4 m of water? (Leave it empty to go without.)"
)


@dataclass(frozen=True)
class Channel:
    """What is measured, and how its trims are found."""

    reading: Callable[[Status], int | None]
    trims_of: Callable[[Sequence[Point], Mapping[str, int]], dict[str, int]]
    retrimmed: Callable[[float, Mapping[str, int], Mapping[str, int]], float]
    agree: float
    unit: str
    doubt: Callable[[float], str]
    """What to think of before so much is written to the board."""


_BATTERY = Channel(
    lambda now: now.battery_mv,
    battery_trims,
    battery_retrimmed,
    AGREE_MV,
    "mV",
    lambda _: "Did the meter stand still, on V DC?",
)
_PRESSURE = Channel(
    lambda now: now.pressure_pa,
    pressure_trims,
    pressure_retrimmed,
    AGREE_PA,
    "Pa",
    lambda off_pa: (
        f"That is {off_pa / head_pa(1.0):.1f} m of water: was the hose off and the port dry?"
    ),
)


def battery(step: Step, session: Session, person: Person, records: ProofRecords) -> Outcome:
    """The battery channel against a meter, with the pump off and with it on."""
    person.ready(step, step.before)
    points: list[Point] = []
    for question in (_SHOWS, _SHOWS_ON):
        if question == _SHOWS_ON and not _runs(session):
            break
        volts = person.value(step, question, "voltage")
        if volts is None:
            break
        points.append((_mean(session, _BATTERY), volts * 1e3))
    session.make_safe()
    return _settle(step, session, person, records, points, _BATTERY)


def zero(step: Step, session: Session, person: Person, records: ProofRecords) -> Outcome:
    """The transducer at zero."""
    person.ready(step, step.before)
    points: list[Point] = [(_mean(session, _PRESSURE), 0.0)]
    return _settle(step, session, person, records, points, _PRESSURE)


def pressure(step: Step, session: Session, person: Person, records: ProofRecords) -> Outcome:
    """The transducer at zero and at a known pressure."""
    person.ready(step, step.before)
    points: list[Point] = [(_mean(session, _PRESSURE), 0.0)]
    known = person.value(step, KNOWN_PA, "pressure")
    if known is not None:
        points.append((_mean(session, _PRESSURE), known))
    return _settle(step, session, person, records, points, _PRESSURE)


def _runs(session: Session) -> bool:
    """Start the pump, and wait until it works."""
    session.start(RUN_MINUTES)
    patience_s = session.settings["prime_ms"] / 1000.0 + SETTLED_S
    if session.wait_until(lambda seen: seen.state == "run", patience_s).state != "run":
        return False
    session.sleep(SETTLED_S)
    return True


def _settle(
    step: Step,
    session: Session,
    person: Person,
    records: ProofRecords,
    points: list[Point],
    channel: Channel,
) -> Outcome:
    """Nothing to do, or trims that are shown, agreed to, kept, written and seen to help."""
    if not points:
        return Outcome(step.id, step.rule, NOT_PROVED, "nothing was measured")
    note = "" if len(points) > 1 or step.way == ZERO else _ONE_POINT
    unit, agree = channel.unit, channel.agree
    worst = max(abs(read - true) for read, true in points)
    if worst <= agree:
        return _passed(step, f"{worst:.0f} {unit} off, nothing changed", note)
    try:
        trims = channel.trims_of(points, session.settings)
    except Implausible as refusal:
        return Outcome(step.id, step.rule, FAILED, str(refusal))
    before = {key: session.settings[key] for key in trims}
    shown = ", ".join(f"{key} {before[key]} -> {trims[key]}" for key in trims)
    doubt = channel.doubt(worst)
    if not person.confirm(step, f"{worst:.0f} {unit} off. {doubt} Then write {shown}?"):
        return Outcome(step.id, step.rule, NOT_PROVED, f"{worst:.0f} {unit} off, left so")
    old, crc, reads = session.settings, session.settings_crc, _mean(session, channel)
    made = Calibration(session.now_text(), before, trims, note or step.id)
    records.add_calibration(session.who.board, made)
    session.keep(trims)
    records.recalibrated(session.who.board, crc, session.settings_crc)
    wanted = channel.retrimmed(reads, old, session.settings)
    left = max(abs(channel.retrimmed(read, old, session.settings) - true) for read, true in points)
    left = max(left, abs(_mean(session, channel) - wanted))
    if left > agree:
        return Outcome(step.id, step.rule, FAILED, f"{left:.0f} {unit} off after {shown}")
    return _passed(step, f"{worst:.0f} {unit} off before, {left:.0f} after: {shown}", note)


def _passed(step: Step, *notes: str) -> Outcome:
    return Outcome(step.id, step.rule, PASSED, "; ".join(note for note in notes if note))


def _mean(session: Session, channel: Channel) -> float:
    session.status()  # It wakes a board that looks at its readings but once a minute.
    session.sleep(1.0)
    total = 0
    for _ in range(LOOKS):
        total += channel.reading(session.status()) or 0
        session.sleep(LOOK_S)
    return total / LOOKS
