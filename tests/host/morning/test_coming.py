"""The plan of the coming nights, against the plant, the sizing and sums by hand."""

from dataclasses import replace

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.size.facts import facts_of
from rillkeeper.display_units import day_text
from rillkeeper.morning.coming import Coming, coming_nights, from_report, from_size
from rillkeeper.morning.coming.plan import Season, Start, season_start
from rillkeeper.morning.coming.start import season_of
from rillkeeper.morning.coming.words import carry, first_thing, sentences, table
from rillkeeper.morning.report.report import report_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
from rillsim.site import BatteryTrip, HomeSpec, PermitSpec, Site, WaterSource
from rillsim.supply.battery import Battery
from rillsim.water.store import nights_until_empty
from tests.host.morning.sample_week import demo_report, demo_week

DEMO = demo_site()
DRY = replace(DEMO, faults=(), battery_trips=(), weather=replace(DEMO.weather, rain_chance=0.0))


def planned(site: Site = DRY, ahead: int = 7, **known: object) -> Coming:
    """The plan of a site on paper, with something known otherwise."""
    plan = from_size(site, ahead)
    return coming_nights(site, replace(plan.start, **known), plan.sets, ahead)


def trip_places(plan: Coming) -> list[int]:
    return [trip.day - plan.start.day for trip in plan.trips]


def test_the_battery_goes_home_before_the_first_night_that_it_cannot_give_whole() -> None:
    assert int(facts_of(DRY).nights) == 2
    assert trip_places(from_size(DRY)) == [2, 4, 6]
    assert trip_places(planned(nights_left=0.9)) == [0, 2, 4, 6]
    assert trip_places(planned(nights_left=1.0)) == [1, 3, 5]
    assert planned(nights_left=None).trips == []
    assert "not known" in first_thing(planned(nights_left=None))


def test_the_plant_agrees_with_the_day() -> None:
    """Home on the plan's day every night is given whole; a night later one is not.

    The plant is the outside here: the plan knows nothing of it beyond the sizing's battery.
    """
    plan = from_size(DRY, 4)
    place = trip_places(plan)[0]
    settings = settings_of(DRY)

    def whole(after_night: int) -> list[bool]:
        trip = BatteryTrip(after_night, 8 * 3600, 18 * 3600)
        done = replay(replace(DRY, battery_trips=(trip,)), settings, nights=place + 1, fast=True)
        return [night.whole for night in report_of(done.log, done.site).nights[: place + 1]]

    assert whole(place) == [True] * (place + 1)
    assert whole(place + 1) == [True] * place + [False]


def test_the_report_and_its_plan_name_one_day() -> None:
    report = demo_report()
    for left in (0.4, 1.2, 2.0, 5.7):
        told = replace(report, left=replace(report.left, middle=left, low=left - 0.3))
        plan = from_report(told)
        assert plan
        trip = plan.trips[0]
        answer = verdict_of(told)["battery"].short
        assert answer == "Before the next night" if left < 1 else day_text(trip.day) in answer
        assert trip.earliest == plan.start.day + int(left - 0.3 if left > 1 else 0)
        assert trip.number == 2, "one trip is in the week"


def test_habit_and_charger_are_counted() -> None:
    habit = planned(replace(DRY, home=HomeSpec(every_nights=1)))
    assert trip_places(habit) == [1, 2, 3, 4, 5, 6]
    assert habit.trips[0].by_habit
    weak = replace(DRY, home=HomeSpec(charger_a=2.0, away_from_s=9 * 3600, back_at_s=17 * 3600))
    trip = planned(weak, nights_left=0.0).trips[0]
    # Eight hours at 2 A, 13 % of it lost as gas, beside half of the battery's charge.
    by_hand = 8 * 2.0 * 0.87 / (0.5 * Battery(replace(DRY.battery, temperature_c=25.0)).charge_ah)
    assert trip.charged == pytest.approx(by_hand, rel=0.15)
    assert "comes back" in table(planned(weak, nights_left=0.0)).rows[0][-1]


def test_habit_counts_from_the_last_charge_not_from_the_reading() -> None:
    """Every third night, read after two: the plan's first trip is a night away, not three."""
    habit = replace(DEMO, home=HomeSpec(every_nights=3), faults=(), battery_trips=())
    log = demo_week().log
    end = [place for place, line in enumerate(log) if " night run_s=" in line][1]
    report = report_of(log[:end], habit)
    told = from_report(replace(report, left=replace(report.left, middle=9.0)))
    assert told
    assert told.start.since_charge == 2
    assert trip_places(told)[0] == 1


