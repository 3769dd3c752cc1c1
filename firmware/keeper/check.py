"""The check before a start: two seconds with the pump off in which the readings are judged."""

from . import cycle, records
from .ticks import const

# The numbers of cycle.py.
_CHECK = const(2)
# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)
_RESISTANCE = const(6)
_SPARE = const(8)
_STARTS = const(11)

CHECK_MS = 2000
SHORTEST_S = 300
"""A set that the battery cuts to less is not begun."""

_CHECK_MS_MAX = const(10000)
_REST_FROM_MS = const(1000)
_SPARE_FROM_MS = const(1500)
RESTED_MS = 4 * 3600000


class Check:
    """Judges the readings, takes the rest readings, and cuts a set to what the battery has."""

    def __init__(self, keeper) -> None:
        self.keeper = keeper
        self._sum_mv = 0
        self._sum_pa = 0
        self._samples = 0
        self._weighed = False

    def begin(self) -> None:
        """The state has just been entered."""
        self._sum_mv = 0
        self._sum_pa = 0
        self._samples = 0
        self._weighed = False
        self.keeper.senses.forget()
        if self.keeper.second:
            self.keeper.second.begin()
        self.keeper.q[_SPARE] = 0
        # The start that is being checked counts.
        self.keeper.q[_STARTS] = self.keeper.facts.starts + 1

    def tick(self, dt_ms: int, load_on: int, contacts: int) -> None:
        """One tick of judging."""
        keeper = self.keeper
        q = keeper.q
        keeper.pass_quiet_time(dt_ms, load_on, contacts)
        in_state_ms = keeper.in_state_ms
        q[_RESISTANCE] = keeper.facts.resistance_mohm
        if in_state_ms > _REST_FROM_MS and not keeper.relay.alone:
            self._sum_mv += q[_BATTERY_MV]
            self._sum_pa += q[_PRESSURE_PA]
            self._samples += 1
        if in_state_ms >= _SPARE_FROM_MS and not self._weighed:
            self._weigh()
        rule = keeper.guard.look(_CHECK, in_state_ms, dt_ms, q)
        if rule >= 0:
            keeper.act(rule)
        elif keeper.hand.obey(keeper) or in_state_ms < CHECK_MS:
            return
        elif not keeper.guard.holding(_CHECK):
            second = keeper.second
            if not second or second.prove(dt_ms, load_on):
                self._pass()
        elif in_state_ms >= _CHECK_MS_MAX:
            # Readings that are neither good nor bad for long enough: not tonight.
            keeper.end_set(cycle.CHECKS_REFUSED, records.TRIPPED)

    def shorten(self) -> bool:
        """Cut the set to what the battery has; False where that is too little to start for."""
        keeper = self.keeper
        plan = keeper.plan
        planned_s = plan.seconds_to_go(keeper.settings.flow_ml_min)
        given_s = keeper.charge.seconds_left(keeper.normal_ma)
        if given_s < SHORTEST_S:
            return False
        plan.shorten(given_s, keeper.settings.flow_ml_min)
        keeper.journal.add(records.SHORT, plan.current, planned_s, given_s)
        keeper.q[_SPARE] = 0
        return True

    def _weigh(self) -> None:
        """Hold what the set needs against what the battery has."""
        keeper = self.keeper
        charge = keeper.charge
        self._weighed = True
        if keeper.reads_battery():
            if keeper.facts.off_ms >= RESTED_MS and not self._held():
                charge.check(self._rest_mv(), keeper.waiting.dark())
            else:
                charge.bound(self._rest_mv(), charge.unrested_mv)
        seconds = keeper.plan.seconds_to_go(keeper.settings.flow_ml_min)
        keeper.q[_SPARE] = charge.spare_mah(seconds, keeper.normal_ma)

    def _pass(self) -> None:
        keeper = self.keeper
        settings = keeper.settings
        keeper.rest_mv = self._rest_mv()
        keeper.held_mv = 0
        if self._held():
            # The panel holds a full battery at its limit: that is no rest to reckon sag from.
            keeper.held_mv = keeper.rest_mv - settings.charged_mv
            keeper.rest_mv = settings.charged_mv
        keeper.rest_pa = self._sum_pa // self._samples if settings.pressure_fitted else 0
        keeper.ahead.starts(keeper.rest_mv)
        keeper.move(cycle.CHECKS_PASSED, records.COMPLETE)

    def _held(self) -> bool:
        settings = self.keeper.settings
        return bool(settings.panel_fitted) and self._rest_mv() >= settings.charging_mv

    def _rest_mv(self) -> int:
        """Mean from _REST_FROM_MS on; asked for only after that, so there is a sample."""
        return self._sum_mv // self._samples
