"""When things happen to a site: faults, the battery's trips home, rain; in ticks.

Tick 0 is the start of the replay. Nights count from 1, and a night begins with its first set.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from rillsim.faults.catalogue import find
from rillsim.faults.conditions import Conditions
from rillsim.faults.fault import Fault
from rillsim.site import BatteryTrip, FaultSpec, Site

DAY_S = 86400
TICKS_PER_S = 10

SHOWER_MM_H = 1.5
"""Rate of a rain fault at full severity: light, lasting rain (common practice, no source)."""

NEVER = 1 << 60
HABIT_NIGHTS = 366
"""For so long a habit is kept."""


@dataclass(frozen=True)
class Spell:
    """A time in which something holds, from one tick up to but without another."""

    start_n: int
    end_n: int

    def holds(self, n: int) -> bool:
        """True within the spell."""
        return self.start_n <= n < self.end_n


@dataclass(frozen=True)
class Course:
    """One fault of one replay, in ticks from its start."""

    fault: Fault
    spec: FaultSpec
    start_n: int
    end_n: int | None
    """None where it stays."""

    def severity_at(self, n: int) -> float:
        """How bad it is at a tick; 0 before its start and after its end."""
        if n < self.start_n or (self.end_n is not None and n >= self.end_n):
            return 0.0
        if self.grows_s <= 0.0:
            return self.spec.severity
        grown = (n - self.start_n + 1) / (TICKS_PER_S * self.grows_s)
        return self.spec.severity * min(grown, 1.0)

    @property
    def grows_s(self) -> float:
        """Time in which it grows; 0 where it is there at once."""
        return self.spec.grows_s or self.fault.grows_s

    def growing(self, n: int) -> bool:
        """True while the severity changes from tick to tick."""
        grows_n = int(TICKS_PER_S * self.grows_s)
        return self.start_n <= n < self.start_n + grows_n and self.severity_at(n) != 0.0


def trips_of(site: Site) -> tuple[BatteryTrip, ...]:
    """Trips that are planned and those of a habit, which starts anew after each planned one."""
    home, planned = site.home, {trip.after_night: trip for trip in site.battery_trips}
    if not home.every_nights:
        return site.battery_trips
    last = 0
    for night in range(1, HABIT_NIGHTS):
        if night not in planned and night - last >= home.every_nights:
            planned[night] = BatteryTrip(night, home.away_from_s, home.back_at_s)
        if night in planned:
            last = night
    return tuple(planned[night] for night in sorted(planned))


class Timeline:
    """The planned events of one replay."""

    def __init__(
        self, site: Site, start_s: int, rain_s: Sequence[tuple[float, float]] = ()
    ) -> None:
        """``start_s`` is the second of the day at tick 0; ``rain_s`` are spells in seconds."""
        self._start_s = start_s
        first_s = min((entry.start_s for entry in site.sets), default=start_s)
        self._night_s = (first_s - start_s) % DAY_S
        self._first_s = first_s
        self.courses = [self._course(spec) for spec in site.faults]
        self._home = site.home
        planned = trips_of(site)
        self.trips = [self._away(trip) for trip in planned]
        self._charged = {
            spell.end_n: trip.charged for spell, trip in zip(self.trips, planned, strict=True)
        }
        self.rain = [Spell(round(a * TICKS_PER_S), round(b * TICKS_PER_S)) for a, b in rain_s]
        self._stirs = sorted(set(self._stir_ticks()))
        self._events = sorted({*self._stirs, *_edges(self.rain)})

    def night_n(self, night: int) -> int:
        """Tick at which the first set of a night is due."""
        return (self._night_s + (night - 1) * DAY_S) * TICKS_PER_S

    def next_n(self, n: int) -> int:
        """First event after tick ``n``."""
        place = bisect_right(self._events, n)
        return self._events[place] if place < len(self._events) else NEVER

    def next_stir_n(self, n: int) -> int:
        """The same, rain left out: a fault or a trip of the battery."""
        place = bisect_right(self._stirs, n)
        return self._stirs[place] if place < len(self._stirs) else NEVER

    def is_event(self, n: int) -> bool:
        """True where something starts or ends at this very tick."""
        place = bisect_right(self._events, n)
        return place > 0 and self._events[place - 1] == n

    def battery_away(self, n: int) -> bool:
        """True while the battery is carried home."""
        return any(trip.holds(n) for trip in self.trips)

    def battery_returns(self, n: int) -> float | None:
        """How full the battery is that is put back at this very tick; None: none is."""
        return self._charged.get(n)

    def away_s(self, n: int) -> float:
        """How long the battery was away that comes back at this very tick, [s]."""
        return max(
            ((n - trip.start_n) / TICKS_PER_S for trip in self.trips if trip.end_n == n),
            default=0.0,
        )

    def take_home(self, n: int) -> None:
        """Somebody takes the battery home at the coming tick and brings it back by habit."""
        away_s = (self._home.back_at_s - self._home.away_from_s) % DAY_S
        spell = Spell(n + 1, n + 1 + away_s * TICKS_PER_S)
        self.trips.append(spell)
        self._charged[spell.end_n] = 1.0
        self._events = sorted({*self._events, spell.start_n, spell.end_n})
        self._stirs = sorted({*self._stirs, spell.start_n, spell.end_n})

    def conditions_at(self, n: int) -> Conditions:
        """What all faults together make of the site at a tick."""
        conditions = Conditions()
        for course in self.courses:
            severity = course.severity_at(n)
            if severity != 0.0:
                course.fault.act(conditions, severity)
        return conditions

    def raining(self, n: int) -> bool:
        """True in a spell of rain."""
        return any(spell.holds(n) for spell in self.rain)

    @property
    def showers(self) -> list[tuple[float, float, float]]:
        """What the rain faults let fall: from and to [s], and how fast [mm/h]."""
        return [
            (
                course.start_n / TICKS_PER_S,
                (course.end_n or NEVER) / TICKS_PER_S,
                SHOWER_MM_H * course.spec.severity,
            )
            for course in self.courses
            if course.spec.name == "rain"
        ]

    def shower_mm(self, from_s: float, to_s: float) -> float:
        """Rain of such faults between two seconds [mm]."""
        return sum(
            max(0.0, min(to_s, end_s) - max(from_s, start_s)) / 3600.0 * rate_mm_h
            for start_s, end_s, rate_mm_h in self.showers
        )

    def growing(self, n: int) -> bool:
        """True while a fault gets worse from tick to tick."""
        for course in self.courses:  # Asked in each step: a generator takes as long again.
            if course.growing(n):
                return True
        return False

    def grows_within(self, from_n: int, to_n: int) -> bool:
        """True where a fault grows slowly at some time between two ticks."""
        return any(
            course.start_n < to_n and from_n < course.start_n + TICKS_PER_S * course.grows_s
            for course in self.courses
            if course.grows_s > 0.0
        )

    def _course(self, spec: FaultSpec) -> Course:
        start_n = max(self.night_n(spec.night) + round(spec.offset_s * TICKS_PER_S), 0)
        end_n = start_n + round(spec.duration_s * TICKS_PER_S) if spec.duration_s else None
        return Course(find(spec.name), spec, start_n, end_n)

    def _away(self, trip: BatteryTrip) -> Spell:
        """A trip home on the day that follows its night."""
        leaves_s = (trip.away_from_s - self._first_s) % DAY_S
        away_s = (trip.back_at_s - trip.away_from_s) % DAY_S
        start_n = self.night_n(trip.after_night) + leaves_s * TICKS_PER_S
        return Spell(start_n, start_n + away_s * TICKS_PER_S)

    def _stir_ticks(self) -> list[int]:
        ticks: list[int] = []
        for course in self.courses:
            ticks.append(course.start_n)
            ticks.append(course.start_n + round(course.grows_s * TICKS_PER_S))
            if course.end_n is not None:
                ticks.append(course.end_n)
        return ticks + _edges(self.trips)


def _edges(spells: Sequence[Spell]) -> list[int]:
    """The ticks at which spells begin and end."""
    return [n for spell in spells for n in (spell.start_n, spell.end_n)]
