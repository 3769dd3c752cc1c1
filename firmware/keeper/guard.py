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

_CEILINGS = (
    _PRESSURE_PA,
    _DRIFT,
    _BATTERY_MV,
    _SAG_MV,
    _RESISTANCE,
    _ON_S,
    _HEAT_S,
    _CHATTER,
    _GAP_MS,
    _DRY_S,
    _SHUT_PA,
)
_FLOORS = (_PERMILLE, _BATTERY_MV, _RESTED_MV, _WATER_PA)
_VERDICTS = (
    _OPEN_ON,
    _BATTERY_BAD,
    _PRESSURE_BAD,
    _CURRENT_BAD,
    _NO_SAG,
    _SWAPPED,
    _FUSE_BLOWN,
)
"""What ``look`` asks by name, limits in this order. What is in none of these it walks through."""

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
            if all(getattr(settings, sensor + "_fitted") for sensor in row[NEEDS].split()):
                for state in row[WATCHED_IN].split():
                    watched[STATES.index(state)].append(rule)
            else:
                self.unprotected.append(row[NAME])
        # A list that grows takes up to twice its room.
        self.limits, self._rows, self._causes = tuple(limits), tuple(rows), tuple(causes)
        self.watched = [tuple(rules) for rules in watched]
        # Of the states in which the pump runs: what a quantity may reach before any rule is past
        # its limit. In the others a look is seldom, and walks.
        self._bounds: list = [None] * len(STATES)
        for state in (PRIME, RUN):
            self._bounds[state] = self._bounds_of(watched[state])
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

    def _bounds_of(self, rules) -> tuple:
        """What these rules let pass: the limits of _CEILINGS and _FLOORS, then (quantity, low,
        high) of what is neither of these nor a verdict."""
        ceilings, floors = self._tightest(rules, ABOVE), self._tightest(rules, BELOW)
        for quantity in _VERDICTS:
            ceilings.pop(quantity, 0)
        bounds = [ceilings.pop(quantity, _FAR) for quantity in _CEILINGS]
        bounds += [floors.pop(quantity, -_FAR) for quantity in _FLOORS]
        others = [(quantity, -_FAR, ceilings[quantity]) for quantity in sorted(ceilings)]
        others += [(quantity, floors[quantity], _FAR) for quantity in sorted(floors)]
        return tuple(bounds + [tuple(others)])

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

    def look(self, state: int, in_state_ms: int, dt_ms: int, q: list) -> int:
        """The most severe rule that trips now, or -1.

        A rule that was said once (``said``) is not returned again before noon or a clear.
        """
        bounds = self._bounds[state]
        if bounds and not self._any_held:
            # Nearly always no quantity is past any limit, and there is no more to do. Each that a
            # rule judges while the pump runs is asked by its name: a walk takes three times as
            # long. A verdict that no rule of this state wants only costs the walk below.
            (
                pressure_pa_max,
                drift_max,
                battery_mv_max,
                sag_mv_max,
                resistance_max,
                on_s_max,
                heat_s_max,
                chatter_max,
                gap_ms_max,
                dry_s_max,
                shut_pa_max,
                permille_min,
                battery_mv_min,
                rested_mv_min,
                water_pa_min,
                others,
            ) = bounds
            if (
                not q[_OPEN_ON]
                and not q[_BATTERY_BAD]
                and not q[_PRESSURE_BAD]
                and not q[_CURRENT_BAD]
                and not q[_NO_SAG]
                and not q[_SWAPPED]
                and not q[_FUSE_BLOWN]
                and q[_PRESSURE_PA] <= pressure_pa_max
                and q[_DRIFT] <= drift_max
                and battery_mv_min <= q[_BATTERY_MV] <= battery_mv_max
                and q[_SAG_MV] <= sag_mv_max
                and q[_RESISTANCE] <= resistance_max
                and q[_ON_S] <= on_s_max
                and q[_HEAT_S] <= heat_s_max
                and q[_CHATTER] <= chatter_max
                and q[_GAP_MS] <= gap_ms_max
                and q[_DRY_S] <= dry_s_max
                and q[_SHUT_PA] <= shut_pa_max
                and q[_PERMILLE] >= permille_min
                and q[_RESTED_MV] >= rested_mv_min
                and q[_WATER_PA] >= water_pa_min
            ):
                for quantity, low, high in others:
                    if not low <= q[quantity] <= high:
                        break
                else:
                    return -1
        return self._walk(state, in_state_ms, dt_ms, q)

    def _walk(self, state: int, in_state_ms: int, dt_ms: int, quantities: list) -> int:
        """Hold each rule that is watched against its limit, and count its time."""
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

    def past(self, rule: int) -> bool:
        """Whether a watched rule is past its limit at the moment."""
        return self.held_ms[rule] >= 0

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


def _value(settings, key) -> int:
    return key if isinstance(key, int) else getattr(settings, key)