def test_a_refill_comes_on_the_day_that_the_sizing_names() -> None:
    site = replace(DRY, water=WaterSource(stored_m3=3.0, inflow_m3_s=0.2e-3 / 60))
    plan = planned(site)
    first = plan.refills[0]
    assert first.day - plan.start.day + 1 == nights_until_empty(site, plan.night_m3)
    # By hand: 3 m3 less three nights, and 288 L of the spring after each.
    left_m3 = 3.0 - 3 * plan.night_m3 + 3 * 0.288
    assert first.left_m3 == pytest.approx(left_m3)
    assert first.wanted_m3 == pytest.approx(3.0 - left_m3)
    assert any("L are in" in text or "holds 3000 L" in text for text in sentences(plan))
    assert any(heading == "To fill the cistern" for heading, _ in carry(site))
    assert planned(DRY).refills == []


def test_after_a_replay_the_cistern_is_the_plants_and_else_reckoned() -> None:
    week = demo_week()
    site = replace(DEMO, water=replace(DEMO.water, stored_m3=9.0))
    report = report_of(week.log, site)
    given_m3 = sum(night.given_ml or 0 for night in report.nights) * 1e-6
    plan = from_report(report)
    assert plan
    assert plan.start.source_m3 == pytest.approx(9.0 - given_m3)
    assert "Look at it" in plan.start.notes[0]
    small = from_report(report_of(week.log, replace(site, water=WaterSource(stored_m3=1.2))))
    assert small
    assert small.start.source_m3 is None
    assert small.refills == []
    assert "look at the level" in small.start.notes[0]
    seen = from_report(replace(demo_report(), site=site))
    assert seen
    assert seen.start.source_m3 == demo_report().trace.source_m3[-1]  # type: ignore[union-attr]


def test_the_permit_by_hand() -> None:
    permit = PermitSpec(season_m3=6.0, day_m3=0.9, begins_day=60, taken_m3=0.5)
    plan = planned(replace(DRY, permit=permit))
    # 0.5 m3 and five nights of 1.017 m3 are 5.6 m3; the sixth would pass 6 m3.
    assert plan.permit_ends == plan.start.day + 5
    assert [night.over_permit for night in plan.nights] == [False] * 5 + [True] * 2
    said = " ".join(sentences(plan))
    assert "500 L of 6000 L" in said
    assert f"before the night of {day_text(plan.start.day + 5)}" in said
    assert "allows 900 L a day" in said
    assert planned().permit_ends is None
    enough = planned(replace(DRY, permit=PermitSpec(season_m3=400.0)))
    assert enough.permit_ends is None, "a new season begins before"


def test_a_season_may_run_over_the_new_year() -> None:
    july, january = 20643, 20643 - 170
    assert season_start(PermitSpec(), july) == season_start(PermitSpec(), january)
    assert season_start(PermitSpec(begins_day=244), july) == january + 170 - 311


def test_a_season_begins_with_what_was_taken_and_knows_its_gaps() -> None:
    first, _, third = nights_of(read_log(demo_week().log)).nights[:3]
    assert first.given_ml
    assert third.given_ml
    both_m3 = (first.given_ml + third.given_ml) * 1e-6
    last = season_of([first, third], third.day, 2.0)
    assert last == Season(third.day, pytest.approx(2.0 + third.given_ml * 1e-6), 0)
    whole = season_of([first, third], first.day - 5, 0.0)
    assert whole == Season(first.day - 5, pytest.approx(both_m3), 1), "one night is missing"


def test_the_end_of_a_log_knows_the_whole_season() -> None:
    week = demo_week()
    whole = read_log(week.log)
    last = report_of(week.log[len(week.log) // 2 :], DEMO)
    part, full = from_report(last), from_report(last, 7, nights_of(whole).nights, whole.entries)
    assert part
    assert full
    assert full.start.season.m3 > part.start.season.m3
    given_m3 = sum(night.given_ml or 0 for night in nights_of(whole).nights) * 1e-6
    assert full.start.season.m3 == pytest.approx(given_m3)


def test_without_a_site_there_is_no_plan() -> None:
    assert from_report(report_of(demo_week().log)) is None


def test_a_charge_of_less_than_a_night_is_said() -> None:
    start = from_size(DRY).start
    plan = coming_nights(DRY, replace(start, nights_left=0.6, full_nights=0.6), (), 3)
    assert trip_places(plan) == [0, 1, 2]
    assert any("less than one" in text for text in sentences(plan))


def test_sets_after_midnight_belong_to_the_night_before() -> None:
    early = replace(DRY.sets[0], start_s=4 * 3600)
    plan = from_size(replace(DRY, sets=(early, DRY.sets[0])))
    assert [(one.number, one.day_offset()) for one in plan.sets] == [(2, 0), (1, 1)]
    assert isinstance(plan.start, Start)
