"""The garden of a replay: cell by cell, judged by its driest quarter, each litre accounted for."""

from dataclasses import replace

import numpy as np
import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.morning.report.json_document import ledger
from rillkeeper.site.file import demo_site
from rillsim.accounts import Account
from rillsim.garden.crops import find_crop
from rillsim.garden.dual import dual_kc
from rillsim.garden.garden import STEP_S, Garden, NightTruth
from rillsim.garden.need import root_zone_of
from rillsim.garden.uniformity import du_low_quarter, low_quarter_mean, low_quarter_weights
from rillsim.garden.weather import DAY_S, HOUR_S, Day, Rain, Weather
from rillsim.replay import replay
from rillsim.site import BatteryTrip, PlotSpec, Site, SprinklerSpec
from tests.host.morning.sample_week import demo_week

DRY = Day(190, 27.0, 14.0, 85.0, 45.0, 2.0, 270.0, 0.7)
NOON_S = DAY_S // 2
SPRINKLER = SprinklerSpec(x_m=4.0, y_m=4.0)
SITE = Site(plot=PlotSpec(width_m=8.0, depth_m=8.0, deficit_mm=5.0), sprinkler=SPRINKLER)
NIGHT_L = 500.0


def weather(*rain: Rain, days: int = 8) -> Weather:
    return Weather([replace(DRY, rain=rain)] + [DRY] * (days - 1), 46.0)


def lived(
    garden: Garden, nights: int, throw_m: float, litres: float = NIGHT_L
) -> list[NightTruth]:
    """An hour of water at two in each night, in steps of ten seconds."""
    truth = []
    for night in range(nights):
        noon_s = NOON_S + night * DAY_S
        garden.live(noon_s + 14 * HOUR_S)
        for step in range(1, 361):
            garden.water(litres / 360.0, throw_m, 250e3)
            garden.live(noon_s + 14 * HOUR_S + 10 * step)
        garden.live(noon_s + DAY_S)
        truth.append(garden.end_night())
    return truth


def flat(site: Site) -> Site:
    """A spray that reaches far past the plot's edges lies evenly on it."""
    return replace(site, sprinkler=replace(site.sprinkler, pattern="even"))


def test_an_even_spray_makes_one_bucket_of_the_plot() -> None:
    """The plot is then what one cell is that gets the mean: what it was before cells were told
    apart."""
    garden = Garden(flat(SITE), weather(days=5), NOON_S)
    nights = lived(garden, 4, throw_m=14.0, litres=4000.0)
    assert nights[0].du == pytest.approx(100.0, abs=1e-6)
    alone = root_zone_of(SITE)
    kc = dual_kc(find_crop("lettuce"), "mid", DRY.wind_m_s, DRY.humidity_min)
    sun = garden.weather.evaporation_mm
    for night, truth in enumerate(nights):
        noon_s = NOON_S + night * DAY_S
        for hour in range(24):
            start_s = noon_s + hour * HOUR_S
            spray_mm = truth.plot_mm if hour == 14 else 0.0
            alone.step(HOUR_S, 0.0, spray_mm, sun(start_s, start_s + HOUR_S), kc)
        assert truth.deficit_mm == pytest.approx(float(alone.deficit_mm[0]), abs=1e-3)
        assert truth.deficit_low_mm == pytest.approx(truth.deficit_mm, abs=1e-9)
        assert truth.stressed in (0.0, 1.0)
    assert garden.soil().driest.drained_mm == pytest.approx(garden.soil().mean.drained_mm)


def test_the_corners_suffer_while_the_mean_does_not() -> None:
    """What one bucket cannot tell: a plot that the throw does not fill."""
    nights = lived(Garden(SITE, weather(), NOON_S), 7, throw_m=4.5)
    readily_mm = root_zone_of(SITE).readily_mm
    last = nights[-1]
    assert last.deficit_mm < readily_mm < last.deficit_low_mm
    assert 0.1 < last.stressed < 0.5
    assert last.stress_low < 0.9
    assert last.drained_mm > 0.5  # Near the stand, at the same time.


