"""Steps that prove no rule of the table: the relay's click, the button, rain, a loss of power."""

from keeper.rain import HOLD_MS
from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.outcome import FAILED, PASSED, Outcome
from rillkeeper.board.proof.person import Person
from rillkeeper.board.proof.session import LOOK_S, Session
from rillkeeper.board.proof.step import Step
from rillkeeper.errors import NoBoard
from rillkeeper.runlog.lines import Entry

START_S = 12.0
"""A check lasts for 2 s; with two relays, of which only the pressure tells, for 8 s."""
STOP_S = 3.0
PRESS_S = 60.0
RAIN_S = 70.0 + HOLD_MS / 1000
PULL_S = 120.0
BACK_S = 600.0
STILL_S = 15.0
"""After power came back nothing may start for so long."""
_LIVE = "Does a meter or a 12 V lamp at the relay's load side show the battery's voltage now?"
_DEAD = "Does it show nothing now?"
_STAYS_DEAD = "the load side stays dead when the relay is told to close"
_STAYS_LIVE = (
    "the pump's wire is live although the relay is told to open: is it an active-low module, "
    "which closes when it is told to open?"
)


def click(step: Step, session: Session, person: Person) -> Outcome:
    """Close the relay, hear it, see its load side, open it again.

    Without load sense the person's meter stands in for it: an active-low module clicks as well.
    """
    person.ready(step, step.before)
    before = session.status()
    if before.load_on or before.unasked:
        return _failed(step, _STAYS_LIVE)
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
        return _failed(step, _STAYS_LIVE)
    if off.relay or off.load_on:
        return _failed(step, "it does not open")
    return Outcome(step.id, step.rule, PASSED)


def button(step: Step, session: Session, person: Person) -> Outcome:
    """One press starts, another one stops."""
    person.ready(step, step.before)
    person.tell(step, "Press the button for a moment.")
    on = session.wait_until(lambda seen: bool(seen.relay), PRESS_S)
    if not on.relay:
        return _failed(step, "no press has closed the relay")
    person.tell(step, "Press it again.")
    off = session.wait_until(lambda seen: not seen.relay, PRESS_S)
    stops = [e for e in session.new_entries() if e.kind == "hand" and e["command"] == 3]
    if off.relay or not stops:
        return _failed(step, "no press has opened the relay")
    return Outcome(step.id, step.rule, PASSED)


def rain(step: Step, session: Session, person: Person) -> Outcome:
    """The contact closes for as long as rain takes to count, and the board writes it."""
    person.ready(step, step.before)
    end_s = session.clock_s() + RAIN_S
    while session.clock_s() < end_s:
        if any(e.kind == "rain" and e["closed"] for e in session.new_entries()):
            return Outcome(step.id, step.rule, PASSED)
        session.sleep(LOOK_S)
    return _failed(step, "the board did not see it")


def power(step: Step, session: Session, person: Person) -> Outcome:
    """The supply goes while the pump runs, and comes back."""
    person.ready(step, step.before)
    settings = session.settings
    session.start(3)
    running = session.wait_until(
        lambda seen: seen.state == "run", settings["prime_ms"] / 1000.0 + START_S
    )
    if running.state != "run":
        return _failed(step, f"the pump does not run: the board is {running.doing}")
    session.new_entries()
    person.tell(step, step.during)
    if not _pulled(session):
        return _failed(step, "the board never lost its power; take the USB cable off as well")
    if not session.come_back(BACK_S):
        return _failed(step, "the board did not come back")
    return _after_power(step, session)


def _pulled(session: Session) -> bool:
    end_s = session.clock_s() + PULL_S
    try:
        while session.clock_s() < end_s:
            if not _going(session.status()):
                return any(entry.kind == "boot" for entry in session.new_entries())
            session.sleep(LOOK_S)
    except NoBoard:
        return True
    return False


def _going(now: Status) -> bool:
    return now.state in ("check", "prime", "run")


def _after_power(step: Step, session: Session) -> Outcome:
    """Relay open, nothing starts by itself, no record is missing."""
    now = session.status()
    if now.relay:
        return _failed(step, "the relay was closed when power came back")
    session.wait_until(lambda seen: bool(seen.relay), STILL_S)
    now = session.status()
    entries = session.new_entries()
    if now.relay or now.state not in ("idle", "done"):
        return _failed(step, f"it did not wait: the board is {now.doing}")
    if not any(entry.kind == "boot" for entry in entries):
        return _failed(step, "the board never lost its power; take the USB cable off as well")
    if session.damaged() or now.lost or now.log_failed or not _whole(entries):
        return _failed(step, "the log is not whole")
    return Outcome(step.id, step.rule, PASSED, f"{len(entries)} records, none missing")


def _whole(entries: list[Entry]) -> bool:
    numbers = [entry.seq for entry in entries]
    return numbers == list(range(numbers[0], numbers[0] + len(numbers))) if numbers else False


def _failed(step: Step, note: str) -> Outcome:
    return Outcome(step.id, step.rule, FAILED, note)
