"""Giving water: what is done on each tick, and on each second, while the pump runs."""

from . import cycle, records
from .line import Line
from .supply import Supply
from .tally import Tally
from .ticks import const

# The numbers of cycle.py.
_PRIME = const(3)
_RUN = const(4)
# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_DRIFT = const(2)
_BATTERY_MV = const(3)
_RESTED_MV = const(4)
_CURRENT_MA = const(7)
_PRIME_MS = const(9)
_ON_S = const(10)
_HEAT_S = const(14)
_CLOSED_OFF = const(15)
_OPEN_ON = const(16)
_CHATTER = const(17)
_GAP_MS = const(18)
_NO_SAG = const(23)
_FROST_DC = const(26)

LEARN_S = 5
"""The supply's resistance is learned this long after prime: the inrush and the battery's
quickest losses are over, the slow ones have not begun (common practice, no source)."""


_RENEW_MS = const(500)  # As in relay.py.
_PUMPED_MS_MAX = const(1500)
"""Most that is counted at once: after a gap in the ticks the relay has long dropped."""


class Watering:
    """One closing of the relay after another, until the set is given."""

    def __init__(self, keeper) -> None:
        settings = keeper.settings
        self.keeper = keeper
        self._q = keeper.q
        self._facts = keeper.facts
        self._guard = keeper.guard
        self._hand = keeper.hand
        self._relay = keeper.relay
        self._relaywatch = keeper.relaywatch
        self._standstill = keeper.standstill
        self._zero_ma = settings.current_zero_ma
        self._ma_per_bar = settings.current_ma_per_bar
        self.tally = Tally()
        self.pump_ma = keeper.normal_ma
        self.supply = Supply(keeper)
        self.line = Line(keeper)
        if settings.flow_fitted:
            from .meter import MeteredLine

            self.line = MeteredLine(keeper)
        self._lift_mv = 0
        self._seconds = 0
        self._second_ms = 0
        self._ml_min_ms = 0
        self._run_ms = 0

    def begin(self) -> None:
        """The relay is about to close."""
        keeper = self.keeper
        q = keeper.q
        self.tally.clear()
        self.pump_ma = keeper.charge.pump_ma(0)
        self._lift_mv = keeper.charge.lift_mv(self.pump_ma)
        self.line.begin()
        self._seconds = 0
        self._second_ms = 0
        keeper.relaywatch.started()
        keeper.facts.run_open = 1
        q[_HEAT_S] = keeper.facts.heat_ms // 1000
        q[_DRIFT] = keeper.facts.drift_permille
        self.supply.begin()
        plan = keeper.plan
        plan.run_ml = 0
        keeper.journal.add(
            records.START,
            plan.current,
            plan.run,
            keeper.rest_mv,
            keeper.facts.left_mah,
            q[_FROST_DC],
            keeper.rest_pa,
        )

    def tick(self, dt_ms: int, load_on: int, contacts: int) -> None:
        """One tick with the relay closed.

        A call takes as long as ten additions, and this is done ten times a second: what is nearly
        never wanted is asked for only then.
        """
        keeper = self.keeper
        q = self._q
        state = keeper.state
        watch = self._relaywatch
        supply = self.supply
        on_ms = self._relay.pass_time(dt_ms)
        q[_ON_S] = on_ms // 1000
        lift_mv = self._lift_mv
        keeper.in_state_ms = in_state_ms = keeper.in_state_ms + dt_ms
        pressure_pa = q[_PRESSURE_PA]
        battery_mv = q[_BATTERY_MV]
        sag_mv = supply.source_mv - battery_mv
        # What a panel held the battery at before the start is what a load takes from.
        felt_mv = sag_mv + keeper.held_mv
        # The same as charge.pump_ma.
        ma = self._zero_ma
        if pressure_pa > 0:
            ma += pressure_pa // 100 * self._ma_per_bar // 1000
        supply.pump_ma = ma
        at_work = pressure_pa > supply.turns_pa or supply.draws()
        pumped_ms = dt_ms if dt_ms < _RENEW_MS else _RENEW_MS
        if watch.feels:
            watch.feel(pumped_ms, on_ms, felt_mv, ma, at_work)
            q[_NO_SAG] = watch.no_sag
        watch.pump_on(pumped_ms, load_on)
        supply.tick(sag_mv, ma, at_work)
        if supply.was_strained:
            supply.look_for_fuse(dt_ms, load_on, sag_mv)
        if felt_mv < 0 or q[_CLOSED_OFF]:
            q[_CLOSED_OFF] = self._standstill.pump_on(on_ms, felt_mv, lift_mv)
        q[_RESTED_MV] = battery_mv + lift_mv + self._facts.reads_low_mv
        q[_GAP_MS] = dt_ms
        q[_OPEN_ON] = watch.open_on
        q[_CHATTER] = watch.chatter
        if state == _PRIME:
            q[_PRIME_MS] = in_state_ms
            self.line.fill(dt_ms, sag_mv)
        else:
            self.line.flow(dt_ms)
        self._second_ms = second_ms = self._second_ms + dt_ms
        if second_ms >= 1000:
            self._each_second(contacts)
            if keeper.state != state:
                return
        guard = self._guard
        rule = -1 if guard.is_calm(state, q) else guard.look(state, in_state_ms, dt_ms, q)
        if rule >= 0:
            keeper.act(rule)
        elif state == _PRIME:
            self._prime(dt_ms)
        if contacts or keeper.contacts:
            self._hand.feel(dt_ms, contacts)
        if self._hand.asked and keeper.pumping():
            # A person who wants the pump to stop does not wait for the next second.
            self._hand.obey(keeper)

    def stopped(self, cause: int) -> None:
        """The relay is about to open."""
        keeper = self.keeper
        plan = keeper.plan
        self.supply.stopped(cause)
        self._count(self._second_ms)
        self._second_ms = 0
        q = keeper.q
        on_s = keeper.relay.on_ms // 1000
        keeper.facts.night_run_s += on_s
        keeper.facts.run_open = 0
        keeper.facts.broken_runs = 0
        sag_mv = keeper.rest_mv + keeper.held_mv - q[_BATTERY_MV]
        if cause < records.CAUSE_RULE:
            # A line that was shut drew another current than the moment's.
            keeper.ahead.stopped(q[_RESTED_MV])
        if keeper.second:
            keeper.second.stopped()
        pressure_pa = q[_PRESSURE_PA]
        keeper.standstill.stopped(sag_mv, q[_BATTERY_MV], self._lift_mv, pressure_pa, q[_OPEN_ON])
        keeper.waiting.watch_decay()
        keeper.journal.add(
            records.STOP,
            cause,
            on_s,
            pressure_pa,
            q[_BATTERY_MV],
            keeper.facts.used_mah,
            plan.run_ml,
        )

    def _prime(self, dt_ms: int) -> None:
        """Where water has come, the run begins."""
        if not self.line.primed(dt_ms):
            return
        keeper = self.keeper
        keeper.operating.start()
        self.line.filled()
        pressure_pa = keeper.q[_PRESSURE_PA]
        battery_mv = keeper.q[_BATTERY_MV]
        keeper.journal.add(records.PRIMED, keeper.in_state_ms, pressure_pa, battery_mv)
        keeper.move(cycle.PRIMED, records.COMPLETE)

    def _count(self, dt_ms: int) -> None:
        """Charge and water of the time since the last count."""
        q = self._q
        charge = self.keeper.charge
        if self.keeper.settings.current_fitted:
            pump_ma = max(q[_CURRENT_MA], 0)
        else:
            pump_ma = q[_CURRENT_MA] = charge.pump_ma(q[_PRESSURE_PA])
        self.pump_ma = pump_ma
        charge.count(pump_ma, dt_ms)
        self._lift_mv = charge.lift_mv(pump_ma)

    def _each_second(self, contacts: int) -> None:
        """What need not be done ten times a second."""
        keeper = self.keeper
        dt_ms = self._second_ms
        self._second_ms = 0
        keeper.judge_clock(dt_ms)
        if dt_ms > _PUMPED_MS_MAX:
            dt_ms = _PUMPED_MS_MAX
        self._count(dt_ms)
        self._q[_HEAT_S] = self._facts.heat_ms // 1000
        keeper.rain.feel(dt_ms, contacts, keeper.journal)
        if self._facts.wet_ms and keeper.rain.ends_set():
            keeper.end_set(cycle.SET_ENDED, records.RAINED)
        elif keeper.state == _RUN:
            self._run_second(dt_ms)

    def _run_second(self, dt_ms: int) -> None:
        keeper = self.keeper
        plan = keeper.plan
        operating = keeper.operating
        pressure_pa = self._q[_PRESSURE_PA]
        battery_mv = self._q[_BATTERY_MV]
        self._seconds = seconds = self._seconds + 1
        flow_ml_min = operating.flow_ml_min(pressure_pa)
        if keeper.settings.flow_fitted:
            flow_ml_min = self.line.passed(dt_ms, flow_ml_min)  # type: ignore[attr-defined]
        ml_min_ms = self._ml_min_ms + flow_ml_min * dt_ms
        ml = ml_min_ms // 60000
        self._ml_min_ms = ml_min_ms - ml * 60000
        self._facts.night_ml += ml
        run_ms = self._run_ms + dt_ms
        self._run_ms = run_ms % 1000
        plan.deliver(run_ms // 1000, ml)
        if operating.second(pressure_pa, battery_mv):
            self._say_normal()
        self.supply.second(self.pump_ma)
        if seconds == LEARN_S:
            self.line.look()
            # A motor that has cut out by then takes nothing that tells of the supply.
            turns = self.pump_ma > self._zero_ma >> 1
            if turns and keeper.settings.battery_fitted and not keeper.held_mv:
                self._learn(battery_mv)
        if self.tally.add(pressure_pa, battery_mv, self.pump_ma, flow_ml_min):
            self._say_minute()
        if plan.all_given():
            keeper.end_set(cycle.SET_ENDED, records.COMPLETE)
        elif plan.run < plan.runs[plan.current] and plan.run_given():
            keeper.move(cycle.RUN_ENDED, records.COMPLETE)

    def _learn(self, loaded_mv: int) -> None:
        keeper = self.keeper
        mohm = self.supply.learn(loaded_mv, self.pump_ma)
        self._lift_mv = keeper.charge.lift_mv(self.pump_ma)
        keeper.journal.add(
            records.LEARNED,
            mohm,
            keeper.rest_mv,
            loaded_mv,
            self.pump_ma,
            self.line.smooth_pa(),
        )

    def _say_normal(self) -> None:
        keeper = self.keeper
        facts = keeper.facts
        keeper.q[_DRIFT] = facts.drift_permille
        keeper.journal.add(records.NORMAL, facts.tonight_pa, facts.base_pa, facts.drift_permille)
        keeper.changed += 1

    def _say_minute(self) -> None:
        keeper = self.keeper
        tally = self.tally
        seconds = tally.seconds
        keeper.journal.add(
            records.MINUTE,
            tally.pressure_sum_pa // seconds,
            tally.battery_sum_mv // seconds,
            tally.current_sum_ma // seconds,
            tally.flow_sum_ml_min // seconds,
            keeper.facts.left_mah,
        )
        tally.clear()
        keeper.relaywatch.age_starts(60000)
        keeper.changed += 1
