"""The nightly sets: which is due, how much of it has been given, and when to pause.

A night runs from noon to noon, and is called by the day on which it began. Each set is taken
up once a night, inside its window, and never again; what was given before a power loss is
remembered, so that only the rest is made up.
"""

from .checked import DEPTH, MINUTES, OFF, SETS

NOON_S = 43200
DAY_S = 86400
NONE = -1
HAND = 0
"""The number of a set that was started by hand; the nightly sets are 1 to SETS."""


def night_of(day: int, second: int) -> int:
    """The night that this moment belongs to."""
    return day if second >= NOON_S else day - 1


def since_noon_s(second: int) -> int:
    """Seconds since the noon at which this night began."""
    return (second + NOON_S) % DAY_S


class Plan:
    """The sets, and the one that is being given (``current``, or NONE)."""

    def __init__(self, settings, facts) -> None:
        self.settings = settings
        self.units = [MINUTES]
        self.amounts = [settings.hand_minutes]
        self.runs = [1]
        self.soaks_s = [0]
        self.starts_s = [0]
        self.windows_s = [0]
        for number in range(1, SETS + 1):
            key = "set" + str(number) + "_"
            self.units.append(getattr(settings, key + "unit"))
            self.amounts.append(getattr(settings, key + "amount"))
            self.runs.append(getattr(settings, key + "runs"))
            self.soaks_s.append(getattr(settings, key + "soak_s"))
            self.starts_s.append(since_noon_s(getattr(settings, key + "start_s")))
            self.windows_s.append(getattr(settings, key + "window_s"))
        self.done_night = facts.done_night
        self.begun_night = facts.begun_night
        self.given_s = facts.given_s
        self.given_ml = facts.given_ml
        self.current = NONE
        self.target = 0
        """Seconds for a set by minutes, millilitres for the others."""
        self.by_volume = False
        self.run = 0
        self.run_ml = 0

    def due(self, night: int, since_noon: int) -> int:
        """The set to take up now, or NONE."""
        found = NONE
        number = 1
        while number <= SETS:
            late_s = since_noon - self.starts_s[number]
            if (
                self.units[number] != OFF
                and self.done_night[number] != night
                and 0 <= late_s <= self.windows_s[number]
                and (found == NONE or self.starts_s[number] < self.starts_s[found])
            ):
                found = number
            number += 1
        return found

    def missed(self, night: int, since_noon: int) -> int:
        """A set whose window has gone by without it, or NONE."""
        number = 1
        while number <= SETS:
            if (
                self.units[number] != OFF
                and self.done_night[number] != night
                and since_noon > self.starts_s[number] + self.windows_s[number]
            ):
                return number
            number += 1
        return NONE

    def upcoming(self, night: int, since_noon: int, first_night: int) -> tuple:
        """(number, night) of the set that comes next, from ``first_night`` on; or (NONE, NONE).

        Tonight's is one that is not over and whose window is still open. Allocates.
        """
        found = NONE
        tonight = first_night <= night
        for number in range(1, SETS + 1):
            over = self.done_night[number] == night or number == self.current
            gone = since_noon > self.starts_s[number] + self.windows_s[number]
            if self.units[number] == OFF or (tonight and (over or gone)):
                continue
            if found == NONE or self.starts_s[number] < self.starts_s[found]:
                found = number
        if found != NONE:
            return found, max(night, first_night)
        return self.upcoming(night, since_noon, night + 1) if tonight else (NONE, NONE)

    def next_start_s(self, since_noon: int) -> int:
        """Seconds until the next start of a set or the next noon."""
        wait_s = DAY_S - since_noon
        number = 1
        while number <= SETS:
            until_s = self.starts_s[number] - since_noon
            if self.units[number] != OFF and 0 < until_s < wait_s:
                wait_s = until_s
            number += 1
        return wait_s

    def take_up(self, number: int, night: int) -> None:
        """Begin a set, or go on with what a power loss has left of it."""
        if number == HAND or self.begun_night[number] != night:
            self.given_s[number] = 0
            self.given_ml[number] = 0
            self.begun_night[number] = night
        self.current = number
        self.by_volume = self.units[number] > MINUTES
        self.target = self._target(number)
        self.run = 1
        while self.run < self.runs[number] and self.run_given():
            self.run += 1

    def _target(self, number: int) -> int:
        amount = self.amounts[number]
        unit = self.units[number]
        if unit == MINUTES:
            return amount * 60
        if unit == DEPTH:
            # A tenth of a millimetre on a square metre is a tenth of a litre.
            return amount * self.settings.wet_area_m2 * 100
        return amount * 1000

    def hand_run(self, minutes: int) -> None:
        """How long the next run by hand is to be."""
        self.amounts[HAND] = minutes

    def deliver(self, seconds: int, ml: int) -> None:
        """So much has been given."""
        number = self.current
        self.run_ml += ml
        self.given_s[number] += seconds
        self.given_ml[number] += ml

    def given(self) -> int:
        """How much of the current set has been given, in the unit of its target."""
        return (self.given_ml if self.by_volume else self.given_s)[self.current]

    def all_given(self) -> bool:
        """Whether the whole set has been given."""
        return self.given() >= self.target

    def run_given(self) -> bool:
        """Whether this run's share of the set has been given."""
        runs = self.runs[self.current]
        return self.run < runs and self.given() >= self.target // runs * self.run

    def seconds_to_go(self, flow_ml_min: int) -> int:
        """Pumping time that the rest of the current set takes at this flow."""
        return _pumping_s(self.target - self.given(), self.by_volume, flow_ml_min)

    def planned_s(self, flow_ml_min: int) -> int:
        """Pumping time of all the sets of a night at this flow."""
        total_s = 0
        for number in range(1, SETS + 1):
            if self.units[number] != OFF:
                total_s += self.set_s(number, flow_ml_min)
        return total_s

    def set_s(self, number: int, flow_ml_min: int) -> int:
        """Pumping time of a whole set at this flow."""
        return _pumping_s(self._target(number), self.units[number] > MINUTES, flow_ml_min)

    def shorten(self, to_go_s: int, flow_ml_min: int) -> None:
        """Cut the set down to so much more pumping time."""
        rest = to_go_s
        if self.by_volume:
            rest = to_go_s // 60 * flow_ml_min + to_go_s % 60 * flow_ml_min // 60
        self.target = self.given() + rest

    def close(self) -> None:
        """The current set is over for the night in which it was taken up."""
        number = self.current
        self.done_night[number] = self.begun_night[number]
        self.current = NONE

    def is_past(self, night: int) -> bool:
        """Whether the current set is one of a night before this; a run by hand is of none."""
        return self.current > HAND and self.begun_night[self.current] < night

    def skip(self, number: int, night: int) -> None:
        """This set is not taken up tonight."""
        self.done_night[number] = night


def _pumping_s(rest: int, by_volume: bool, flow_ml_min: int) -> int:
    if rest <= 0:
        return 0
    if not by_volume:
        return rest
    return rest // flow_ml_min * 60 + rest % flow_ml_min * 60 // flow_ml_min
