"""Runs the table of protections: which rule trips on this tick?

A rule trips when its quantity has been past its limit, without a break, for its hold time.
Past means past: a value at the limit does not count.

The quality of a reading is judged otherwise, since a loose wire touches now and then: a good
tick does not end the hold of a sensor but takes half a tick off it. A wire that is bad more than
one tick in three trips.

Of several rules that trip in one tick the most severe acts, of equals the upper row. One that
would only name the symptom of another ("gives way to") waits while that one is past its limit: a
cause has its own hold, and a symptom's may be the shorter.
"""

from .cycle import PRIME, RUN, STATES
from .quantities import QUANTITIES
from .rules import (
    ABOVE,
    ACTION,
    AFTER,
    BELOW,
    GIVES_WAY_TO,
    HOLD,
    LIMIT,
    NAME,
    NEEDS,
    QUANTITY,
    RULES,
    SHARED_TRIES,
    SIDE,
    TRIES,
    WATCHED_IN,
)
from .ticks import const

# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_PERMILLE = const(1)
_DRIFT = const(2)
_BATTERY_MV = const(3)
_RESTED_MV = const(4)
_SAG_MV = const(5)
_RESISTANCE = const(6)
_ON_S = const(10)
_FUSE_BLOWN = const(12)
_HEAT_S = const(14)
_OPEN_ON = const(16)
_CHATTER = const(17)
_GAP_MS = const(18)
_BATTERY_BAD = const(19)
_PRESSURE_BAD = const(20)
_FROST_BAD = const(21)
_CURRENT_BAD = const(22)
_NO_SAG = const(23)
_SWAPPED = const(24)
_FROST_DC = const(26)
_WATER_PA = const(27)
_DRY_S = const(28)
_SHUT_PA = const(29)

_ASKED = const(
    1 << _PRESSURE_PA
    | 1 << _PERMILLE
    | 1 << _DRIFT
    | 1 << _BATTERY_MV
    | 1 << _RESTED_MV
    | 1 << _SAG_MV
    | 1 << _RESISTANCE
    | 1 << _ON_S
    | 1 << _FUSE_BLOWN
    | 1 << _HEAT_S
    | 1 << _OPEN_ON
    | 1 << _CHATTER
    | 1 << _GAP_MS
    | 1 << _BATTERY_BAD
    | 1 << _PRESSURE_BAD
    | 1 << _CURRENT_BAD
    | 1 << _NO_SAG
    | 1 << _SWAPPED
    | 1 << _WATER_PA
    | 1 << _DRY_S
    | 1 << _SHUT_PA
)
"""Bits of what ``is_calm`` asks by name. What else a rule judges it walks through."""

_CLEAR = const(-1)
_HELD_MS_MAX = const(1 << 28)
"""Longer than any hold: a warning may stand for weeks, and its time stays in 31 bits."""
_FAR = const((1 << 30) - 1)
"""No quantity is further from zero: the end of a band that a rule leaves open."""


