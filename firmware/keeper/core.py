"""The keeper: one door, ``step``, called ten times a second while the pump may run.

It is handed the time and the raw readings of this tick, and returns what the relay pin is to
be. Nothing here reads a clock, a pin or a file, and no step allocates memory.
"""

from . import cycle, plan, records, rules
from .ahead import Ahead
from .charge import Charge
from .check import Check
from .clockwatch import ClockWatch
from .cycle import NEXT
from .facts import LINE, begun
from .guard import Guard
from .hand import ONLY_OF_THIS_RUN, Hand
from .operating import Operating
from .plan import Plan
from .quantities import QUANTITIES
from .rain import Rain
from .records import CAUSE_RULE, Journal
from .relay import Relay, second_of
from .relaywatch import RelayWatch
from .rules import SHARED_TRIES
from .sense import Senses
from .standstill import Standstill
from .ticks import const
from .waiting import Waiting
from .watering import Watering

# The numbers of cycle.py.
_UNSET = const(0)
_IDLE = const(1)
_CHECK = const(2)
_PRIME = const(3)
_RUN = const(4)
_DONE = const(7)
_LOCKOUT = const(9)
# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)
_CURRENT_MA = const(7)
_BROKEN_RUNS = const(13)
_CLOSED_OFF = const(15)
_BATTERY_BAD = const(19)
_CURRENT_BAD = const(22)
_SWAPPED = const(24)
_CLOCK_BAD = const(25)

_MASK = const((1 << 30) - 1)  # As in ticks.py.
_GAP_MS_MAX = const(1 << 28)  # As in facts.py.
_LOOK_MS = const(60000)
_FRESH_MS = const(1000)
_JOURNAL_ROWS = const(32)
_RUN_SLACK_MS = const(1000)
_GO_ON = ("clock", "standstill", "hand", "charge", "waiting")
"""Parts that hold what is no fact and outlives other settings: each says what, in ``go_on``."""


