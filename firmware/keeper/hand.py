"""The person: a push button on the board, and commands over the serial line.

A short press starts a run by hand, or stops whatever is going on. A long press says "I have
looked": it clears a lockout, or a stop for the night. A flat battery is not started by hand.

A run by hand never costs the set that is planned: what the board was before it, waiting or
stopped for the night, it is again after it. So it is when all is given, when a person or rain
ends it, and when a rule ends it that speaks of this run alone (ONLY_OF_THIS_RUN, and what refuses
a start: frost in the afternoon is no frost at night, and the set looks for itself). What a rule
has seen of line, pump, supply, relay, sensors or board is as true at the set's time: those stops
stand. So do the tries that the run has used up, since no pump may run dry more often for being
started by hand. A set that comes due meanwhile waits (waiting.py). A person who stops the
planned set ends the night.
"""

from . import cycle, plan, records
from .facts import PERSON
from .records import HAND
from .rules import CHARGE_RESERVE, DUTY, OVER_RUN, TOO_MANY_STARTS
from .ticks import const

# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)

BUTTON = 2
"""Its bit in the contacts that a step is given."""

_BOUNCE_MS = const(50)
LONG_MS = 3000
MINUTES_MAX = 240

ONLY_OF_THIS_RUN = (CHARGE_RESERVE, OVER_RUN, TOO_MANY_STARTS, DUTY)
"""Rules that speak of how long and how often this run is given, not of what the next will meet:
the set's own check weighs its charge, and its motor has rested (waiting.py)."""

COMMANDS = ("none", "hold", "run", "stop", "clear", "battery", "clock", "relearn")
NONE, HOLD, RUN, STOP, CLEAR, BATTERY, CLOCK, RELEARN = range(len(COMMANDS))


WISHES_MAX = 4
"""A line can bring a few changes within a tick; a tick obeys one."""


class Hand:
    """The wishes that wait to be obeyed, one a tick, in the order in which they came."""

    def __init__(self, settings) -> None:
        self.fitted = settings.button_fitted
        self.minutes_max = longest_minutes(settings)
        """More is refused where it is asked for (device/commands.py), with words."""
        self.hand_minutes = min(settings.hand_minutes, self.minutes_max)
        self.press_ms = 0
        self._pressed = 0
        self._stop = False
        self._wishes = [NONE] * WISHES_MAX
        self._values = [0] * WISHES_MAX
        self._waiting = 0
        self.asked = False
        """Whether there may be something to obey: nearly never, and a tick asks no further."""

    def go_on(self, before) -> None:
        """What was wished for before other settings came is done all the same."""
        self._stop = before._stop
        self._wishes = before._wishes
        self._values = before._values
        self._waiting = before._waiting
        self.asked = before.asked

    def ask(self, code: int, value: int) -> bool:
        """A command from the serial line, or the button; False where too many wait.

        Nothing overtakes a stop, and it takes back the starts that were asked for before it. No
        start is taken while one waits.
        """
        self.asked = True
        if code == STOP:
            self._stop = True
            self._take_back_starts()
            return True
        if self.full() or (self._stop and code == RUN):
            return False
        self._wishes[self._waiting] = code
        self._values[self._waiting] = value
        self._waiting += 1
        return True

    def full(self) -> bool:
        """Whether no more wishes can wait."""
        return self._waiting == WISHES_MAX

    def feel(self, dt_ms: int, contacts: int) -> None:
        """Take the button as it is now; a wish comes from letting it go."""
        if not self.fitted:
            return
        pressed = contacts & BUTTON
        if pressed:
            if self._pressed:
                # A button that is jammed for weeks must not count out of 31 bits.
                self.press_ms = min(self.press_ms + dt_ms, LONG_MS)
        elif self._pressed:
            if self.press_ms >= LONG_MS:
                self.ask(CLEAR, 0)
            elif self.press_ms >= _BOUNCE_MS:
                self.ask(RUN, 0)
        if not pressed:
            self.press_ms = 0
        self._pressed = pressed

    def busy(self) -> bool:
        """Whether the button is down or a wish waits."""
        return bool(self._pressed) or self._stop or self._waiting > 0

    def obey(self, keeper) -> bool:
        """Do what was wished first; True when that was something."""
        value = 0
        if self._stop:
            wish = STOP
            self._stop = False
        elif self._waiting:
            wish = self._wishes[0]
            value = self._values[0]
            self._move_up(1)
        else:
            self.asked = False
            return False
        state = keeper.state
        if wish == RUN and state != cycle.IDLE and state != cycle.DONE:
            # The button stops what it could have started.
            wish = STOP
        keeper.journal.add(HAND, wish, value)
        keeper.changed += 1
        if wish == RUN:
            keeper.plan.hand_run(min(value, MINUTES_MAX) if value > 0 else self.hand_minutes)
            keeper.take_up(plan.HAND, cycle.START_BY_HAND, records.BY_HAND)
        elif wish == STOP:
            keeper.end_set(cycle.STOPPED, records.BY_HAND)
        elif wish == CLEAR:
            self._clear(keeper)
        elif wish == HOLD:
            keeper.facts.hold_until_night = keeper.facts.night + value
        elif wish == BATTERY:
            keeper.charge.renewed(value)
            if keeper.reads_battery() and not keeper.pumping():
                keeper.charge.told(keeper.q[_BATTERY_MV])
            keeper.move(cycle.CHARGED, records.BY_HAND)
        elif wish == CLOCK:
            keeper.clock.set_again()
        elif wish == RELEARN:
            keeper.operating.new_line()
        return True

    def _take_back_starts(self) -> None:
        place = self._waiting
        while place > 0:
            if self._wishes[place - 1] == RUN:
                self._move_up(place)
            place -= 1

    def _move_up(self, place: int) -> None:
        """The wish before this place is gone: those from there on move up."""
        while place < self._waiting:
            self._wishes[place - 1] = self._wishes[place]
            self._values[place - 1] = self._values[place]
            place += 1
        self._waiting -= 1

    def _clear(self, keeper) -> None:
        keeper.facts.end(PERSON)
        keeper.standstill.looked(keeper.q[_PRESSURE_PA])
        if keeper.state == cycle.FLAT and keeper.charge.spare_mah(0, 0) < 0:
            # Only a charged battery clears an empty one.
            keeper.journal.add(records.WARN, CHARGE_RESERVE, keeper.facts.left_mah, 0)
            return
        keeper.move(cycle.CLEARED, records.BY_HAND)


def longest_minutes(settings) -> int:
    """The longest run by hand that "over-run" leaves whole: priming counts for that too."""
    return max((settings.run_max_s - (settings.prime_ms + 999) // 1000) // 60, 1)