class Guard:
    """The table, made ready for this board's settings and sensors.

    ``watched[state]`` are the numbers of the rules that look in it. ``held_ms[rule]`` is how long
    the rule has been past its limit, or -1 when it is not. ``unprotected`` names the rules whose
    sensor is not fitted.
    """

    def __init__(self, settings, facts) -> None:
        self.unprotected = []
        limits: list = []
        causes: list = []
        # A rule in the order of the walk in ``look``: a tuple is taken apart at once.
        rows: list = []
        watched: list = [[] for _ in STATES]
        for rule, row in enumerate(RULES):
            limit = _value(settings, row[LIMIT])
            low, high = (-_FAR, limit) if row[SIDE] == ABOVE else (limit, _FAR)
            quantity = QUANTITIES.index(row[QUANTITY])
            hold_ms = _value(settings, row[HOLD])
            flickers = row[HOLD] == "sensor_hold_ms"
            limits.append(limit)
            rows.append((quantity, low, high, row[AFTER], hold_ms, flickers, row[ACTION]))
            causes.append(_numbers(row[GIVES_WAY_TO]))
            if _are_fitted(settings, row[NEEDS]):
                for state in row[WATCHED_IN].split():
                    watched[STATES.index(state)].append(rule)
            else:
                self.unprotected.append(row[NAME])
        # A list that grows takes up to twice its room.
        self.limits, self._rows, self._causes = tuple(limits), tuple(rows), tuple(causes)
        self.watched = [tuple(rules) for rules in watched]
        # Of the states in which the pump runs: what a quantity may reach before any rule is past
        # its limit. In the others a look is seldom, and walks.
        self._most: list = [None] * len(STATES)
        self._least: list = [None] * len(STATES)
        self._others: list = [None] * len(STATES)
        for state in (PRIME, RUN):
            most = self._tightest(watched[state], ABOVE)
            least = self._tightest(watched[state], BELOW)
            numbers = range(len(QUANTITIES))
            self._most[state] = tuple([most.get(number, _FAR) for number in numbers])
            self._least[state] = tuple([least.get(number, -_FAR) for number in numbers])
            judged = sorted(set(most) | set(least))
            self._others[state] = tuple([number for number in judged if not _ASKED >> number & 1])
        pumping = self.watched[PRIME] + self.watched[RUN]
        self.judges_frost = any(self.quantity(rule) in (_FROST_DC, _FROST_BAD) for rule in pumping)
        """Whether a rule wants the frost sensor while the pump runs."""
        self.held_ms = [_CLEAR] * len(RULES)
        self._any_held = True
        self.said = facts.said
        self.tries = facts.tries
        self.tries_max = tuple([_value(settings, row[TRIES]) for row in RULES])

    def _tightest(self, rules, side: int) -> dict:
        """By quantity: of these rules' limits on one side, the one that is met first."""
        limits: dict = {}
        for rule in rules:
            if RULES[rule][SIDE] == side:
                quantity, limit = self._rows[rule][0], self.limits[rule]
                first = min if side == ABOVE else max
                limits[quantity] = first(limit, limits.get(quantity, limit))
        return limits

    def quantity(self, rule: int) -> int:
        """The number of the quantity that a rule judges."""
        return self._rows[rule][0]

    def enter(self, state: int, pumps_on: bool) -> None:
        """The state has changed: forget the holds.

        While the pump goes on, the hold of a rule that is still watched goes on with it.
        """
        watched = self.watched[state]
        rule = 0
        while rule < len(self.held_ms):
            if not pumps_on or rule not in watched:
                self.held_ms[rule] = _CLEAR
            rule += 1

    def is_calm(self, state: int, q: list) -> bool:
        """While the pump runs: whether ``look`` has nothing to do, as nearly always.

        No rule was past its limit on the tick before, and no quantity is now. Each that a rule
        judges is asked by its name: a walk takes three times as long, and so few names take no
        heap. A verdict that no rule of this state wants only costs the walk.
        """
        most = self._most[state]
        least = self._least[state]
        if (
            self._any_held
            or q[_OPEN_ON]
            or q[_BATTERY_BAD]
            or q[_PRESSURE_BAD]
            or q[_CURRENT_BAD]
            or q[_NO_SAG]
            or q[_SWAPPED]
            or q[_FUSE_BLOWN]
            or q[_PRESSURE_PA] > most[_PRESSURE_PA]
            or q[_DRIFT] > most[_DRIFT]
            or not least[_BATTERY_MV] <= q[_BATTERY_MV] <= most[_BATTERY_MV]
            or q[_SAG_MV] > most[_SAG_MV]
            or q[_RESISTANCE] > most[_RESISTANCE]
            or q[_ON_S] > most[_ON_S]
            or q[_HEAT_S] > most[_HEAT_S]
            or q[_CHATTER] > most[_CHATTER]
            or q[_GAP_MS] > most[_GAP_MS]
            or q[_DRY_S] > most[_DRY_S]
            or q[_SHUT_PA] > most[_SHUT_PA]
            or q[_PERMILLE] < least[_PERMILLE]
            or q[_RESTED_MV] < least[_RESTED_MV]
            or q[_WATER_PA] < least[_WATER_PA]
        ):
            return False
        others = self._others[state]
        return not others or self._are_calm(others, state, q)

    def _are_calm(self, others, state: int, q: list) -> bool:
        most = self._most[state]
        least = self._least[state]
        for quantity in others:
            if not least[quantity] <= q[quantity] <= most[quantity]:
                return False
        return True

    def look(self, state: int, in_state_ms: int, dt_ms: int, quantities: list) -> int:
        """Hold each rule that is watched against its limit, and count its time.

        The most severe rule that trips now, or -1. One that was said once (``said``) is not
        returned again before noon or a clear.
        """
        tripped = False
        any_held = False
        rows = self._rows
        all_held_ms = self.held_ms
        for rule in self.watched[state]:
            quantity, low, high, after_ms, hold_ms, flickers, _action = rows[rule]
            held_ms = all_held_ms[rule]
            if low <= quantities[quantity] <= high:
                if held_ms < 0:
                    continue
                held_ms -= dt_ms >> 1
                if held_ms < 0 or not flickers:
                    held_ms = _CLEAR
            elif in_state_ms >= after_ms:
                held_ms = 0 if held_ms < 0 else held_ms + dt_ms
                if held_ms > _HELD_MS_MAX:
                    held_ms = _HELD_MS_MAX
                if held_ms >= hold_ms and not self.said[rule]:
                    tripped = True
            all_held_ms[rule] = held_ms
            if held_ms >= 0:
                any_held = True
        self._any_held = any_held
        return self._worst(state) if tripped else -1

    def _worst(self, state: int) -> int:
        """Of the rules that have held their time, the most severe that gives way to no cause."""
        worst = -1
        worst_action = -1
        for rule in self.watched[state]:
            _quantity, _low, _high, _after_ms, hold_ms, _flickers, action = self._rows[rule]
            held_ms = self.held_ms[rule]
            if (
                held_ms >= 0
                and held_ms >= hold_ms
                and action > worst_action
                and not self.said[rule]
                and not self._gives_way(rule)
            ):
                worst = rule
                worst_action = action
        return worst

    def _gives_way(self, rule: int) -> bool:
        for cause in self._causes[rule]:
            if self.held_ms[cause] >= 0 and not self.said[cause]:
                return True
        return False

    def holding(self, state: int) -> bool:
        """Whether a rule is past its limit but not yet, or never, acted upon."""
        for rule in self.watched[state]:
            if self.held_ms[rule] >= 0 and not self.said[rule]:
                return True
        return False

    def try_again(self, rule: int) -> bool:
        """Count one more retry after this rule; False when they are used up."""
        counter = SHARED_TRIES.get(rule, rule)
        if self.tries[counter] >= self.tries_max[counter]:
            return False
        self.tries[counter] += 1
        return True


def _numbers(names: str) -> tuple:
    """The rules of these names, parted by commas."""
    known = [row[NAME] for row in RULES]
    return tuple([known.index(name) for name in names.split(", ") if name])


def _are_fitted(settings, needs: str) -> bool:
    """Whether all sensors are there, or of several parted by a stroke one."""
    for need in needs.split():
        fitted = 0
        for sensor in need.split("/"):
            fitted |= getattr(settings, sensor + "_fitted")
        if not fitted:
            return False
    return True


def _value(settings, key) -> int:
    return key if isinstance(key, int) else getattr(settings, key)
