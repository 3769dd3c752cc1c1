"""A small panel in a sizing: what it gives, and what it changes."""

import io
from dataclasses import replace

import pytest
from rich.console import Console

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.facts import facts_of
from rillkeeper.design.size.nights import NIGHTS_MAX, load_of, nights_of, nights_on_a_charge
from rillkeeper.design.size.sun import CHARGING_V, sun_of
from rillkeeper.design.size.terminal import render
from rillkeeper.design.size.workings import work_out
from rillkeeper.site.file import demo_site
from rillsim.site import Site, SolarSpec

DEMO = demo_site()
WORK = WorkingSite(DEMO)


def with_panel(power_w: float) -> Site:
    return replace(DEMO, solar=SolarSpec(power_w))


def test_radiation_of_rio_in_may() -> None:
    """FAO-56 example 10: 22 54' S, 15 May, 7.1 of 10.9 hours of sun: 14.5 MJ/m2; a panel of
    100 W with a performance ratio of 1 then gives 0.403 kWh."""
    weather = replace(DEMO.weather, latitude_deg=-22.9, day_of_year=135, sunshine=7.1 / 10.9)
    sun = sun_of(replace(DEMO, weather=weather, solar=SolarSpec(100.0, 1.0)))
    assert sun
    assert sun.radiation_mj_m2 == pytest.approx(14.5, abs=0.05)
    assert sun.daylight_h == pytest.approx(10.9, abs=0.05)
    assert sun.usual_ah * CHARGING_V == pytest.approx(403.0, abs=2.0)


def test_closed_sky_gives_a_quarter_of_what_comes_from_outside() -> None:
    """FAO-56 equation 35 with as = 0.25 and bs = 0.50."""
    weather = replace(DEMO.weather, sunshine=1.0)
    sun = sun_of(replace(with_panel(20.0), weather=weather))
    assert sun
    assert sun.dull_ah / sun.usual_ah == pytest.approx(0.25 / 0.75)


def test_without_a_panel_nothing_changes() -> None:
    assert sun_of(DEMO) is None
    facts = facts_of(DEMO)
    assert facts.panel_nights == facts.nights
    assert not any("panel" in case.name for case in nights_of(WORK).cases)


def test_panel_lengthens_a_charge_by_what_it_gives() -> None:
    """Lithium, no losses to speak of: each day but the last gives the panel's charge back."""
    site = replace(
        with_panel(10.0), battery=replace(DEMO.battery, chemistry="lfp", temperature_c=25.0)
    )
    work, sun = WorkingSite(site), sun_of(site)
    assert sun
    load = load_of(work)
    bare, _ = nights_on_a_charge(site.battery, load, work.discharge)
    longer, _ = nights_on_a_charge(
        site.battery, load, work.discharge, sun.usual_ah, sun.daylight_h
    )
    usable_ah = bare * (load.pump_ah + load.board_ah)
    expected = usable_ah / (load.pump_ah + load.board_ah - sun.usual_ah)
    assert longer > bare
    assert longer == pytest.approx(expected, rel=0.12)


def test_panel_that_gives_more_than_a_night_takes_never_ends() -> None:
    assert facts_of(with_panel(200.0)).panel_nights == NIGHTS_MAX
    small, large = (facts_of(with_panel(watts)).panel_nights for watts in (5.0, 20.0))
    assert facts_of(DEMO).nights < small < large < NIGHTS_MAX


def test_report_says_what_the_verdict_counts_on() -> None:
    out = io.StringIO()
    Console(file=out, width=100).print(render(work_out(with_panel(20.0)), demo=False))
    text = " ".join(out.getvalue().split())
    assert "With the panel of 20 W, on usual days" in text
    assert "panel, overcast" in text
    assert "the verdict counts on the battery alone" in text


def test_a_frozen_lithium_battery_gets_nothing_from_its_panel() -> None:
    """LiFePO4 is not charged below 0 C; lead is."""
    frost = replace(DEMO.weather, t_max_c=1.0, t_min_c=-9.0)
    for chemistry, frozen in (("lfp", True), ("flooded", False)):
        battery = replace(DEMO.battery, chemistry=chemistry)
        site = replace(with_panel(30.0), battery=battery, weather=frost)
        sun = sun_of(site)
        assert sun
        assert sun.frozen == frozen
        assert (sun.usual_ah == 0.0) == frozen


def test_the_nights_are_shown_in_the_weather_s_own_warmth_too() -> None:
    """IEEE 485: at -4 C a lead battery gives 1/1.52 of its rating, at 17 C 1/1.085."""
    frost = replace(DEMO, weather=replace(DEMO.weather, t_max_c=1.0, t_min_c=-9.0))
    cases = {case.name: case for case in nights_of(WorkingSite(frost)).cases}
    as_written, cold = cases["as in the site file"], cases["in this weather"]
    assert cold.usable_ah / as_written.usable_ah == pytest.approx(1.09 / 1.52, rel=0.02)
    assert cold.nights < as_written.nights
    usual = [case.name for case in nights_of(WorkingSite(DEMO)).cases]
    assert "in this weather" not in usual
