"""Steps about what feeds board and pump: dead without power, the hand switch, the pressure switch,
the main fuse and the joints, power that is lost in a run.
"""

from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, Outcome
from rillkeeper.board.proof.person import Person, looks
from rillkeeper.board.proof.session import Session
from rillkeeper.board.proof.special_steps import START_S, STAYS_LIVE, TRIAL_S
from rillkeeper.board.proof.step import Step, trial_values
from rillkeeper.board.proof.steps import HANDS_MS
from rillkeeper.board.proof.verdict import event_of
from rillkeeper.errors import NoBoard
from rillkeeper.runlog.lines import Entry

PULL_S = 120.0
BACK_S = 600.0
STILL_S = 15.0
"""After power came back nothing may start for so long."""
UNSEEN_S = 20.0
"""A shut line that no transducer sees is ended after so long."""
FED_NOTHING = (
    "relay open", "bad battery", "fuse blown", "brown-out", "no sag", "dry run", "bad supply"
)  # fmt: skip
"""What a board says whose pump gets nothing: the first that its sensors can tell."""
NEVER_LOST = "the board never lost its power; take the USB cable off as well"
NO_POWER = "The board's own fuse out, and the USB cable; count to ten; both in again."
IN_RESET = (
    "Hold the board's reset for ten seconds, and let go. (Without a button: its pin RUN or EN "
    "to ground.)"
)
_FUSE = "What is printed on the main fuse, in amperes?"
_WANTED = "And what does its label say, or the shopping list of `rillkeeper size`?"


def stays_dead(step: Step, session: Session, person: Person) -> Outcome:
    """The pump's plug is dead without power, while the board comes up, and in reset."""
    person.ready(step, step.before)
    if session.status().unasked:
        return _failed(step, STAYS_LIVE)
    for text in (NO_POWER, IN_RESET):
        session.new_entries()
        person.tell(step, text)
        if _pulled(step, session, person, in_run=False) is None:
            return _failed(step, NEVER_LOST if text == NO_POWER else "it was never in reset")
        if not session.come_back(BACK_S):
            return _failed(step, "the board did not come back")
    if not person.confirm(step, step.ask) or session.status().unasked:
        return _failed(step, STAYS_LIVE)
    return Outcome(step.id, step.rule, PASSED)


def hand_switch(step: Step, session: Session, person: Person) -> Outcome:
    """It stops a pump that runs, and the board notices that it feeds nothing."""
    person.ready(step, step.before)
    running = _run(session)
    if running.state != "run":
        return _failed(step, f"the pump does not run: the board is {running.doing}")
    person.tell(step, step.during)
    said = _trip(step, session, person, HANDS_MS / 1000.0)
    session.make("stop")
    if not said:
        return _failed(step, "the board never missed the pump's supply")
    if said not in FED_NOTHING:
        return _failed(step, f"the board tripped on {said}")
    if not person.confirm(step, step.ask):
        return _failed(step, "the pump ran on: mend the switch before anything else")
    return Outcome(step.id, step.rule, PASSED, f"the board said {said}")


def cut_out(step: Step, session: Session, person: Person) -> Outcome:
    """The pump's own pressure switch opens at a shut line, before the board does."""
    person.ready(step, step.before)
    session.begin_trial(trial_values(step.trial, session.settings, 0), TRIAL_S)
    running = _run(session)
    if running.state != "run":
        return _failed(step, f"the pump does not run: the board is {running.doing}")
    session.new_entries()
    person.tell(step, step.during)
    measured = session.settings["pressure_fitted"]
    patience_s = HANDS_MS / 1000.0 if measured else UNSEEN_S
    most_pa, said = 0, ""
    for now in looks(session, person, step, patience_s):
        most_pa = max(most_pa, now.pressure_pa or 0)
        said = next((event_of(one) for one in session.new_entries() if one.kind == "trip"), "")
        if said:
            break
    session.make("stop")
    if measured and not said:
        return _failed(step, "the line was never shut")
    at = f"at {most_pa / 1e5:.1f} bar" if measured else "unmeasured"
    if said == "high pressure":
        return _failed(step, f"the rating came first, {at}: set the switch lower, or fit one")
    if not person.confirm(step, step.ask):
        return _failed(step, f"the switch did not open, {at}: the board stopped the pump")
    return Outcome(step.id, step.rule, PASSED, f"it opened {at}")


