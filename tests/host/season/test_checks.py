"""Seasons held against what is known otherwise: FAO-56, the report's nights left, the balances."""

from dataclasses import replace
from functools import cache

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.morning.nights_left.predict import nights_left
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.season.task import Result, Task, play
from rillkeeper.site.file import demo_site
from rillsim.replay import replay, start_day_of
from rillsim.site import HomeSpec, Site
from tests.host.season.few import short_site

KC_MID = 1.00
"""Lettuce, mid season, single coefficient: FAO-56 table 12."""
KCB_MID = 0.90
"""The same, basal: FAO-56 table 17."""
KC_MAX = 1.20
"""Most that crop and wet ground use together: FAO-56 eq. 72, for 2 m/s and 45 %."""


@cache
def seasons() -> list[Result]:
    site, settings = short_site(), settings_of(short_site())
    return [play(Task(site, settings, 10, 1, number)) for number in range(3)]


@pytest.mark.published
def test_the_need_is_that_of_fao_56() -> None:
    """ETc = Kc ETo (FAO-56 eq. 56); less the rain it is the net requirement. How much the
    bare ground gives off beside depends on how it is wetted; table 12 is for the usual."""
    for season in seasons():
        kc = season["demand_mm"] / season["reference_mm"]
        assert KCB_MID < kc < KC_MAX
    need = sum(one["demand_mm"] - one["rain_mm"] for one in seasons())
    net = sum(KC_MID * one["reference_mm"] - one["rain_mm"] for one in seasons())
    assert need == pytest.approx(net, rel=0.15)


def test_every_account_closes_over_a_season() -> None:
    assert max(one["off_percent"] for one in seasons()) < 0.1


def carried_never() -> Site:
    site = demo_site()
    return replace(
        site,
        faults=(),
        battery_trips=(),
        home=HomeSpec(),
        weather=replace(site.weather, rain_chance=0.0),
        battery=replace(site.battery, capacity_ah=100.0),
    )


def test_the_nights_left_of_the_report_are_those_that_come() -> None:
    """Every morning's prediction against the nights that the same season then gives."""
    site, nights = carried_never(), 7
    settings = settings_of(site)
    week = replay(site, settings, nights=nights, seed=2, fast=True)
    days = [start_day_of(site) + place for place in range(nights)]
    read = nights_of(read_log(week.log), site.board, settings, days, complete=True).nights
    gave = [sum(night.share or 0.0 for night in read[place + 1 :]) for place in range(nights)]
    assert gave[0] > 2.0
    assert gave[-2] == pytest.approx(0.0, abs=0.2)
    for place in range(4):
        left = nights_left(read[: place + 1], site, settings)
        assert left.middle is not None
        assert left.middle == pytest.approx(gave[place], abs=0.7), place
        # The board's own count is a least, to the night that it will not give whole.
        assert (read[place].nights_tenths or 0) / 10.0 < gave[place] + 0.5
