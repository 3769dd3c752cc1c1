"""Walks one step: the person's part, the board's part, the verdict, and the way back."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from keeper.records import CAUSE_RULE
from rillkeeper.board.link.state import Status
from rillkeeper.board.proof import measure, special_steps, supply_steps, tub
from rillkeeper.board.proof.outcome import FAILED, NOT_PROVED, PASSED, Outcome
from rillkeeper.board.proof.person import Person, Skipped, show
from rillkeeper.board.proof.records import ProofRecords
from rillkeeper.board.proof.session import LOOK_S, Session
from rillkeeper.board.proof.step import (
    ASK,
    BATTERY,
    BENCH,
    BUTTON,
    CLICK,
    CUT_OUT,
    DEAD,
    DRIFT,
    FUSE,
    HALT,
    HAND_SWITCH,
    LOOK,
    POLARITY,
    POWER,
    PRESSURE,
    RAIN,
    START,
    TUB,
    WATER,
    ZERO,
    Step,
    sum_ms,
    trial_values,
)
from rillkeeper.board.proof.steps import HALT_MS
from rillkeeper.board.proof.verdict import event_of, verdict
from rillkeeper.errors import RillkeeperError
from rillkeeper.runlog.lines import Entry

QUIET_RUNS = 3


def walk(
    step: Step,
    session: Session,
    person: Person,
    records: ProofRecords,
    fuse_a: float | None = None,
) -> Outcome:
    """One step from its first sentence to a board that is as it was before.

    ``fuse_a`` is the main fuse of the site, where one is given.
    """
    session.make_safe()
    walker = Walker(step, session, person)
    try:
        outcome = _ways(walker, records, fuse_a)[step.way]()
    except Skipped as skipped:
        outcome = Outcome(step.id, step.rule, NOT_PROVED, f"left out: {skipped}")
    except BaseException:
        walker.break_off()
        raise
    try:
        walker.way_back()
    except BaseException:
        walker.break_off()
        raise
    return outcome


def _ways(
    walker: "Walker", records: ProofRecords, fuse_a: float | None
) -> dict[str, Callable[[], Outcome]]:
    here = walker.step, walker.session, walker.person
    return {
        START: walker.start,
        HALT: walker.start,
        DRIFT: walker.drift,
        LOOK: walker.look,
        ASK: walker.ask,
        DEAD: lambda: supply_steps.stays_dead(*here),
        CLICK: lambda: special_steps.click(*here),
        POLARITY: lambda: special_steps.polarity(*here),
        BUTTON: lambda: special_steps.button(*here),
        RAIN: lambda: special_steps.rain(*here),
        POWER: lambda: supply_steps.power(*here),
        HAND_SWITCH: lambda: supply_steps.hand_switch(*here),
        CUT_OUT: lambda: supply_steps.cut_out(*here),
        FUSE: lambda: supply_steps.fuse_and_joints(*here, fuse_a),
        BATTERY: lambda: measure.battery(*here, records),
        ZERO: lambda: measure.zero(*here, records),
        PRESSURE: lambda: measure.pressure(*here, records),
        TUB: lambda: tub.tub(*here, records),
    }


class Walker:
    """One step under way."""

    def __init__(self, step: Step, session: Session, person: Person) -> None:
        self.step = step
        self.session = session
        self.person = person
        self.entries: list[Entry] = []
        self.settings: Mapping[str, int] = session.settings
        """Those in force: the board's own, and what is on trial."""
        self._told = False
        self._told_s = 0.0
        self._acted = False
        self._left_mah = session.status().left_mah or 0

    def start(self) -> Outcome:
        """Start the pump, as often as the step allows, and wait for its rule."""
        step = self.step
        self._ready(step.before)
        for number in range(step.starts):
            if number:
                self.session.make_safe()
            self._begin()
            outcome = self._wait(last=number == step.starts - 1)
            if outcome is not None:
                return outcome
        return self._failed("it never came")

    def look(self) -> Outcome:
        """The board must see by itself what the person does."""
        self.session.new_entries()
        self._ready(self.step.before)
        self._told_s = self.session.clock_s()
        return self._wait(last=True) or self._failed("it never came")

    def ask(self) -> Outcome:
        """Nothing but the person can see it."""
        self._ready(self.step.before)
        if not self.person.confirm(self.step, self.step.ask):
            return self._failed(f"not so: {self.step.happens}")
        return Outcome(self.step.id, self.step.rule, PASSED)

    def drift(self) -> Outcome:
        """Let the board learn what is normal, then let the pressure be another."""
        step, session = self.step, self.session
        self._ready(step.before)
        for _ in range(QUIET_RUNS):
            self._begin()
            patience_s = sum_ms(step.patience, self.settings) / 1000.0
            end_s = session.clock_s() + patience_s
            while not any(entry.kind == "normal" for entry in self._fresh()):
                if session.clock_s() > end_s or session.status().state not in _GOING:
                    return self._failed(f"the pump did not run its minute{self._instead()}")
                self._show(session.status(), end_s)
            session.make_safe()
        self.entries.clear()
        self._begin()
        return self._wait(last=True) or self._failed("it never came")

    def break_off(self) -> None:
        """Ctrl-C, or an error: pump off and own settings at once, without asking anybody.

        A board that has gone comes back to its own settings by itself.
        """
        try:
            self.session.make_safe()
            self.session.end()
        except RillkeeperError:
            pass
        if self.step.after:
            self.person.tell(self.step, self.step.after)

    def way_back(self) -> None:
        """Stop; let the person put things back; the board as it was."""
        session, step = self.session, self.step
        now = session.status()
        if now.relay or now.state in ("check", "prime", "run"):
            session.make("stop")
        if step.after:
            try:
                self._ready(step.after)
            except Skipped:
                pass
        if not session.has_time():
            session.set_clock()
        session.make_safe()
        session.check_settings()
        if step.way == LOOK and step.place == WATER:
            # The battery came back with the pump at work, and was taken for an emptier one.
            session.make(f"battery {self._left_mah}")

    def _ready(self, text: str) -> None:
        """The person's hands are off again; the board may have been without power meanwhile."""
        self.person.ready(self.step, text)
        self.session.be_there()

    def _begin(self) -> None:
        session, step = self.session, self.step
        now = session.status()
        values = trial_values(step.trial, session.settings, now.battery_mv or 0)
        self.settings = {**session.settings, **values}
        patience_ms = sum_ms(step.patience, self.settings)
        session.begin_trial(values, patience_ms // 1000 + 60)
        self._fresh()
        self.entries.clear()
        self._told = self._acted = False
        session.start(-(-patience_ms // 60000))

    def _fresh(self) -> list[Entry]:
        fresh = self.session.new_entries()
        self.entries += fresh
        return fresh

    def _wait(self, last: bool) -> Outcome | None:
        """Until the rule speaks, another one does, or time is over; None: start once more."""
        step, session = self.step, self.session
        end_s = session.clock_s() + sum_ms(step.patience, self.settings) / 1000.0
        refuses = step.happens == "no start"
        while session.clock_s() < end_s:
            now = session.status()
            for entry in self._fresh():
                name = event_of(entry)
                if name == step.rule:
                    return self._judge(entry)
                if entry.kind == "trip" and name in step.first and step.starts == 1:
                    continue
                if entry.kind == "trip" and not last and name in step.first:
                    return None
                if entry.kind == "trip":
                    return self._failed(f"the board tripped on {name}")
                if self._told and entry.kind == "stop" and entry["cause"] < CAUSE_RULE:
                    return self._failed("the pump had stopped by then: do it sooner")
            if refuses and now.relay:
                return self._failed("the pump started") if last else None
            self._act(now)
            self._show(now, end_s)
        return self._failed("it never came") if last else None

    def _act(self, now: Status) -> None:
        """What is done once the pump is where the step wants it."""
        step, session = self.step, self.session
        at_once = step.place == BENCH or step.way == HALT
        going = bool(now.relay) if at_once else now.state == "run"
        if not going:
            return
        if step.during and not self._told:
            self._told = True
            self._told_s = session.clock_s()
            self.person.tell(step, step.during)
        if step.way == HALT and not self._acted:
            self._acted = True
            session.make(f"halt {HALT_MS}")

    def _judge(self, trip: Entry) -> Outcome:
        told_ms = round(max(self.session.clock_s() - self._told_s, 0.0) * 1000)
        now = self.session.wait_until(lambda seen: not seen.relay, 2.0)
        outcome = verdict(self.step, self.settings, self.entries, trip, now, told_ms)
        if self.step.rule == "weak supply" and not outcome.note:
            outcome = replace(outcome, note=self._resistance(trip["value"]))
        return outcome

    def _resistance(self, learned_mohm: int) -> str:
        """What the board learned of the supply, beside the limit that the site has for it."""
        limit_mohm = self.session.settings["resistance_warn_mohm"]
        over = ": over it, look at clamps, cable and battery" if learned_mohm > limit_mohm else ""
        return f"the supply has {learned_mohm} mohm, its limit is {limit_mohm} mohm{over}"

    def _show(self, now: Status, end_s: float) -> None:
        show(self.person, self.step, now, end_s - self.session.clock_s())
        self.session.sleep(LOOK_S)

    def _failed(self, note: str) -> Outcome:
        return Outcome(self.step.id, self.step.rule, FAILED, note)

    def _instead(self) -> str:
        names = [event_of(entry) for entry in self.entries if entry.kind == "trip"]
        return f": {names[0]}" if names else ""


_GOING = ("idle", "check", "prime", "run")
