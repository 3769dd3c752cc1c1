"""The quiet states: waiting for a set, pausing, stopped for the night, flat, locked out."""

from . import cycle, plan, records
from .charge import STEP_MV
from .check import RESTED_MS
from .facts import NOON, UNSEEN_MV
from .rules import NO_CLOCK
from .sense import BELOW_BAND
from .ticks import const

# The numbers of cycle.py.
_IDLE = const(1)
_CHECK = const(2)
_SOAK = const(5)
_REST = const(6)
_DONE = const(7)
_FLAT = const(8)
# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)
_RESTED_MV = const(4)
_CLOSED_OFF = const(15)
_CLOCK_BAD = const(25)

DECAYS_MS = (500, 1000, 2000, 5000, 15000, 60000, 600000)
"""When after a stop the pressure is logged: how it falls tells a shut line from an open one, a
hose that holds from one that leaks, and what is left late is the static head."""

_AWAKE_MS = const(15000)
"""Up to here a stop is looked at on every tick; the later decays are slept up to."""
_NO_DECAY_MS = const(1 << 28)

_LAST_S = const(120)
"""So long before its window closes comes the last chance of a set: looks are a minute apart."""

_DARK_FROM_S = const(21 * 3600)
_DARK_UNTIL_S = const(1800)
"""Between these a panel that lies flat gives nothing to speak of, in most places and seasons."""

_SETTLED_MS = const(600000)
"""So long after a stop a battery comes up by no more than a converter's step from look to look
(the two wells of the plant's battery; Manwell and McGowan 1993)."""

_HELD_MS = const(600000)
"""A panel's controller must hold the posts this long (common practice, no source)."""