def fuse_and_joints(
    step: Step, session: Session, person: Person, site_fuse_a: float | None
) -> Outcome:
    """The main fuse is the one that was reckoned with, and no joint has warmed up."""
    person.ready(step, step.before)
    fuse_a = person.value(step, _FUSE, "current")
    wanted_a = person.value(step, _WANTED, "current") if site_fuse_a is None else site_fuse_a
    if fuse_a is None or wanted_a is None:
        return Outcome(step.id, step.rule, NOT_PROVED, "no rating to compare: prove --site FILE")
    if fuse_a != wanted_a:
        return _failed(step, f"a fuse of {fuse_a:g} A where {wanted_a:g} A belongs: change it")
    if not person.confirm(step, step.ask):
        return _failed(step, "a joint is warm: clean it, tighten it, crimp it anew")
    return Outcome(step.id, step.rule, PASSED, f"{fuse_a:g} A, joints cold")


def power(step: Step, session: Session, person: Person) -> Outcome:
    """The board's supply goes in a run, and comes back; the pump is unplugged."""
    person.ready(step, step.before)
    session.begin_trial(trial_values(step.trial, session.settings, 0), TRIAL_S)
    session.start(3)
    on = session.wait_until(lambda seen: bool(seen.relay), START_S)
    if not on.relay:
        return _failed(step, f"no start: the board is {on.doing}")
    session.new_entries()
    person.tell(step, step.during)
    entries = _pulled(step, session, person, in_run=True)
    if entries is None:
        return _failed(step, NEVER_LOST)
    if not session.come_back(BACK_S):
        return _failed(step, "the board did not come back")
    return _after_power(step, session, entries)


def _pulled(step: Step, session: Session, person: Person, *, in_run: bool) -> list[Entry] | None:
    """Wait for a board without power; what it wrote before and after, or None where it kept it."""
    entries: list[Entry] = []
    try:
        for now in looks(session, person, step, PULL_S):
            entries += session.new_entries()
            if any(entry.kind == "boot" for entry in entries):
                return entries
            if in_run and not _going(now):
                return None
    except NoBoard:
        return entries
    return None


def _going(now: Status) -> bool:
    return now.state in ("check", "prime", "run")


def _after_power(step: Step, session: Session, entries: list[Entry]) -> Outcome:
    """Relay open, nothing starts by itself, no record is missing."""
    if session.status().relay:
        return _failed(step, "the relay was closed when power came back")
    session.wait_until(lambda seen: bool(seen.relay), STILL_S)
    now = session.status()
    entries += session.new_entries()
    if now.relay or now.state not in ("idle", "done"):
        return _failed(step, f"it did not wait: the board is {now.doing}")
    if not any(entry.kind == "boot" for entry in entries):
        return _failed(step, NEVER_LOST)
    if session.damaged() or now.lost or now.log_failed or not _whole(entries):
        return _failed(step, "the log is not whole")
    return Outcome(step.id, step.rule, PASSED, f"{len(entries)} records, none missing")


def _whole(entries: list[Entry]) -> bool:
    numbers = [entry.seq for entry in entries]
    return numbers == list(range(numbers[0], numbers[0] + len(numbers))) if numbers else False


def _run(session: Session) -> Status:
    session.start(3)
    patience_s = session.settings["prime_ms"] / 1000.0 + START_S
    return session.wait_until(lambda seen: seen.state == "run", patience_s)


def _trip(step: Step, session: Session, person: Person, patience_s: float) -> str:
    """The rule that trips within that time, or nothing; a run that ends first is waited for no
    longer."""
    for _ in looks(session, person, step, patience_s):
        for entry in session.new_entries():
            if entry.kind == "trip":
                return event_of(entry)
            if entry.kind == "stop":
                return ""
    return ""


def _failed(step: Step, note: str) -> Outcome:
    return Outcome(step.id, step.rule, FAILED, note)
