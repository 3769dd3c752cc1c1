"""The plan of the coming nights: sets, battery home, cistern refilled, water against a permit.

Reckoned as if it stays dry, since nobody knows the rain: a night that is rained off moves what
comes after it to a later day, never to an earlier one. The night of a day runs from its noon to
the next, so a trip home or a refill "on" a day is done before that day's evening.
"""

from dataclasses import dataclass, field, replace
from math import ceil, inf, isfinite

from rillkeeper.design.limits.working_site import WorkingSite, depth_of
from rillkeeper.display_units import Shown, date_of
from rillsim.site import BatteryTrip, PermitSpec, Site
from rillsim.supply.battery import Battery
from rillsim.supply.charger import charge
from rillsim.water.store import inflow_m3

DAY_S = 86400
NOON_S = DAY_S // 2
AHEAD = 7
AHEAD_MAX = 60
_WHOLE = 1.0 - 1e-6
"""Rest of a charge that still covers a night."""


@dataclass(frozen=True)
class PlannedSet:
    """One set of a coming night."""

    number: int
    start_s: int
    """Time of day."""
    runs: int
    pump_s: float
    pause_s: float
    m3: float

    def day_offset(self) -> int:
        """Days from the night's own day to the date on which it starts."""
        return 1 if self.start_s < NOON_S else 0


@dataclass(frozen=True)
class Trip:
    """The battery goes home and comes back, on one day."""

    number: int
    """In the season, from 1: the same trip has the same number when it moves to another day."""
    day: int
    earliest: int
    """The first day on which the charge may be too little, by the band of the prediction."""
    away_s: int
    back_s: int
    by_habit: bool
    """Before it must, since the site file says that it is taken home so often."""
    charged: float
    """Share of a full charge that it comes back with."""


@dataclass(frozen=True)
class Refill:
    """The cistern is filled up."""

    number: int
    """From the plan's beginning, from 1: the log does not tell what was filled before."""
    day: int
    left_m3: float
    wanted_m3: float


@dataclass(frozen=True)
class ComingNight:
    """One night of the plan."""

    day: int
    nights_left: float | None
    """After it, on the charge that is then on the clamps; None where it is not known."""
    source_m3: float | None
    """In the cistern after it; None where it has no end, or it is not known."""
    season_m3: float
    """Taken this season after it."""
    trip: Trip | None = None
    refill: Refill | None = None
    over_permit: bool = False
    """Whether this night takes more than is left of the season's permit."""


@dataclass(frozen=True)
class Season:
    """Water taken this season before the plan begins."""

    since_day: int
    m3: float
    unknown_nights: int = 0
    """Nights of the log since then of which nothing is known."""


@dataclass(frozen=True)
class Start:
    """What the plan begins with."""

    day: int
    nights_left: float | None
    """On the charge that is on the clamps."""
    low: float | None
    """The lower end of its band."""
    full_nights: float
    """On a full charge."""
    night_m3: float
    """What a night takes."""
    source_m3: float | None
    """In the cistern; None where it has no end, or it is not known."""
    season: Season
    high: float | None = None
    """The upper end of that band."""
    left_note: str = ""
    """What ``nights_left`` was made from, where that is not plain; or why it is not known."""
    since_charge: int = 0
    """Nights since the battery was home."""
    trips_done: int = 0
    """Trips home this season."""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Coming:
    """The whole plan."""

    site: Site
    shown: Shown
    start: Start
    sets: tuple[PlannedSet, ...]
    nights: tuple[ComingNight, ...]
    permit_ends: int | None
    """The night that finds too little left of the season's permit, at this use; None where there
    is no such permit, or it lasts for a year."""

    @property
    def trips(self) -> list[Trip]:
        """All trips home."""
        return [night.trip for night in self.nights if night.trip]

    @property
    def refills(self) -> list[Refill]:
        """All refills."""
        return [night.refill for night in self.nights if night.refill]

    @property
    def night_m3(self) -> float:
        """What a night takes."""
        return self.start.night_m3


def season_start(permit: PermitSpec, day: int) -> int:
    """The day number on which the season of a day began.

    >>> season_start(PermitSpec(begins_day=60), 20643) - 20643  # 9 July: since 1 March
    -130
    >>> season_start(PermitSpec(begins_day=244), 20643) - 20643  # since 1 September
    -311
    """
    date = date_of(day)
    for year in (date.year, date.year - 1):
        first = day - (date - date.replace(year=year, month=1, day=1)).days
        begins = first + permit.begins_day - 1
        if begins <= day:
            return begins
    raise AssertionError("one of two years holds its beginning")


def planned_sets(work: WorkingSite, night_m3: float | None = None) -> tuple[PlannedSet, ...]:
    """The sets as the site's model gives them, or brought to what a night is known to take."""
    flow = work.flow_m3_s()
    modelled_m3 = flow * work.night_s()
    scale = night_m3 / modelled_m3 if night_m3 and modelled_m3 > 0.0 else 1.0
    found = []
    for number, one in enumerate(work.site.sets, 1):
        pump_s = work.pumping_s(one) if flow > 0.0 else 0.0
        pump_s *= scale if one.unit != "minutes" else 1.0
        pause_s = (one.runs - 1) * one.soak_s
        m3 = flow * work.pumping_s(one) * scale
        found.append(PlannedSet(number, one.start_s, one.runs, pump_s, pause_s, m3))
    order = sorted(found, key=lambda one: (one.day_offset(), one.start_s))
    return tuple(order)