class Waiting:
    """What the keeper does while the pump stands still."""

    def __init__(self, keeper) -> None:
        self.keeper = keeper
        self.pause_ms = self.charged_ms = 0
        self._decay = len(DECAYS_MS)
        self._day = -1
        self.seen_mv = 0
        self._held_ms = 0
        self._rested = False

    def go_on(self, before) -> None:
        """Other settings: the battery that was seen last is still there."""
        self.seen_mv = before.seen_mv

    def watch_decay(self) -> None:
        """The pump has just stopped: log how pressure and battery settle."""
        self._decay = 0

    def decay_in_ms(self) -> int:
        """How long nothing is to be logged of the last stop; 0 while it is watched closely."""
        if self._decay >= len(DECAYS_MS):
            return _NO_DECAY_MS
        after_ms = DECAYS_MS[self._decay]
        return 0 if after_ms <= _AWAKE_MS else max(after_ms - self.keeper.facts.off_ms, 0)

    def entered(self, before: int, cause: int) -> None:
        """A quiet state has just been entered, from the state before."""
        keeper = self.keeper
        state = keeper.state
        by_hand = keeper.plan.current == plan.HAND
        self._note_stop(state, cause)
        self.pause_ms = 0
        self.charged_ms = 0
        if state == _SOAK:
            self.pause_ms = keeper.plan.soaks_s[keeper.plan.current] * 1000
            keeper.plan.run += 1
        elif state == _REST:
            self.pause_ms = keeper.settings.retry_rest_s * 1000
        else:
            self._close_set(cause)
            if keeper.clock.known:
                # What came due and went by meanwhile did so for what has just ended.
                for _ in range(plan.SETS):
                    self._say_missed(before, by_hand)
        if state == _FLAT and keeper.settings.battery_fitted:
            # What has been used up reads so: after a charge it reads more.
            keeper.charge.note(keeper.q[_RESTED_MV] - keeper.facts.reads_low_mv)

    def _note_stop(self, state: int, cause: int) -> None:
        """Why it stopped, for whoever asks. What ends a stop is none, nor is a soak; and a run by
        hand in a night that was stopped leaves why that was."""
        keeper = self.keeper
        facts = keeper.facts
        number = keeper.plan.current
        ends_stop = state == _IDLE and number == plan.NONE
        if state == _SOAK or ends_stop or (state == _DONE and facts.night_over):
            return
        facts.stop_cause = cause
        facts.stop_set = number
        facts.stop_day = plan.NONE if facts.clock_bad else keeper.journal.day
        facts.stop_second = keeper.journal.second

    def _close_set(self, cause: int) -> None:
        """The set, if there was one, is over for tonight."""
        keeper = self.keeper
        sets = keeper.plan
        if sets.current == plan.NONE:
            return
        number = sets.current
        given_ml = sets.given_ml[number]
        # A millilitre on a square metre is a micrometre.
        depth_um = given_ml // keeper.settings.wet_area_m2
        keeper.journal.add(records.GIVEN, number, cause, sets.given_s[number], given_ml, depth_um)
        sets.close()
        keeper.facts.night_over = 0

    def tick(self, dt_ms: int) -> None:
        """One look around, after the rules and the person had nothing to say."""
        keeper = self.keeper
        self._decay_tick()
        self.feel_battery(dt_ms)
        if keeper.settings.panel_fitted and keeper.journal.day != self._day:
            self._midnight()
        state = keeper.state
        if state == _SOAK or state == _REST:
            self._pause(dt_ms)
        elif state == _IDLE and keeper.clock.known and keeper.guard.held_ms[NO_CLOCK] < 0:
            self._take_up_due()
        if keeper.clock.known and keeper.state != _CHECK:
            self._say_missed(keeper.state, keeper.plan.current == plan.HAND)

    def noon(self, night: int) -> None:
        """Another night: settle the one before. A clock that is set back over noon ends none.

        One night, one record: a noon that comes again says nothing, unless water was given. Noon
        cuts a set that pauses. The run that is being given is given to its end, and then no other
        run of that set starts: it is day. A run by hand belongs to no night.
        """
        keeper = self.keeper
        facts = keeper.facts
        before = facts.night
        facts.night = night
        keeper.changed += 1
        if night < before:
            facts.told_night = min(facts.told_night, night)
            return
        self._weigh()
        if before != plan.NONE and (before > facts.told_night or facts.night_run_s):
            self._tell_night()
            facts.told_night = before
        facts.end(NOON)
        keeper.operating.start()
        if keeper.plan.current != plan.HAND:
            keeper.move(cycle.NOON, records.AT_NOON)

    def _tell_night(self) -> None:
        keeper = self.keeper
        facts = keeper.facts
        planned_s = keeper.plan.planned_s(keeper.settings.flow_ml_min)
        if planned_s > 0 and facts.night_run_s * 10 >= planned_s * 9:
            keeper.ahead.learn_night()
        keeper.journal.add(
            records.NIGHT,
            facts.night_run_s,
            facts.night_ml,
            facts.used_mah,
            facts.left_mah,
            self.nights_left_tenths(),
            keeper.q[_BATTERY_MV],
        )
        if self._has_rested():
            keeper.ahead.rested(keeper.q[_BATTERY_MV])

    def nights_left_tenths(self) -> int:
        """Nights that the battery still gives at the least, in tenths."""
        keeper = self.keeper
        # A flat board starts no set, whatever the count of charge still says.
        if keeper.state == _FLAT:
            return 0
        rest_mv = keeper.q[_BATTERY_MV] if self._has_rested() else 0
        planned_s = keeper.plan.planned_s(keeper.settings.flow_ml_min)
        return keeper.ahead.nights_tenths(planned_s * (keeper.normal_ma // 10) // 360, rest_mv)

    def feel_battery(self, dt_ms: int) -> None:
        """Which battery is this, and has it been charged? Whatever powers the board."""
        keeper = self.keeper
        settings = keeper.settings
        before_mv = self.seen_mv
        if not keeper.reads_battery():
            # It may have been taken off: the next reading is looked at as after a power loss, and
            # by itself. Beside samples of a pump at work it would be taken for an empty battery.
            if keeper.senses.battery.quality == BELOW_BAND:
                keeper.senses.battery.forget()
            self.seen_mv = 0
            self.charged_ms = 0
            return
        mv = self.seen_mv = keeper.q[_BATTERY_MV]
        if settings.panel_fitted:
            self._watch_panel(dt_ms, mv)
        elif keeper.state == _FLAT:
            self._watch_charge(dt_ms, mv)
        off_ms = keeper.facts.off_ms
        if before_mv == 0:
            self._judge(mv)
        elif mv < settings.charging_mv and off_ms >= _SETTLED_MS:
            if abs(mv - before_mv) >= STEP_MV:
                self._judge(mv)
        if off_ms < RESTED_MS:
            self._rested = False
        elif not self._rested:
            self._rested = True
            self._weigh()

    def _judge(self, mv: int) -> None:
        """The battery has come back, or reads otherwise all at once: is it another?"""
        keeper = self.keeper
        charge = keeper.charge
        facts = keeper.facts
        first = facts.rest_over_mv == UNSEEN_MV
        if keeper.settings.panel_fitted and not first:
            # The sun lifts it and lets go of it: the dark will tell.
            return
        if first or self._is_charged(mv):
            keeper.battery_changed()
            return
        counted_mah = facts.left_mah
        charge.bound(mv, 0 if facts.off_ms >= RESTED_MS else charge.unrested_mv)
        if facts.left_mah < counted_mah:
            charge.note(mv)
            keeper.changed += 1
            keeper.journal.add(records.BATTERY, mv, facts.left_mah)

    def _is_charged(self, mv: int) -> bool:
        keeper = self.keeper
        charge = keeper.charge
        if not charge.is_charged(mv):
            return False
        if keeper.state == _FLAT:
            return mv + keeper.facts.reads_low_mv >= keeper.settings.reconnect_mv
        return charge.gains(mv)

    def _weigh(self) -> None:
        """The battery has long rested: hold the count against its voltage."""
        keeper = self.keeper
        settings = keeper.settings
        mv = keeper.q[_BATTERY_MV]
        if not self._has_rested() or settings.panel_fitted or mv >= settings.charging_mv:
            return
        # A flat one comes up by itself, one with a weak cell by much.
        if keeper.state != _FLAT and self._is_charged(mv):
            keeper.battery_changed()
        else:
            keeper.charge.check(mv, False)
        keeper.changed += 1

    def _has_rested(self) -> bool:
        keeper = self.keeper
        stands = not keeper.pumping() and not keeper.q[_CLOSED_OFF]
        stood = keeper.facts.off_ms >= RESTED_MS and stands
        return stood and keeper.reads_battery()

    def dark(self) -> bool:
        """Whether no sun can lift the battery."""
        second = self.keeper.journal.second
        dark = second >= _DARK_FROM_S or second < _DARK_UNTIL_S
        return dark and not self.keeper.q[_CLOCK_BAD]

    def _midnight(self) -> None:
        """A panel's battery shows what is in it when it is dark, and the pump has long stood."""
        keeper = self.keeper
        q = keeper.q
        self._day = keeper.journal.day
        if not self._has_rested() or not self.dark():
            return
        keeper.charge.check(q[_BATTERY_MV], True)
        keeper.changed += 1
        top_mv = q[_BATTERY_MV] + keeper.facts.reads_low_mv
        if keeper.state == _FLAT and top_mv >= keeper.settings.reconnect_mv:
            keeper.battery_changed()

    def _decay_tick(self) -> None:
        if self._decay >= len(DECAYS_MS):
            return
        keeper = self.keeper
        if keeper.facts.off_ms < DECAYS_MS[self._decay]:
            return
        self._decay += 1
        q = keeper.q
        keeper.journal.add(records.DECAY, keeper.facts.off_ms, q[_PRESSURE_PA], q[_BATTERY_MV])

    def _pause(self, dt_ms: int) -> None:
        keeper = self.keeper
        if keeper.rain.ends_set():
            keeper.end_set(cycle.SET_ENDED, records.RAINED)
        elif keeper.plan.is_past(keeper.facts.night):
            keeper.move(cycle.NOON, records.AT_NOON)
        elif dt_ms < self.pause_ms:
            self.pause_ms -= dt_ms
        else:
            self.pause_ms = 0
            keeper.move(cycle.SOAKED if keeper.state == _SOAK else cycle.RESTED, records.COMPLETE)

    def _watch_charge(self, dt_ms: int, mv: int) -> None:
        """Charged where it stands: the voltage is higher than any battery rests.

        A flat battery comes up again by itself when the pump stops; that is not charge.
        """
        settings = self.keeper.settings
        if mv < settings.charging_mv:
            self.charged_ms = 0
            return
        # The first look counts for a millisecond: it only starts the hold.
        self.charged_ms += dt_ms if self.charged_ms else 1
        if self.charged_ms >= settings.charging_hold_ms:
            self.keeper.battery_changed()

    def _watch_panel(self, dt_ms: int, mv: int) -> None:
        """A panel's controller that holds the posts has nothing more to put in: it is full."""
        keeper = self.keeper
        facts = keeper.facts
        settings = keeper.settings
        if mv < settings.held_mv:
            self._held_ms = 0
            return
        before_ms = self._held_ms
        self._held_ms = min(before_ms + dt_ms, _HELD_MS) if before_ms else 1
        if self._held_ms < _HELD_MS:
            return
        facts.left_mah = settings.capacity_mah
        if before_ms < _HELD_MS:
            keeper.changed += 1
        if keeper.state == _FLAT:
            keeper.battery_changed()

    def _take_up_due(self) -> None:
        keeper = self.keeper
        facts = keeper.facts
        number = keeper.plan.due(facts.night, plan.since_noon_s(keeper.journal.second))
        if number == plan.NONE or facts.held_off_ms:
            return
        if facts.night < facts.hold_until_night:
            self._skip(number, records.ON_HOLD, facts.hold_until_night - facts.night)
        elif keeper.rain.skips_set():
            self._skip(number, records.RAINED, facts.dry_ms // 1000)
        elif not self.must_rest(number):
            keeper.take_up(number, cycle.SET_DUE, records.COMPLETE)

    def must_rest(self, number: int) -> bool:
        """Whether a set that is due waits after a run by hand: that must not cost it its start.

        It waits until it can be given whole by a motor that has cooled, with starts to be had;
        at the end of its window it is tried all the same.
        """
        keeper = self.keeper
        facts = keeper.facts
        sets = keeper.plan
        settings = keeper.settings
        late_s = plan.since_noon_s(keeper.journal.second) - sets.starts_s[number]
        if facts.stop_set != plan.HAND or late_s + _LAST_S >= sets.windows_s[number]:
            return False
        heat_s = facts.heat_ms // 1000
        hot = heat_s > 0 and heat_s + sets.set_s(number, settings.flow_ml_min) > settings.duty_s
        return hot or 0 < facts.starts > settings.starts_max - sets.runs[number]

    def _say_missed(self, state: int, by_hand: bool) -> None:
        """A set whose time has gone by, with the state that was in its way."""
        keeper = self.keeper
        number = keeper.plan.missed(keeper.facts.night, plan.since_noon_s(keeper.clock.second))
        if number == plan.NONE or number == keeper.plan.current:
            return
        if keeper.q[_CLOCK_BAD]:
            self._skip(number, records.NO_CLOCK, 0)
        elif by_hand:
            self._skip(number, records.HAND_RUN, 0)
        else:
            self._skip(number, records.MISSED, state)

    def day_unknown(self) -> None:
        """A day has passed, by the ticks, whose hours nobody knew: each set is missed."""
        sets = self.keeper.plan
        number = 1
        while number <= plan.SETS:
            if sets.units[number] != plan.OFF:
                self._skip(number, records.NO_CLOCK, 0)
            number += 1

    def _skip(self, number: int, cause: int, value: int) -> None:
        keeper = self.keeper
        keeper.plan.skip(number, keeper.facts.night)
        keeper.journal.add(records.SKIP, number, cause, value)
        keeper.changed += 1
