"""Steps that prove no rule of the table: the relay's click, polarity, the button, rain."""

from keeper.rain import HOLD_MS
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, Outcome
from rillkeeper.board.proof.person import Person, looks
from rillkeeper.board.proof.session import Session
from rillkeeper.board.proof.step import Step, trial_values

START_S = 12.0
"""A check lasts for 2 s; with two relays, of which only the pressure tells, for 8 s."""
STOP_S = 3.0
PRESS_S = 60.0
RAIN_S = 70.0 + HOLD_MS / 1000
TRIAL_S = 120
PLUG_V = (10.0, 15.0)
"""A battery of 12 V under next to no load, flat to under charge."""
_LIVE = "Does a meter or a 12 V lamp at the relay's load side show the battery's voltage now?"
PRESS = "Press the button for a moment."
PRESS_AGAIN = "Press it again."
_DEAD = "Does it show nothing now?"
_STAYS_DEAD = "the load side stays dead when the relay is told to close"
STAYS_LIVE = (
    "the pump's wire is live although the relay is told to open: is it an active-low module, "
    "which closes when it is told to open, or the contact that opens (87a, NC)?"
)


def click(step: Step, session: Session, person: Person) -> Outcome:
    """Close the relay, hear it, see its load side, open it again.

    Without load sense the person's meter stands in for it: an active-low module clicks as well.
    """
    person.ready(step, step.before)
    before = session.status()
    if before.load_on or before.unasked:
        return _failed(step, STAYS_LIVE)
    session.start(1)
    on = session.wait_until(lambda seen: bool(seen.relay), START_S)
    sensed = session.settings["load_sense_fitted"]
    closed, live = bool(on.relay), bool(on.load_on)
    if closed and sensed and not live:
        live = bool(session.wait_until(lambda seen: bool(seen.load_on), 1.0).load_on)
    heard = closed and person.confirm(step, "Did the relay click?")
    metered = sensed or (heard and person.confirm(step, _LIVE))
    session.make("stop")
    off = session.wait_until(lambda seen: not seen.relay and not seen.load_on, STOP_S)
    if not closed:
        return _failed(step, f"no start: the board is {on.doing}")
    if sensed and not live:
        return _failed(step, _STAYS_DEAD)
    if not heard:
        return _failed(step, "nobody heard it click")
    if not metered:
        return _failed(step, _STAYS_DEAD)
    if not sensed and not person.confirm(step, _DEAD):
        return _failed(step, STAYS_LIVE)
    if off.relay or off.load_on:
        return _failed(step, "it does not open")
    return Outcome(step.id, step.rule, PASSED)


def button(step: Step, session: Session, person: Person) -> Outcome:
    """One press starts, another one stops."""
    person.ready(step, step.before)
    person.tell(step, PRESS)
    if not any(now.relay for now in looks(session, person, step, PRESS_S)):
        return _failed(step, "no press has closed the relay")
    person.tell(step, PRESS_AGAIN)
    opened = any(not now.relay for now in looks(session, person, step, PRESS_S))
    stops = [e for e in session.new_entries() if e.kind == "hand" and e["command"] == 3]
    if not opened or not stops:
        return _failed(step, "no press has opened the relay")
    return Outcome(step.id, step.rule, PASSED)


def rain(step: Step, session: Session, person: Person) -> Outcome:
    """The contact closes for as long as rain takes to count, and the board writes it."""
    person.ready(step, step.before)
    for _ in looks(session, person, step, RAIN_S):
        if any(e.kind == "rain" and e["closed"] for e in session.new_entries()):
            return Outcome(step.id, step.rule, PASSED)
    return _failed(step, "the board did not see it")


def polarity(step: Step, session: Session, person: Person) -> Outcome:
    """The meter in the pump's plug: nothing, then plus, then nothing."""
    person.ready(step, step.before)
    if not person.confirm(step, _DEAD):
        return _failed(step, STAYS_LIVE)
    session.begin_trial(trial_values(step.trial, session.settings, 0), TRIAL_S)
    session.start(1)
    on = session.wait_until(lambda seen: bool(seen.relay), START_S)
    if not on.relay:
        return _failed(step, f"no start: the board is {on.doing}")
    volts = person.value(step, "What does the meter show now, with its sign?", "voltage")
    session.make("stop")
    if volts is None:
        return Outcome(step.id, step.rule, NOT_PROVED, "nothing was measured")
    low_v, high_v = PLUG_V
    if -high_v <= volts <= -low_v:
        return _failed(step, f"{volts:.1f} V: the wires to the plug are turned round")
    if not low_v <= volts <= high_v:
        return _failed(step, f"{volts:.1f} V; it must be {low_v:.0f} to {high_v:.0f} V")
    if not person.confirm(step, _DEAD):
        return _failed(step, STAYS_LIVE)
    return Outcome(step.id, step.rule, PASSED, f"{volts:.1f} V")


def _failed(step: Step, note: str) -> Outcome:
    return Outcome(step.id, step.rule, FAILED, note)