def test_every_cell_balances() -> None:
    """Rain on the first day, run-off near the stand on clay: each cell closes to rounding."""
    clay = replace(SITE, plot=replace(SITE.plot, soil="clay"))
    garden = Garden(clay, weather(Rain(15 * HOUR_S, 7200, 9.0)), NOON_S, [(90000, 97200, 2.0)])
    nights = lived(garden, 5, throw_m=4.5, litres=1500.0)
    zone, sums = garden.zone, garden.zone.sums
    gained_mm = zone.start_mm - zone.deficit_mm + zone.standing_mm
    came_mm = sums.rain_mm + sums.spray_mm
    went_mm = sums.used_mm + sums.runoff_mm + sums.drained_mm
    assert np.abs(came_mm - went_mm - gained_mm).max() < 1e-10
    assert sums.rain_mm == pytest.approx(9.0 + 4.0)
    assert sums.runoff_mm.max() > 10.0
    assert sums.runoff_mm.min() == pytest.approx(9.0 - 2 * 3.0 - 2.5)  # Of the rain, everywhere.
    given_mm = np.sum([night.depth_map_mm for night in nights], axis=0)
    assert sums.spray_mm == pytest.approx(given_mm, abs=1e-9)
    assert sum(night.runoff_mm for night in nights) == pytest.approx(sums.runoff_mm.mean())


def test_the_driest_quarter_is_what_the_trade_takes() -> None:
    """Of a night's gift: the low quarter of its depths (ASAE S398), as DU has it."""
    garden = Garden(SITE, weather(), NOON_S)
    night = lived(garden, 1, throw_m=4.5)[0]
    depth_mm = night.depth_map_mm
    assert night.du == pytest.approx(100.0 * low_quarter_mean(depth_mm) / depth_mm.mean())
    assert night.du == pytest.approx(du_low_quarter(depth_mm))
    weights = low_quarter_weights(depth_mm)
    assert weights.sum() == pytest.approx(1.0)
    assert (weights * depth_mm).sum() == pytest.approx(low_quarter_mean(depth_mm))
    mean_mm, low_mm = garden.deficits_mm
    assert mean_mm == pytest.approx(garden.zone.deficit_mm.mean())
    assert low_mm == pytest.approx(np.sort(garden.zone.deficit_mm.ravel())[-256:].mean())


def test_water_within_a_minute_waits_and_is_not_lost() -> None:
    garden = Garden(SITE, weather(), NOON_S)
    garden.water(20.0, 4.5, 250e3)
    garden.live(NOON_S + STEP_S / 2.0)
    assert garden.zone.sums.spray_mm.max() == 0.0
    garden.live(NOON_S + STEP_S)
    assert garden.zone.sums.spray_mm.mean() == pytest.approx(garden.spray.mean_mm)
    garden.water(-0.02, 4.5, 250e3)
    assert garden.soil().back_l == pytest.approx(0.02)


def test_rain_falls_in_its_own_time() -> None:
    """Twenty minutes of 10 mm on clay: 1 mm soaks in meanwhile, 2.5 mm stand, 6.5 mm run off,
    however seldom the garden is looked at before and how often after."""
    ran_off = []
    for step_s in (600, 60):
        clay = replace(SITE, plot=replace(SITE.plot, soil="clay"))
        shower = Rain(14 * HOUR_S + 1200, 1200, 10.0)
        garden = Garden(clay, weather(shower), NOON_S)
        for second in range(NOON_S, NOON_S + 6 * HOUR_S, step_s):
            garden.live(second + step_s)
        ran_off.append(float(garden.zone.sums.runoff_mm[0, 0]))
        assert [row[0] for row in garden.course[:3]] == [NOON_S, NOON_S + HOUR_S, NOON_S + 7200]
    assert ran_off == pytest.approx([6.5, 6.5], abs=1e-9)


def test_a_coarse_garden_dries_as_one_that_goes_by_the_hour() -> None:
    """Ten days without water, over which the surface and then the roots run short."""
    site = replace(SITE, plot=replace(SITE.plot, deficit_mm=0.0))
    fine, coarse = (Garden(site, weather(days=11), NOON_S, coarse=each) for each in (False, True))
    for night in range(1, 11):
        for garden in (fine, coarse):
            garden.live(NOON_S + night * DAY_S)
        was, now = (garden.end_night() for garden in (fine, coarse))
        assert now.deficit_mm == pytest.approx(was.deficit_mm, abs=0.01)
        assert now.et_mm == pytest.approx(was.et_mm, abs=0.01)
    assert was.stress_low < 1.0
    assert len(coarse.course) < len(fine.course) / 5