class Keeper:
    """The control of one pump.

    ``settings``: Settings, or None where none are valid; the keeper then never closes the
    relay. ``cause`` says why the board started, for the log.

    What a device reads from it: ``journal`` (records to write), ``lamp`` (what to show),
    ``changed`` (counts changes worth remembering: see memory.py), ``nap_ms`` (how long it may
    be left alone from now on if no pin changes). What it writes beside: ``pulses`` of the flow
    meter since the step before, where one is fitted.
    """

    def __init__(self, settings, cause: int = 0) -> None:
        self.settings = settings
        self.cause = cause
        self.state = _IDLE if settings else _UNSET
        self.journal = Journal(_JOURNAL_ROWS)
        self.q = [0] * len(QUANTITIES)
        self.changed = 0
        self.in_state_ms = self.nap_ms = self.quiet_ms = 0
        self.rest_mv = self.held_mv = self.rest_pa = 0
        self._last_ms = -1
        self._clock_ok = self._load_on = self.contacts = self.pulses = 0
        if settings:
            self.facts = facts = begun(settings)
            self.senses = Senses(settings)
            self.guard = Guard(settings, facts)
            self.charge = Charge(settings, facts)
            self.ahead = Ahead(settings, facts, self.charge)
            self.clock = ClockWatch(settings, facts)
            self.plan = Plan(settings, facts)
            self.operating = Operating(settings, facts)
            self.relaywatch = RelayWatch(settings, facts)
            self.standstill = Standstill(settings)
            self.relay = Relay(settings.run_max_s * 1000 + _RUN_SLACK_MS)
            self.second = second_of(self)
            self.rain = Rain(settings, facts)
            self.hand = Hand(settings)
            self.normal_ma = self.charge.pump_ma(settings.normal_pa)
            self.check = Check(self)
            self.watering = Watering(self)
            self.senses.join(self)
            self.waiting = Waiting(self)

    def step(
        self,
        now_ms: int,
        day: int,
        second: int,
        clock_ok: int,
        battery_n: int,
        pressure_n: int,
        load_on: int,
        contacts: int,
        frost_n: int,
        current_n: int,
    ) -> int:
        """One tick; returns the level of the relays: 1 when the first is to be closed, plus 2
        when the second is.

        ``now_ms`` wraps at 2**30. ``day`` counts from 1970-01-01, ``second`` from midnight,
        both of the board's clock, which ``clock_ok`` vouches for. Counts are 0 to 4095, and -1
        where a channel could not be read. ``contacts``: 1 rain, 2 button.
        """
        state = self.state
        if state == _UNSET:
            return 0
        last_ms = self._last_ms
        dt_ms = (now_ms - last_ms) & _MASK if last_ms >= 0 else 0
        self._last_ms = now_ms
        if dt_ms > _GAP_MS_MAX:
            dt_ms = _GAP_MS_MAX
        relay = self.relay
        pumping = state == _RUN or state == _PRIME
        if not pumping and state != _CHECK:
            self.quiet_ms += dt_ms
            self.nap_ms -= dt_ms
            if self.nap_ms > 0 and load_on == self._load_on and contacts == self.contacts:
                return 0
            dt_ms = self.quiet_ms
            self.quiet_ms = 0
            if dt_ms > _FRESH_MS:
                self.senses.forget()
        journal = self.journal
        journal.day, journal.second = day, second
        self._clock_ok = clock_ok
        senses = self.senses
        senses.feel(pumping, dt_ms, battery_n, pressure_n)
        q = self.q
        if not pumping or senses.wants_more or q[_BATTERY_BAD] or q[_SWAPPED]:
            senses.feel_more(pumping, dt_ms, battery_n, pressure_n, frost_n, current_n)
        if pumping:
            self.watering.tick(dt_ms, load_on, contacts)
        elif state == _CHECK:
            self.check.tick(dt_ms, load_on, contacts)
        else:
            self._look(dt_ms, load_on, contacts)
        self._load_on, self.contacts = load_on, contacts
        state = self.state
        if state == _RUN or state == _PRIME:
            if relay.level != relay.closed:
                relay.renew()
        else:
            relay.release()
        return relay.level

    def pass_quiet_time(self, dt_ms: int, load_on: int, contacts: int) -> None:
        """Time has passed with the pump told to stand still."""
        facts = self.facts
        facts.off_ms = min(facts.off_ms + dt_ms, _GAP_MS_MAX)
        facts.held_off_ms = max(facts.held_off_ms - dt_ms, 0)
        self.in_state_ms = min(self.in_state_ms + dt_ms, _GAP_MS_MAX)
        q = self.q
        charge = self.charge
        pump_ma = charge.pump_ma(q[_PRESSURE_PA])
        if not self.second or not self.second.holds(dt_ms, load_on):
            self.standstill.look(dt_ms, facts.off_ms, load_on, q, charge.lift_mv(pump_ma))
        q[_CLOSED_OFF] = self.standstill.works
        if self.standstill.works:
            measured = self.settings.current_fitted and not q[_CURRENT_BAD]
            charge.count_unasked(max(q[_CURRENT_MA], 0) if measured else pump_ma, dt_ms)
            self.relaywatch.heat(dt_ms)
        else:
            charge.count_board(dt_ms)
            self.relaywatch.rest(dt_ms)
        self.rain.feel(dt_ms, contacts, self.journal)
        self.hand.feel(dt_ms, contacts)
        self.judge_clock(dt_ms)

    def _look(self, dt_ms: int, load_on: int, contacts: int) -> None:
        """One look around while the pump stands still."""
        if not self.facts.judged:
            self._boot()
        self.relaywatch.age_starts(dt_ms)
        self.pass_quiet_time(dt_ms, load_on, contacts)
        self.q[_BROKEN_RUNS] = self.facts.broken_runs
        rule = self.guard.look(self.state, self.in_state_ms, dt_ms, self.q)
        if rule >= 0:
            self.act(rule)
        elif not self.hand.obey(self):
            self.waiting.tick(dt_ms)
        self.nap_ms = self._nap()

    def _boot(self) -> None:
        """First look after power came: was a run broken off, and which battery is this?"""
        facts = self.facts
        facts.judged = 1
        cause = self.cause
        if facts.run_open:
            facts.run_open = 0
            facts.broken_runs += 1
            self.changed += 1
            cause = records.POWER_BROKE_RUN
        self.journal.add(records.BOOT, cause, 1, self.state, facts.left_mah)
        if self.locked() and facts.stop_cause == CAUSE_RULE + rules.RELAY_CLOSED:
            # A pump that works on empties the battery, and the sun may wake the board many times.
            self.guard.said[rules.RELAY_CLOSED] = 1
        self.waiting.feel_battery(0)

    def battery_changed(self) -> None:
        """A battery has been put on, or has been charged where it stands."""
        rest_mv = self.q[_BATTERY_MV]
        self.charge.changed(rest_mv)
        self.changed += 1
        self.journal.add(records.BATTERY, rest_mv, self.facts.left_mah)
        if rest_mv + self.facts.reads_low_mv >= self.settings.reconnect_mv:
            self.move(cycle.CHARGED, records.NO_BATTERY)

    def reads_battery(self) -> bool:
        """Whether the battery's voltage is known."""
        return bool(self.settings.battery_fitted) and not self.q[_BATTERY_BAD]

    def pumping(self) -> bool:
        """Whether the relay is told to be closed."""
        return self.state == _RUN or self.state == _PRIME

    def take_over(self, before, trial: bool = False) -> None:
        """Go on from a keeper with other settings: no power was lost, nobody has come.

        A trial's settings are no other line, whatever they say is normal.
        """
        if self.settings and before.settings:
            self.facts.take_over(before.facts)
            for part in _GO_ON:
                getattr(self, part).go_on(getattr(before, part))
            # What has passed since the last look has passed for the clock, too.
            self._last_ms = before._last_ms
            self.quiet_ms = before.quiet_ms
            if not trial and self.facts.is_new_line(before.facts):
                self.facts.end(LINE)
                self.changed += 1

    def hold_off(self, ms: int) -> None:
        """For so long no set starts, whatever becomes of the power; 0: they may again."""
        if self.settings:
            self.facts.held_off_ms = ms
            self.changed += 1

    def judge_clock(self, dt_ms: int) -> None:
        """Hold the clock against the ticks; see whether a new night has begun."""
        clock = self.clock
        journal = self.journal
        before = self.facts.clock_bad
        bad = clock.look(dt_ms, journal.day, journal.second, self._clock_ok)
        self.q[_CLOCK_BAD] = bad
        if clock.doubt:
            journal.day = clock.day
            journal.second = clock.second
        journal.trust = 0 if bad else 1
        if bad != before:
            journal.add(records.CLOCK, bad, clock.off_s)
        if clock.known:
            night = plan.night_of(clock.day, clock.second)
            if night != self.facts.night:
                self.waiting.noon(night)
        elif clock.days_unknown:
            clock.days_unknown = 0
            self.waiting.day_unknown()

    def take_up(self, number: int, event: int, cause: int) -> None:
        """Begin a set, or a run by hand."""
        sets = self.plan
        sets.take_up(number, self.facts.night)
        self.facts.night_over = 1 if self.state == _DONE else 0
        unit = sets.units[number]
        self.journal.add(
            records.SET, number, unit, sets.amounts[number], sets.runs[number], sets.target
        )
        self.move(event, cause)

    def _nap(self) -> int:
        """How long nothing can happen that no pin change tells of."""
        waiting = self.waiting
        if self.state == _CHECK or waiting.charged_ms or self.relay.alone:
            return 0
        if self.hand.busy() or self.guard.holding(self.state) or self.clock.doubt:
            return 0
        watch = self.standstill
        if watch.doubt or (watch.works and not self.guard.said[rules.RELAY_CLOSED]):
            return 0
        nap_ms = min(waiting.decay_in_ms(), _LOOK_MS)
        if 0 < waiting.pause_ms < nap_ms:
            nap_ms = waiting.pause_ms
        until_s = self.plan.next_start_s(plan.since_noon_s(self.journal.second))
        return min(nap_ms, until_s * 1000)

    def act(self, rule: int) -> None:
        """A rule has tripped: say so, and do what its row says."""
        guard = self.guard
        row = rules.RULES[rule]
        action = row[rules.ACTION]
        value = self.q[guard.quantity(rule)]
        limit = guard.limits[rule]
        self.changed += 1
        if action <= rules.BY_HAND:
            guard.said[rule] = 1
            self.journal.add(records.WARN, rule, value, limit)
            return
        if action == rules.SHORTEN:
            if self.check.shorten():
                return
            action = row[rules.THEN]
        elif action == rules.RETRY and not guard.try_again(rule):
            action = row[rules.THEN]
        by_hand = self.plan.current == plan.HAND
        if by_hand and (action == rules.REFUSE or rule in ONLY_OF_THIS_RUN):
            action = rules.END_RUN
        held_ms = guard.held_ms[rule]
        tries = guard.tries[SHARED_TRIES.get(rule, rule)]
        self.journal.add(records.TRIP, rule, value, limit, held_ms, action, tries)
        if action == rules.END_RUN:
            self.end_set(cycle.SET_ENDED, CAUSE_RULE + rule)
            return
        if action == rules.LOCK:
            # A pump that works on is told of once, not on every look of the lockout.
            guard.said[rule] = 1
        if action != rules.RETRY:
            self.facts.night_over = 0  # This stop takes the place of the one before the run.
        self.move(_EVENT_OF_ACTION[action], CAUSE_RULE + rule)

    def end_set(self, event: int, cause: int) -> None:
        """The set ends by this event; a run by hand leaves the night as it found it."""
        if self.plan.current == plan.HAND:
            event = cycle.STOPPED if self.facts.night_over else cycle.SET_ENDED
        self.move(event, cause)

    def move(self, event: int, cause: int) -> None:
        """The only place where the state changes."""
        before = self.state
        after = NEXT[event][before]
        if after == before:
            return
        self.changed += 1
        pumping = before == _PRIME or before == _RUN
        pumps_on = pumping and after == _RUN
        if pumping and not pumps_on:
            self.facts.off_ms = 0
            self.facts.worked = 1
            self.watering.stopped(cause)
        self.state = after
        self.in_state_ms = self.nap_ms = 0
        self.guard.enter(after, pumps_on)
        if after == _CHECK:
            self.check.begin()
        elif after == _PRIME:
            self.watering.begin()
        elif after != _RUN:
            self.waiting.entered(before, cause)

    def command(self, code: int, value: int) -> bool:
        """A wish of the person at the other end of the line; obeyed at one of the next ticks.

        False where too many wait already. Without settings there is nothing to obey.
        """
        if self.state == _UNSET:
            return True
        self.nap_ms = 0
        return self.hand.ask(code, value)

    def busy(self) -> bool:
        """Whether ``command`` would take no more wishes but a stop."""
        return self.state != _UNSET and self.hand.full()

    @property
    def night(self) -> int:
        """The night that is being watered, by the day on which it began; -1: not known."""
        return self.facts.night if self.settings else plan.NONE

    @property
    def lamp(self) -> int:
        """What the lamp shows: the state; the device has a pattern for each."""
        return self.state

    def locked(self) -> bool:
        """Whether a person must look before the pump runs again."""
        return self.state == _LOCKOUT or self.state == _UNSET


# Nothing moves by "warn"; "by hand" is for the plan; "shorten" cuts the set, or "then" is done.
_EVENT_OF_ACTION = (-1, -1, -1, cycle.CHECKS_REFUSED) + (
    (cycle.TRIP_RETRY, cycle.TRIP_NIGHT, cycle.TRIP_FLAT, cycle.TRIP_LOCKOUT)
)
