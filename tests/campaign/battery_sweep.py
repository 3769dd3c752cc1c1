"""Batteries that are carried home, and batteries under a panel: does a good one cost its night?

Two sweeps in the plant. ``carried``: two weeks of a battery that is brought back every second
day, full or part charged, read right or 2 % beside; a night counts as lost where the board with
a right channel waters and this one does not. ``panelled``: chemistry, panel, hour of the set and
season; a stop counts as false where the plant's battery had more than enough for what was left
of the set. Both are small enough to be run whole; ``attempt`` draws one case from a seed.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from keeper.lines import parse_line
from keeper.records import DAY, FIRST, KIND, KINDS, SECOND
from keeper.rules import NAME, RULES
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.replay import Week, replay
from rillsim.site import BatteryTrip, FaultSpec, SetSpec, Site, SolarSpec
from rillsim.supply.battery import Battery
from tests.campaign.part import Case

CHEMISTRIES = ("flooded", "agm", "lfp")
NIGHTS = 14
OFF_V = 0.4
"""Severity 1 of the fault "battery_offset"."""
TWO_PERCENT = 0.02 * 12.5
"""Volts at a lead battery; a gain is felt as an offset, since a battery's volts vary little."""
PART_CHARGED = 0.83
MISSING_PART = 0.95
"""Of a full charge: what the fault "flat_battery" takes at severity 1."""
MINUTES = 25.0
"""Two such nights come out of a battery that is 83 % full."""
FULL_HOURS = 24.0
"""So long before the first set a fault was there from the start."""
POWERS_W = (30.0, 60.0, 100.0)
HOURS = (6, 9, 13, 17, 19, 22)
PUMP_A = 13.0
SLACK_SHARE = 0.15
"""Of the usable charge: what the count may miss before a stop is called false."""
SEASONS = (100, 190, 265)
"""Days of the year: spring, summer, autumn; nobody waters in a winter."""
CHARGE_STOPS = ("low charge", "charge reserve")


@dataclass(frozen=True)
class Carried:
    """A battery brought back every second day."""

    chemistry: str
    charge: float
    error_v: float
    nights: int = NIGHTS

    def site(self) -> Site:
        base = demo_site()
        back_s = 17 * 3600
        trips = tuple(BatteryTrip(night, 9 * 3600, back_s) for night in range(2, self.nights, 2))
        start_s = base.sets[0].start_s
        faults = []
        if self.error_v:
            faults.append(
                FaultSpec("battery_offset", 1, -FULL_HOURS * 3600.0, self.error_v / OFF_V)
            )
        if self.charge < 1.0:
            missing = (1.0 - self.charge) / MISSING_PART
            faults.append(FaultSpec("flat_battery", 1, -FULL_HOURS * 3600.0, missing, 60.0))
            # Gone at the very moment at which the battery, full in the plant, comes back.
            faults += [
                FaultSpec("flat_battery", night, back_s - start_s, missing, 60.0)
                for night in range(3, self.nights + 1, 2)
            ]
        return replace(
            base,
            battery=replace(base.battery, chemistry=self.chemistry),
            weather=replace(base.weather, rain_chance=0.0),
            sets=(SetSpec(start_s=start_s, unit="minutes", amount=MINUTES),),
            battery_trips=trips,
            faults=tuple(faults),
        )

    def run_s(self) -> list[int]:
        """Seconds pumped in each night."""
        return _run_s(self.site(), self.nights)

    def lost(self) -> list[int]:
        """Nights that a right channel waters longer by more than a minute."""
        right = replace(self, error_v=0.0).run_s()
        return [
            night
            for night, (ours, theirs) in enumerate(zip(self.run_s(), right, strict=True), 1)
            if ours + 60 < theirs
        ]


@dataclass(frozen=True)
class Panelled:
    """A battery under a panel, with one set a day."""

    chemistry: str
    power_w: float
    hour: int
    day: int
    nights: int = NIGHTS

    def site(self) -> Site:
        base = demo_site()
        return replace(
            base,
            battery=replace(base.battery, chemistry=self.chemistry),
            weather=replace(base.weather, rain_chance=0.0, day_of_year=self.day),
            solar=SolarSpec(power_w=self.power_w),
            sets=(SetSpec(start_s=self.hour * 3600, unit="minutes", amount=2.0 * MINUTES),),
            battery_trips=(),
            faults=(),
        )

    def run_s(self) -> list[int]:
        """Seconds pumped in each night."""
        return _run_s(self.site(), self.nights)

    def false_stops(self) -> list[str]:
        """Stops that the battery gave no reason for."""
        site = self.site()
        week = replay(site, settings_of(site), nights=self.nights)
        battery = Battery(site.battery)
        usable_ah = week.settings["capacity_mah"] / 1e3
        empty_ah = battery.charge_ah - usable_ah
        found = []
        for record in _entries(week, "trip"):
            rule = RULES[record[FIRST]][NAME]
            t_s = (record[DAY] - week.start_day) * 86400.0 + record[SECOND] - 43200.0
            left_ah = float(np.interp(t_s, week.trace.t_s, week.trace.charge_ah)) - empty_ah
            need_ah = 0.0 if rule == "low charge" else 2.0 * MINUTES / 60.0 * PUMP_A
            if rule not in CHARGE_STOPS or left_ah > need_ah + SLACK_SHARE * usable_ah:
                found.append(f"{self}: {rule}, day {t_s / 86400.0:.1f}, {left_ah:.1f} Ah left")
        return found


def _entries(week: Week, kind: str) -> Iterator[list[int]]:
    place = [name for name, _ in KINDS].index(kind)
    for line in week.log:
        record = parse_line(line)
        if record[KIND] == place:
            yield record


def _records(week: Week, kind: str) -> list[list[int]]:
    return [list(record[FIRST:]) for record in _entries(week, kind)]


def _run_s(site: Site, nights: int) -> list[int]:
    week = replay(site, settings_of(site), nights=nights)
    return [record[0] for record in _records(week, "night")]


def carried() -> list[Carried]:
    """The whole sweep."""
    errors_v = (-TWO_PERCENT, TWO_PERCENT)
    return [
        Carried(chemistry, charge, error_v)
        for chemistry in CHEMISTRIES
        for charge in (1.0, PART_CHARGED)
        for error_v in errors_v
    ]


def panelled() -> list[Panelled]:
    """The whole sweep."""
    return [
        Panelled(chemistry, power_w, hour, day)
        for chemistry in CHEMISTRIES
        for power_w in POWERS_W
        for hour in HOURS
        for day in SEASONS
    ]


def attempt(seed: int) -> Case:
    """One case of each sweep, with figures between those of the sweep."""
    random = Random(seed)
    chemistry = random.choice(CHEMISTRIES)
    error_v = random.uniform(-TWO_PERCENT, TWO_PERCENT)
    one = Carried(chemistry, random.uniform(PART_CHARGED, 1.0), error_v)
    other = Panelled(
        chemistry, random.uniform(20.0, 150.0), random.randrange(24), random.choice(SEASONS)
    )
    failures = [f"{one}: night {night} lost" for night in one.lost()] + other.false_stops()
    return Case(2, failures)
