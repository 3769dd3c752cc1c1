"""The battery in its box: it follows the air, and what the cold does to it."""

from dataclasses import replace

import pytest

from rillsim.plant import Plant
from rillsim.site import BatterySpec, Site, SolarSpec, WeatherSpec
from rillsim.supply import box
from tests.sim.pumping import HOUR

FROST = WeatherSpec(t_max_c=-5.9, t_min_c=-6.1)


def test_newton_s_law_of_cooling() -> None:
    """1/e of the difference is left after one time constant; steps of an hour are one long one."""
    assert box.after(15.0, 5.0, 3600.0, 3600.0) == pytest.approx(5.0 + 10.0 / 2.718281828)
    battery_c = 15.0
    for _ in range(24):
        battery_c = box.after(battery_c, -6.0, 3600.0, 8 * 3600.0)
    assert battery_c == pytest.approx(box.after(15.0, -6.0, 24 * 3600.0, 8 * 3600.0))
    assert box.after(15.0, 5.0, 3600.0, 0.0) == 15.0


def test_days_of_frost_take_charge_from_a_battery_that_began_warm() -> None:
    """The outside review: a week of -6 C ran on a battery of 15 C, 42 of 57 Ah by IEEE 485."""
    spec = BatterySpec(age=0.0, temperature_c=15.0)
    plant = Plant(Site(weather=FROST, battery=spec))
    kept = Plant(Site(weather=FROST, battery=replace(spec, box_s=0.0)))
    for one in (plant, kept):
        one.read(48 * HOUR)
    left, was = (one.truth(48 * HOUR).charge_ah for one in (plant, kept))
    assert plant.rig.battery_c == pytest.approx(-6.0, abs=0.2)
    assert kept.rig.battery_c == 15.0
    # IEEE Std 485, table 1, from memory: 1.12 at 15 C and 1.52 at -3.9 C and below.
    assert left / was == pytest.approx(1.12 / 1.52, rel=0.02)
    assert plant.totals["battery_warmth_as"] == pytest.approx(3600.0 * (left - was), rel=0.03)


def test_a_lithium_battery_in_frost_is_not_charged() -> None:
    spec = BatterySpec(chemistry="lfp", temperature_c=15.0)
    given = []
    for weather in (FROST, WeatherSpec()):
        plant = Plant(Site(weather=weather, battery=spec, solar=SolarSpec(power_w=60.0)))
        n = plant.timeline.night_n(1)
        plant.read(n)
        plant.drive(n, 1)
        plant.read(n + HOUR)
        plant.drive(n + HOUR, 0)
        plant.read(n + 12 * HOUR)
        before_as = plant.totals["panel_as"]
        plant.read(n + 20 * HOUR)
        given.append(plant.totals["panel_as"] - before_as)
    frozen_as, warm_as = given
    assert frozen_as == 0.0
    assert warm_as > 3600.0
