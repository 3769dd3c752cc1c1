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

from .cycle import STATES
from .quantities import QUANTITIES
from .rules import (
    ABOVE,
    ACTION,
    AFTER,
    GIVES_WAY_TO,
    HOLD,
    LIMIT,
    NAME,
    NEEDS,
    QUANTITY,
    RULES,
    SHARED_TRIES,
    SIDE,
    THEN,
    TRIES,
    WATCHED_IN,
)

_CLEAR = -1
_HELD_MS_MAX = 1 << 28
"""Longer than any hold: a warning may stand for weeks, and its time stays in 31 bits."""


class Guard:
    """The table, made ready for this board's settings and sensors.

    ``held_ms[rule]`` is how long the rule has been past its limit, or -1 when it is not.
    ``unprotected`` names the rules whose sensor is not fitted.
    """

    def __init__(self, settings, facts) -> None:
        self.limits: list = []
        self.holds_ms: list = []
        self.flickers: list = []
        self.above: list = []
        self.quantities: list = []
        self.afters_ms: list = []
        self.actions: list = []
        self.thens: list = []
        self.causes: list = []
        self.unprotected = []
        watched: list = [[] for _ in STATES]
        for rule, row in enumerate(RULES):
            self.limits.append(_value(settings, row[LIMIT]))
            self.holds_ms.append(_value(settings, row[HOLD]))
            self.flickers.append(row[HOLD] == "sensor_hold_ms")
            self.above.append(row[SIDE] == ABOVE)
            self.quantities.append(QUANTITIES.index(row[QUANTITY]))
            self.afters_ms.append(row[AFTER])
            self.actions.append(row[ACTION])
            self.thens.append(row[THEN])
            self.causes.append(_numbers(row[GIVES_WAY_TO]))
            if all(getattr(settings, sensor + "_fitted") for sensor in row[NEEDS].split()):
                for state in row[WATCHED_IN].split():
                    watched[STATES.index(state)].append(rule)
            else:
                self.unprotected.append(row[NAME])
        self.watched = [tuple(rules) for rules in watched]
        self.held_ms = [_CLEAR] * len(RULES)
        self.said = facts.said
        self.tries = facts.tries
        self.tries_max = [_value(settings, row[TRIES]) for row in RULES]

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

    def look(self, state: int, in_state_ms: int, dt_ms: int, quantities: list) -> int:
        """The most severe rule that trips now, or -1.

        A rule that was said once (``said``) is not returned again before noon or a clear.
        """
        tripped = False
        limits = self.limits
        held_ms = self.held_ms
        above = self.above
        numbers = self.quantities
        for rule in self.watched[state]:
            value = quantities[numbers[rule]]
            if (value <= limits[rule]) if above[rule] else (value >= limits[rule]):
                held = held_ms[rule] - (dt_ms >> 1) if self.flickers[rule] else _CLEAR
                held_ms[rule] = max(held, _CLEAR)
            elif in_state_ms >= self.afters_ms[rule]:
                held = held_ms[rule]
                held = 0 if held < 0 else min(held + dt_ms, _HELD_MS_MAX)
                held_ms[rule] = held
                if held >= self.holds_ms[rule] and not self.said[rule]:
                    tripped = True
        return self._worst(state) if tripped else -1

    def _worst(self, state: int) -> int:
        """Of the rules that have held their time, the most severe that gives way to no cause."""
        worst = -1
        worst_action = -1
        for rule in self.watched[state]:
            held = self.held_ms[rule]
            if (
                held >= 0
                and held >= self.holds_ms[rule]
                and self.actions[rule] > worst_action
                and not self.said[rule]
                and not self._gives_way(rule)
            ):
                worst = rule
                worst_action = self.actions[rule]
        return worst

    def _gives_way(self, rule: int) -> bool:
        for cause in self.causes[rule]:
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
