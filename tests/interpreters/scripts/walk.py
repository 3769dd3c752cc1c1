"""Walks a keeper through a garden with the heap locked, and sums up all that came out.

Reads ``case.json``: settings, and a list of walks, each with the kind of garden, its seed, the
counter at the start and the number of steps; or, in place of the last two, ``wrap_in``: the
state in which the counter is to wrap. ``stuck``: a second relay is fitted, and from the step
``stuck_from`` on these of the two stay closed. ``meter``: a flow meter is fitted, and sends
pulses for so many ticks of each closing; ``pressure`` 0: it has no transducer beside it. Prints
one line of JSON for each walk.
"""

import json

from garden import TROUBLES, Chaos, Garden
from keeper import Keeper, Settings
from keeper.cycle import EVENTS, STATES
from keeper.records import KIND, KINDS, TRIP, WARN
from keeper.relay import BOTH, FIRST
from keeper.rules import RULES

try:
    from micropython import heap_lock, heap_unlock
except ImportError:  # CPython has no such lock

    def heap_lock():
        pass

    def heap_unlock():
        pass


QUIET = tuple([STATES.index(name) for name in ("idle", "done", "flat", "lockout")])
AFTER_WRAP = 300
MOST_STEPS = 150000
PULSES = 9  # in a tick: of 2.2 mL, 12 L/min
GARDENS = {"garden": Garden, "chaos": Chaos}


class Walk:
    """One keeper in one garden. ``digest`` depends on every output and every record."""

    def __init__(self, settings, kind, start_ms, seed, stuck=0, stuck_from=0, meter=0):
        self.keeper = Keeper(settings)
        self.whole = BOTH if settings and settings.second_relay_fitted else FIRST
        self.stuck = stuck
        self.stuck_from = stuck_from
        self.meter = meter
        self.on_ticks = 0
        self.garden = GARDENS[kind](start_ms, seed, QUIET)
        self.level = 0
        self.digest = 1
        self.steps = 0
        self.state_steps = [0] * len(STATES)
        self.wraps = [0] * len(STATES)
        self.kinds = [0] * len(KINDS)
        self.rules = [0] * len(RULES)
        self.moves = [0] * (len(EVENTS) * len(STATES))
        self.acts = [0] * (len(RULES) * len(STATES))
        self._move = self.keeper.move
        self._act = self.keeper.act
        self.keeper.move = self.move
        self.keeper.act = self.act

    def move(self, event, cause):
        """Count the pair of event and state."""
        self.moves[event * len(STATES) + self.keeper.state] += 1
        self._move(event, cause)

    def act(self, rule):
        """Count the pair of rule and state."""
        self.acts[rule * len(STATES) + self.keeper.state] += 1
        self._act(rule)

    def go(self, steps):
        """Take so many steps."""
        last = self.steps + steps
        while self.steps < last:
            self.step()

    def step(self):
        """One tick of the garden and the keeper."""
        garden = self.garden
        keeper = self.keeper
        before_ms = garden.now_ms
        garden.advance(1 if self.level == self.whole else 0, keeper.state)
        if self.stuck and self.steps > self.stuck_from:
            garden.load_on = 1 if self.level | self.stuck == self.whole else 0
        self.on_ticks = self.on_ticks + 1 if self.level == self.whole else 0
        if garden.wish:
            keeper.command(garden.wish, garden.wish_value)
        if garden.now_ms < before_ms:
            self.wraps[keeper.state] += 1
        keeper.pulses = PULSES if 0 < self.on_ticks <= self.meter else 0
        self.level = keeper.step(
            garden.now_ms,
            garden.day,
            garden.second,
            garden.clock_ok,
            garden.battery_n,
            garden.pressure_n,
            garden.load_on,
            garden.contacts,
            garden.frost_n,
            garden.current_n,
        )
        self.steps += 1
        state = keeper.state
        self.state_steps[state] += 1
        self.digest = (self.digest * 31 + state * 2 + self.level) & 0xFFFFFF
        while keeper.journal.waiting:
            self.take(keeper.journal.take())

    def take(self, row):
        """Count a record and mix it into the digest."""
        self.kinds[row[KIND]] += 1
        if row[KIND] == TRIP or row[KIND] == WARN:
            self.rules[row[KIND + 1]] += 1
        for number in row:
            self.digest = (self.digest * 31 + (number & 0xFFFFFF)) & 0xFFFFFF

    def go_locked(self, steps):
        """The same with the heap locked; the error that an allocation raises, or None."""
        heap_lock()
        try:
            self.go(steps)
        except MemoryError as error:
            return error
        finally:
            heap_unlock()
        return None

    def summary(self):
        """All that the tests want to know."""
        return {
            "steps": self.steps,
            "digest": self.digest,
            "state": STATES[self.keeper.state],
            "trouble": TROUBLES[self.garden.trouble],
            "states": self.state_steps,
            "wraps": self.wraps,
            "kinds": self.kinds,
            "rules": self.rules,
            "moves": self.moves,
            "acts": self.acts,
        }


def long_walk(settings, case):
    """So many steps from a given counter value."""
    odd = case.get("stuck", 0), case.get("stuck_from", 0), case.get("meter", 0)
    walk = Walk(settings, case["garden"], case["start_ms"], case["seed"], *odd)
    failed = walk.go_locked(case["steps"])
    found = walk.summary()
    found["allocated"] = failed is not None
    return found


def wrapping_walk(settings, case):
    """Twice the same walk; the second time the counter wraps while in the wanted state."""
    state = STATES.index(case["wrap_in"])
    scout = Walk(settings, case["garden"], 0, case["seed"])
    while scout.keeper.state != state or scout.state_steps[state] < 3:
        scout.step()
        if scout.steps > MOST_STEPS:
            raise ValueError("the garden never leads to " + case["wrap_in"])
    start_ms = 0x3FFFFFFF - scout.garden.now_ms
    steps = scout.steps + AFTER_WRAP
    scout.go(AFTER_WRAP)
    found = long_walk(
        settings,
        {"garden": case["garden"], "start_ms": start_ms, "seed": case["seed"], "steps": steps},
    )
    found["digest_without_wrap"] = scout.digest
    return found


def main():
    with open("case.json") as file:
        case = json.load(file)
    for row in case["walks"]:
        values = case["settings"]
        values["second_relay_fitted"] = 1 if "stuck" in row else 0
        values["flow_fitted"] = 1 if "meter" in row else 0
        values["pressure_fitted"] = row.get("pressure", 1)
        settings = Settings(values) if row.get("set", True) else None
        walk = wrapping_walk if "wrap_in" in row else long_walk
        print(json.dumps(walk(settings, row)))


main()