def test_a_long_step_sprinkles_as_its_parts() -> None:
    """Ten minutes in which the throw falls evenly: the parts are of three minutes at most."""
    calm = replace(DRY, wind_m_s=0.0)
    fine, coarse = (Garden(SITE, Weather([calm, calm], 46.0), NOON_S) for _ in range(2))
    fine.live(NOON_S + 14 * HOUR_S)
    coarse.live(NOON_S + 14 * HOUR_S)
    coarse.water_long(0.0, 4.0, 250e3, 0.0)
    for part in range(60):
        fine.water(NIGHT_L / 60.0, 4.0 - 0.3 * (part + 0.5) / 60.0, 250e3, 10.0 * part)
    coarse.water_long(NIGHT_L, 3.7, 250e3, 600.0)
    was, now = fine.spray.depth_mm, coarse.spray.depth_mm
    assert now.mean() == pytest.approx(was.mean(), rel=1e-3)
    assert np.abs(now - was).max() < 0.03 * was.max()
    at_once = Garden(SITE, Weather([calm, calm], 46.0), NOON_S)
    at_once.live(NOON_S + 14 * HOUR_S)
    at_once.water(NIGHT_L, 3.7, 250e3)
    assert np.abs(at_once.spray.depth_mm - was).max() > 0.05 * was.max()


def off(account: Account) -> float:
    return abs(account.off_percent)


def test_the_accounts_of_the_demonstration_week_close() -> None:
    """Energy, charge, water and soil, each within 0.01 %; the battery goes home in it."""
    accounts = demo_week().accounts
    assert accounts.source.turned_over == 0.0, "a pond has no volume"
    for name, account in vars(accounts).items():
        assert account.turned_over > 1.0 or name == "source", name
        assert off(account) < 0.01, name
    assert off(accounts.soil_mean) < 1e-9
    assert off(accounts.soil_driest) < 1e-9
    assert accounts.charge.came["battery_swap_as"] > 0.0
    assert accounts.soil_driest.came["spray_mm"] < accounts.soil_mean.came["spray_mm"]


def test_soil_and_sprinkler_tell_of_the_same_water() -> None:
    """Depth on the plot times its area, what fell beside it and what the air took: all of it."""
    week = demo_week()
    plot, water = week.site.plot, week.accounts.water.became
    on_plot_m3 = week.accounts.soil_mean.came["spray_mm"] * plot.width_m * plot.depth_m / 1e3
    assert on_plot_m3 == pytest.approx(water["on_plot_m3"], rel=1e-12)
    poured_m3 = water["on_plot_m3"] + water["beside_plot_m3"] + water["lost_in_air_m3"]
    assert poured_m3 * 1e3 == pytest.approx(sum(night.litres for night in week.truth), rel=1e-12)


def test_the_ledger_as_json() -> None:
    found = ledger(demo_week().accounts)
    assert set(found) == {"energy", "charge", "water", "soil_mean", "soil_driest_quarter"}
    for name, unit in (
        ("energy", "_j"),
        ("charge", "_as"),
        ("water", "_m3"),
        ("soil_mean", "_mm"),
    ):
        amounts = {**found[name]["came"], **found[name]["became"]}
        assert all(key.endswith(unit) for key in amounts), name
    soil = found["soil_driest_quarter"]
    assert sum(soil["came"].values()) == pytest.approx(sum(soil["became"].values()))


def test_an_account_that_is_off_says_so() -> None:
    assert Account({"a_j": 100.0}, {"b_j": 98.0}).off_percent == pytest.approx(2.0)
    assert Account({"a_j": 0.0}, {"b_j": 0.0}).off_percent == 0.0


def test_the_battery_that_stays_away_closes_too() -> None:
    site = replace(demo_site(), faults=(), battery_trips=(BatteryTrip(1, charged=0.7),))
    accounts = replay(site, settings_of(site), nights=2).accounts
    assert off(accounts.charge) < 1e-6
    assert off(accounts.energy) < 0.01
