"""A solar panel in the plant: what it gives by day, and what the board sees of it."""

from dataclasses import replace

import pytest

from rillsim.garden.radiation import extraterrestrial_mj_m2, solar_mj_m2
from rillsim.garden.weather import DAY_S, Day, Weather
from rillsim.plant import Plant
from rillsim.site import BatterySpec, BatteryTrip, Site, SolarSpec, WeatherSpec
from rillsim.supply.battery import Battery
from rillsim.supply.panel import CHARGING_V, offered_a, steady_sun, taken
from tests.sim.pumping import HOUR, MINUTE, faulty

PANEL = SolarSpec(power_w=20.0)
DAY = 24 * HOUR


def sunny(**more: object) -> Site:
    return replace(Site(), solar=PANEL, **more)


@pytest.mark.published
def test_a_day_of_sun_is_that_of_the_handbook() -> None:
    """FAO-56 example 10, Rio de Janeiro in May (22 54' S, day 135): 14.5 MJ/m2."""
    spec = WeatherSpec(latitude_deg=-22.9, day_of_year=135, sunshine=7.1 / 10.9)
    sun_mj = steady_sun(spec, 0)
    hours = sum(sun_mj(3600.0 * hour, 3600.0 * (hour + 1)) for hour in range(24))
    assert hours == pytest.approx(14.5, abs=0.1)
    day = Day(135, 25.1, 19.1, 80.0, 60.0, 2.0, 0.0, 7.1 / 10.9)
    weather = Weather([day, day], -22.9)
    tens = [
        weather.solar_mj_m2(DAY_S + 600.0 * ten, DAY_S + 600.0 * (ten + 1)) for ten in range(144)
    ]
    assert sum(tens) == pytest.approx(hours, rel=1e-9)
    assert tens[0] == 0.0


def test_polar_night_has_no_sun() -> None:
    day = Day(355, -10.0, -20.0, 80.0, 60.0, 2.0, 0.0, 0.5)
    assert Weather([day], 75.0).solar_mj_m2(0.0, 43200.0) == 0.0


def test_a_day_puts_in_what_the_sizing_counts() -> None:
    """A battery with room: efficiency times power times hours of full sun, over 13.5 V."""
    site = sunny(faults=(faulty("flat_battery", 0.0, 0.6),))
    plant = Plant(site, 1)
    n = plant.timeline.night_n(1) + 2 * HOUR
    plant.read(n)
    before = plant.totals["panel_as"]
    plant.read(n + DAY)
    weather = site.weather
    outside = extraterrestrial_mj_m2(weather.latitude_deg, weather.day_of_year)
    sun_h = solar_mj_m2(weather.sunshine, outside) / 3.6
    put_in_ah = (plant.totals["panel_as"] - before) / 3600.0
    assert put_in_ah == pytest.approx(PANEL.efficiency * 20.0 * sun_h / CHARGING_V, rel=1e-6)


def test_night_gives_nothing_and_the_plant_rests_in_long_steps() -> None:
    plant = Plant(sunny(), 1)
    n = plant.timeline.night_n(1)
    plant.read(n + HOUR)
    before = plant.totals["panel_as"]
    plant.read(n + 4 * HOUR)
    assert plant.totals["panel_as"] == before
    assert plant.idle


def test_a_full_battery_is_held_at_the_limit_by_day_and_rests_by_night() -> None:
    plant = Plant(sunny(), 1)
    noon = DAY
    plant.read(noon)
    assert plant.truth(noon).board_v == pytest.approx(14.4, abs=0.05)
    assert plant.truth(noon).soc > 0.99
    plant.read(noon + 12 * HOUR)
    assert plant.truth(noon + 12 * HOUR).board_v < 12.75


def test_a_pump_by_day_draws_the_voltage_down_at_once() -> None:
    plant = Plant(sunny(), 1)
    plant.read(DAY)
    plant.drive(DAY, 1)
    plant.read(DAY + MINUTE)
    assert plant.truth(DAY + MINUTE).board_v < 12.6
    shaded = Plant(Site(), 1)
    shaded.read(DAY)
    shaded.drive(DAY, 1)
    shaded.read(DAY + MINUTE)
    assert plant.truth(DAY + MINUTE).board_v >= shaded.truth(DAY + MINUTE).board_v


def test_reading_more_often_changes_nothing() -> None:
    often, seldom = Plant(sunny(), 1), Plant(sunny(), 1)
    for n in range(0, DAY, 3 * MINUTE + 7):
        often.read(n)
    assert often.read(DAY) == seldom.read(DAY)
    assert often.totals == seldom.totals


def test_a_battery_that_is_away_gets_no_sun() -> None:
    plant = Plant(sunny(battery_trips=(BatteryTrip(1, 9 * 3600, 17 * 3600),)), 1)
    away = DAY - HOUR
    plant.read(away)
    before = plant.totals["panel_as"]
    plant.read(away + 5 * HOUR)
    assert plant.totals["panel_as"] == before


def test_the_controller_lets_in_no_more_than_the_battery_takes() -> None:
    full = Battery(BatterySpec())
    current, lift_v = taken(full, 2.0, 0.01, 600.0)
    assert current == pytest.approx(0.01, abs=1e-3)
    assert full.terminal_v(0.0) + lift_v == pytest.approx(14.4, abs=0.01)
    half = Battery(BatterySpec(), 0.5)
    assert taken(half, 2.0, 0.01, 600.0) == (2.0, 0.0)
    assert taken(half, 0.0, 0.01, 600.0) == (0.0, 0.0)


def test_current_goes_with_sun_and_power() -> None:
    assert offered_a(SolarSpec(27.0, 0.5), 1.8, 3600.0) == pytest.approx(0.5)
    assert offered_a(SolarSpec(54.0, 0.5), 3.6, 3600.0) == pytest.approx(2.0)
