"""The battery at home: how well it is charged, and how often it gets there."""

from dataclasses import replace

import pytest

from keeper.lines import parse_line
from keeper.records import FIRST, KIND, NIGHT
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.size.nights import nights_wanted
from rillkeeper.site.file import demo_site
from rillsim.habit import Habit
from rillsim.replay import Week, replay
from rillsim.site import BatterySpec, BatteryTrip, FaultSpec, HomeSpec, Site
from rillsim.supply.battery import Battery
from rillsim.supply.charger import charge
from rillsim.timeline import trips_of

BASE = demo_site()
DRY = replace(BASE, weather=replace(BASE.weather, rain_chance=0.0), battery_trips=(), faults=())


def week(home: HomeSpec, nights: int, *faults: FaultSpec) -> Week:
    site = replace(DRY, home=home, faults=faults)
    return replay(site, settings_of(site), nights=nights)


@pytest.mark.parametrize(("charger_a", "share"), [(2.0, 0.68), (4.0, 0.85)])
def test_eight_hours_at_home(charger_a: float, share: float) -> None:
    """The outside review reckoned for 80 Ah flooded, from half: 0.68 at 2 A and 0.85 at 4 A."""
    battery = Battery(BatterySpec(capacity_ah=80.0, age=0.0), 0.5, temperature_c=25.0)
    charge(battery, charger_a, 8 * 3600.0)
    assert battery.soc == pytest.approx(share, abs=0.02)


def test_a_small_charger_leaves_the_week_short() -> None:
    """The same habit; the small charger gives 8 h x 1 A less what is lost, the large one all."""
    large, small = (week(HomeSpec(charger_a, 2), 3).trace for charger_a in (0.0, 1.0))
    back_s = (24 + 24 + 6) * 3600.0
    full_ah, part_ah = (float(one.charge_ah[one.t_s > back_s][0]) for one in (large, small))
    left_ah = float(small.charge_ah[small.t_s < back_s - 9 * 3600.0][-1])
    assert part_ah - left_ah == pytest.approx(8.0 * 0.87, abs=1.2)
    assert full_ah > part_ah + 10.0


def test_a_habit_starts_anew_after_a_planned_trip() -> None:
    site = replace(DRY, home=HomeSpec(every_nights=3), battery_trips=(BatteryTrip(2),))
    assert [trip.after_night for trip in trips_of(site)][:4] == [2, 5, 8, 11]
    assert trips_of(DRY) == ()
    assert nights_wanted(site) == 3


def test_it_goes_home_when_the_board_asks() -> None:
    """Without a habit the battery is spent within the week; asked for, it is back in time."""
    never = week(HomeSpec(), 6)
    asked = week(HomeSpec(when_asked=True), 6)
    dry = [truth.litres for truth in never.truth]
    watered = [truth.litres for truth in asked.truth]
    assert min(dry) < 10.0
    assert sum(watered) > sum(dry) + 300.0
    assert float(asked.trace.charge_ah[-1]) > float(never.trace.charge_ah[-1])


def test_a_full_battery_stays_where_the_source_is_dry() -> None:
    """No run shows how far above the cut-out it ends: the board promises no less for that."""
    asked = week(HomeSpec(when_asked=True), 4, FaultSpec("source_empty", 1, -8 * 3600.0))
    assert asked.battery_back_s == ()
    rows = [parse_line(line) for line in asked.log]
    told = [row[FIRST + 4] for row in rows if row[KIND] == NIGHT]
    assert len(told) == 4
    # Seven tenths of what is counted, over what a whole night takes.
    assert min(told) >= 15


def test_the_log_is_read_once_a_day_and_only_where_one_cares() -> None:
    assert not Habit(HomeSpec(), 0).looks(10**9)
    habit = Habit(HomeSpec(when_asked=True), 0)
    assert not habit.looks(10)
    assert habit.looks(9 * 36000)
    assert not habit.goes_home(lambda: ["not a line of a log"])


def test_old_sites_have_no_home() -> None:
    assert Site().home == HomeSpec()
    assert Site().home.charger_a == 0.0