def coming_nights(
    site: Site, start: Start, sets: tuple[PlannedSet, ...], ahead: int = AHEAD
) -> Coming:
    """The plan of so many nights.

    Parameters
    ----------
    site : Site
        Its habits, cistern and permit
    start : Start
        What is known when the plan begins
    sets : tuple of PlannedSet
        Of every night
    ahead : int
        How many nights
    """
    steps = _Steps(site, start)
    return Coming(
        site=site,
        shown=Shown(site.units),
        start=start,
        sets=sets,
        nights=tuple(steps.night(start.day + n) for n in range(ahead)),
        permit_ends=_permit_ends(site.permit, start),
    )


@dataclass
class _Steps:
    """What is left, night after night."""

    site: Site
    start: Start
    left: float | None = field(init=False)
    since_charge: int = field(init=False)
    source_m3: float | None = field(init=False)
    season_m3: float = field(init=False)
    trips: int = field(init=False)
    refills: int = 0

    def __post_init__(self) -> None:
        self.left = self.start.nights_left
        self.since_charge = self.start.since_charge
        self.source_m3 = self.start.source_m3
        self.season_m3 = self.start.season.m3
        self.trips = self.start.trips_done

    def night(self, day: int) -> ComingNight:
        """The next night, with what must be done before it."""
        trip, refill = self._trip(day), self._refill(day)
        permit = self.site.permit
        self.season_m3 += self.start.night_m3
        over = 0.0 < permit.season_m3 < self.season_m3
        if self.left is not None:
            self.left = max(0.0, self.left - 1.0)
        self.since_charge += 1
        if self.source_m3 is not None:
            spec = self.site.water
            left_m3 = max(0.0, self.source_m3 - self.start.night_m3)
            whole_m3 = max(spec.full_m3, spec.stored_m3)
            self.source_m3 = min(whole_m3, left_m3 + inflow_m3(spec, 0.0, DAY_S))
            # Shown is what the night leaves, before the spring has brought its share.
            return ComingNight(day, self.left, left_m3, self.season_m3, trip, refill, over)
        return ComingNight(day, self.left, None, self.season_m3, trip, refill, over)

    def _trip(self, day: int) -> Trip | None:
        if self.left is None:
            return None
        habit = self.site.home.every_nights
        must = self.left < _WHOLE
        if not must and not 0 < habit <= self.since_charge:
            return None
        first = self.trips == self.start.trips_done
        earliest = day
        if first and must and self.start.low is not None:
            earliest = min(day, self.start.day + int(self.start.low))
        away_s, back_s = times_of(self.site)
        charged = charged_in(self.site, back_s - away_s, self._taken())
        self.trips += 1
        self.since_charge = 0
        self.left = charged * self.start.full_nights
        return Trip(self.trips, day, earliest, away_s, back_s, not must, charged)

    def _taken(self) -> float:
        """Share of what a charge may give that has been taken."""
        full = self.start.full_nights
        return 1.0 - min(1.0, (self.left or 0.0) / full) if full > 0.0 else 1.0

    def _refill(self, day: int) -> Refill | None:
        if self.source_m3 is None or self.source_m3 >= self.start.night_m3:
            return None
        spec = self.site.water
        left_m3, self.source_m3 = self.source_m3, max(spec.full_m3, spec.stored_m3)
        self.refills += 1
        return Refill(self.refills, day, left_m3, self.source_m3 - left_m3)


def times_of(site: Site) -> tuple[int, int]:
    """When the battery leaves and is back: as its first trip in the site file, or by habit."""
    usual: BatteryTrip | None = site.battery_trips[0] if site.battery_trips else None
    if usual and not (site.home.every_nights or site.home.when_asked):
        return usual.away_from_s, usual.back_at_s
    return site.home.away_from_s, site.home.back_at_s


def charged_in(site: Site, away_s: float, taken: float) -> float:
    """Share of its usable charge that a battery has after so long on the site's charger.

    ``taken`` is the share of the usable charge that it comes home without.

    Examples
    --------
    A charger that the site file does not describe is large enough; 2 A for eight hours are not:

    >>> from rillsim.site import HomeSpec
    >>> charged_in(Site(), 8 * 3600, 1.0)
    1.0
    >>> round(charged_in(Site(home=HomeSpec(charger_a=2.0)), 8 * 3600, 1.0), 2)
    0.35
    """
    if site.home.charger_a <= 0.0:
        return 1.0
    depth = depth_of(site.battery)
    battery = Battery(replace(site.battery, temperature_c=25.0), 1.0 - depth * taken)
    charge(battery, site.home.charger_a, away_s)
    return min(1.0, max(0.0, 1.0 - (1.0 - battery.soc) / depth))


def _permit_ends(permit: PermitSpec, start: Start) -> int | None:
    """The first night for which the season's permit is too little, within a year."""
    left_m3 = permit.season_m3 - start.season.m3
    if permit.season_m3 <= 0.0 or start.night_m3 <= 0.0:
        return None
    nights = max(0.0, left_m3) / start.night_m3
    whole = int(nights + 1e-9) if isfinite(nights) else inf
    # A new season begins within a year and brings the whole of it again.
    next_season = start.season.since_day + 365
    day = start.day + whole
    return int(day) if day < next_season else None


def minutes(seconds: float) -> int:
    """Whole minutes, never fewer than it takes."""
    return ceil(seconds / 60.0 - 1e-9)
