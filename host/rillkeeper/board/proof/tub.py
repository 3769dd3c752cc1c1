"""The step that says what a pulse of the flow meter is: pulses counted over litres from a tub.

Twice from the tub, so that the suction line is as full before the count as after it: what is
missing in the tub has then passed the meter, and nothing else.
"""

from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, Outcome
from rillkeeper.board.proof.person import Person, looks
from rillkeeper.board.proof.records import Calibration, ProofRecords
from rillkeeper.board.proof.session import Session
from rillkeeper.board.proof.special_steps import START_S
from rillkeeper.board.proof.step import Step

TUB_L = 15.0
"""What is pumped of it: less is read too coarsely, and the tub must not be emptied."""
RUN_S_MAX = 120.0
"""For a pump that takes longer for so much."""
FILLED_S = 5.0
"""The first time, once water has come: the line behind the pump is full, too."""
STILL_S = 3.0
"""A wheel has come to rest."""
PULSES_MIN = 20
"""Of fewer the last one is too much of the whole."""
AGREE = 0.02
"""A tub is filled up to a mark, and a jug read, to a per cent or two (own estimate)."""
METER_MAX = 0.2
"""No wheel meter is further off its sheet (own estimate)."""
WRAPS = 1 << 30
"""The board's count of pulses begins anew."""

FILL = "Fill the tub up to its mark."
LITRES = (
    "How much does it take to fill the tub up to its mark again, as 14.6 L or 3.86 gal? (Leave it "
    "empty to go without.)"
)
_SITE = "write flow_pulses = {:.4g} into the site file"


def tub(step: Step, session: Session, person: Person, records: ProofRecords) -> Outcome:
    """Count the pulses of some litres, and write what one of them is."""
    person.ready(step, step.before)
    pulses = 0
    for seconds in (FILLED_S, _run_s(session)):
        before = session.status()
        if before.meter is None:
            return _failed(step, "the board has no flow meter in its settings")
        if not _pump(step, session, person, seconds):
            return _failed(step, "no water came, or it did not last: see `rillkeeper status`")
        after = session.status()
        pulses = _since(before, after)
        if seconds == FILLED_S:
            person.ready(step, FILL)
    if pulses < PULSES_MIN:
        return _failed(step, f"the board counted {pulses} pulses")
    litres_m3 = person.value(step, LITRES, "volume")
    if not litres_m3:
        return Outcome(step.id, step.rule, NOT_PROVED, "nothing was measured")
    return _settle(step, session, person, records, litres_m3 * 1e9 / pulses)


def _settle(
    step: Step, session: Session, person: Person, records: ProofRecords, true_ul: float
) -> Outcome:
    """Nothing to do, or a pulse that is shown, agreed to, kept and written."""
    now_ul, new_ul = session.settings["pulse_ul"], round(true_ul)
    off = now_ul / true_ul - 1.0
    said = f"a pulse is {new_ul} uL, the board has {now_ul} uL: {100.0 * abs(off):.1f} % off"
    if abs(off) <= AGREE:
        return Outcome(step.id, step.rule, PASSED, f"{said}, nothing changed")
    if abs(off) > METER_MAX:
        return _failed(step, f"{said}; no more than {100.0 * METER_MAX:.0f} % can be the meter's")
    doubt = "Was the tub at its mark both times?"
    if not person.confirm(step, f"{said}. {doubt} Then write pulse_ul {now_ul} -> {new_ul}?"):
        return Outcome(step.id, step.rule, NOT_PROVED, f"{said}, left so")
    crc = session.settings_crc
    made = Calibration(session.now_text(), {"pulse_ul": now_ul}, {"pulse_ul": new_ul}, step.id)
    records.add_calibration(session.who.board, made)
    session.keep({"pulse_ul": new_ul})
    records.recalibrated(session.who.board, crc, session.settings_crc)
    return Outcome(step.id, step.rule, PASSED, f"{said} before; {_SITE.format(1e6 / new_ul)}")


def _run_s(session: Session) -> float:
    """How long to pump so much, by the site's flow."""
    litres_s = session.settings["flow_ml_min"] / 60e3
    return min(TUB_L / litres_s, RUN_S_MAX)


def _pump(step: Step, session: Session, person: Person, seconds: float) -> bool:
    """Pump for so long from when water has come; whether the pump ran all that time."""
    session.start(-(-int(seconds) // 60) + 1)
    patience_s = session.settings["prime_ms"] / 1000.0 + START_S
    runs = session.wait_until(lambda seen: seen.state == "run", patience_s).state == "run"
    for now in looks(session, person, step, seconds) if runs else ():
        runs = now.state == "run"
        if not runs:
            break
    session.make("stop")
    session.wait_until(lambda seen: not seen.relay, STILL_S)
    session.sleep(STILL_S)
    return runs


def _since(before: Status, after: Status) -> int:
    """Pulses between two looks."""
    if before.meter is None or after.meter is None:
        return 0
    return (after.meter.pulses - before.meter.pulses) % WRAPS


def _failed(step: Step, note: str) -> Outcome:
    return Outcome(step.id, step.rule, FAILED, note)
