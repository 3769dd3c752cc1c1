"""Dead head, dry run, low charge and an open line on drawn sites: each trips on all of them.

A few sites of fixed seeds; `make campaign` draws others.
"""

from dataclasses import replace

import pytest

from keeper import lines
from keeper.records import FIRST, KIND, STOP, TRIP
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import depth_of
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
from rillsim.site import FaultSpec, SetSpec, Site
from rillsim.supply.battery import Battery

from .events import RULE_NAMES
from .test_no_false_trip import NIGHTS, WEEKS, drawn

SHORT_SET = SetSpec(amount=4.0)
RULES = ("dead head", "dry run", "low charge", "line open")
NO_WATER = (
    FaultSpec("foot_valve_leak", 1, -9 * 3600.0),
    FaultSpec("source_empty", 1, -9 * 3600.0),
)
GOES_DOWN_S = 7200.0
LONG_SET = SetSpec(amount=125.0)
HALF_OF_THE_REST = 0.5
MISSING_AT_MOST = 0.95
"""Severity of 1 of a flat battery is this share of the rated charge, missing."""


def fault_for(rule: str, site: Site) -> FaultSpec:
    """What makes a rule trip: a shut tap, water gone, a battery used far beyond its depth, or a
    burst hose.

    The first two come two and a half minutes into a set of four, the last an hour before it. The
    battery goes down within two hours of a longer set: one that is empty before is not started,
    and volts that fall all at once are a joint's.
    """
    if rule == "dead head":
        return FaultSpec("outlet_shut", 1, 150.0)
    if rule == "dry run":
        return FaultSpec("source_empty", 1, 150.0)
    if rule == "line open":
        return FaultSpec("hose_burst", 1, -3600.0, 0.8)
    depth = depth_of(site.battery)
    used = depth + HALF_OF_THE_REST * (1.0 - depth)
    missing = used * Battery(site.battery).charge_ah / site.battery.capacity_ah
    severity = min(1.0, missing / MISSING_AT_MOST)
    return FaultSpec("flat_battery", 1, 30.0, severity, grows_s=GOES_DOWN_S)


def shortened(site: Site, one: SetSpec = SHORT_SET) -> Site:
    """A site with one set on a dry night, and the two channels that these rules look at.

    What is drawn leaves a channel out now and then; a board without it cannot have the rule.
    """
    return replace(
        site,
        board=replace(site.board, pressure_fitted=True, battery_fitted=True),
        sets=(one,),
        weather=replace(site.weather, rain_chance=0.0),
        faults=(),
        battery_trips=(),
    )


@pytest.mark.parametrize("rule", RULES)
def test_trips_on_the_demonstration_site(rule: str) -> None:
    must_trip("demonstration site", demo_site(), 1, rule)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("week", range(WEEKS))
def test_trips(week: int, rule: str) -> None:
    seed, site = drawn(week)
    must_trip(f"draw_site({seed}, {NIGHTS})", site, seed, rule)


@pytest.mark.parametrize("week", range(WEEKS))
def test_seconds_without_water_in_a_night(week: int) -> None:
    """All tries together: the filling that the first one may be, and two minutes."""
    seed, site = drawn(week)
    short = shortened(site)
    settings = settings_of(short)
    told = replay(short, settings, nights=1, seed=seed, faults=NO_WATER)
    rows = [lines.parse_line(line) for line in told.log]
    pumped_s = sum(row[FIRST + 1] for row in rows if row[KIND] == STOP)
    assert 2 * 8 < pumped_s <= settings["prime_ms"] / 1000 + 120 + 10, "\n".join(told.log)
    trips = [RULE_NAMES[row[FIRST]] for row in rows if row[KIND] == TRIP]
    assert trips[-1] in ("no prime", "dry too long")


def must_trip(name: str, site: Site, seed: int, rule: str) -> None:
    """Replay the night with the fault: the first trip is that of the rule."""
    short = shortened(site, LONG_SET if rule == "low charge" else SHORT_SET)
    fault = fault_for(rule, short)
    told = replay(short, settings_of(short), nights=1, seed=seed, faults=(fault,))
    replay_id = f"replay {name}, seed {seed}, fault {fault}"
    assert told.faults[0].felt, f"{replay_id}: the plant did not feel the fault"
    rows = [lines.parse_line(line) for line in told.log]
    trips = [RULE_NAMES[row[FIRST]] for row in rows if row[KIND] == TRIP]
    assert trips[:1] == [rule], f"{replay_id}: tripped by {trips}\n" + "\n".join(told.log)
