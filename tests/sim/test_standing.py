"""A source above the nozzle: water runs through the pump that stands."""

from dataclasses import replace
from typing import Any

import pytest

from rillsim.plant import Plant
from rillsim.site import FaultSpec, InputRange, LineSpec, Site, SuctionSpec, WaterSource
from rillsim.stepper import Stepper
from rillsim.water.operating_point import Plumbing
from rillsim.water.standing import OPENS_PA, flow_by_itself_m3_s, runs_by_itself
from tests.sim.pumping import HOUR

ABOVE = Site(water=WaterSource(lift_m=-3.0))
SIPHON = Site(line=LineSpec(rise_m=-4.0))
VALVE = SuctionSpec(stop_valve=True)


def sprinkled_m3(site: Site, hours: int) -> float:
    """Out of the nozzle of a plant that nobody switches on."""
    plant = Plant(site)
    plant.read(hours * HOUR)
    return plant.truth(hours * HOUR).sprinkled_m3


@pytest.mark.parametrize("site", [ABOVE, SIPHON])
def test_it_runs_by_day_at_the_steady_flow(site: Site) -> None:
    flow = flow_by_itself_m3_s(site, Plumbing(site))
    assert flow * 6e4 > 3.0
    day_m3 = sprinkled_m3(site, 24) - sprinkled_m3(site, 1)
    assert day_m3 == pytest.approx(flow * 23 * 3600.0, rel=1e-3)


@pytest.mark.parametrize("site", [ABOVE, SIPHON])
def test_a_valve_stops_it(site: Site) -> None:
    stopped = replace(site, suction=VALVE)
    assert runs_by_itself(site)
    assert not runs_by_itself(stopped)
    assert flow_by_itself_m3_s(stopped, Plumbing(stopped)) == 0.0
    assert sprinkled_m3(stopped, 24) == pytest.approx(0.0, abs=1e-6)


def test_what_the_springs_hold_still_wants_a_valve() -> None:
    """They hold half a metre in the plant; the verdict does not reckon with them."""
    little = Site(water=WaterSource(lift_m=-1.4), line=LineSpec(rise_m=1.0))
    assert flow_by_itself_m3_s(little, Plumbing(little)) == 0.0
    assert runs_by_itself(little)
    more = replace(little, water=WaterSource(lift_m=-1.6))
    assert flow_by_itself_m3_s(more, Plumbing(more)) > 0.0


def test_the_highest_water_of_a_range_counts() -> None:
    site = Site(water=WaterSource(lift_m=0.5), line=LineSpec(rise_m=0.0))
    assert not runs_by_itself(site)
    assert runs_by_itself(replace(site, ranges=(InputRange("water.lift", -0.5, 1.5),)))


def test_a_shut_outlet_holds_what_the_source_presses() -> None:
    shut = replace(ABOVE, faults=(FaultSpec("outlet_shut", 1, 0.0),))
    plant = Plant(shut)
    n = plant.timeline.night_n(1) + HOUR
    plant.read(n)
    pressed_pa = -plant.rig.circuit.lift_pa - OPENS_PA
    assert plant.truth(n).pressure_pa == pytest.approx(pressed_pa, rel=0.01)
    assert plant.idle


def test_a_trickle_through_valves_that_just_open_is_steady(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No longer a valve that is open in one tick and shut in the next, all day long."""
    steps = 0
    take = Stepper.step

    def counted(self: Stepper, *args: Any) -> Any:
        nonlocal steps
        steps += 1
        return take(self, *args)

    monkeypatch.setattr(Stepper, "step", counted)
    trickle = Site(water=WaterSource(lift_m=-1.512), line=LineSpec(rise_m=1.0))
    flow = flow_by_itself_m3_s(trickle, Plumbing(trickle))
    assert 1.0 < flow * 3.6e6 < 10.0, "litres in an hour"
    day_m3 = sprinkled_m3(trickle, 24) - sprinkled_m3(trickle, 1)
    assert day_m3 == pytest.approx(flow * 23 * 3600.0, rel=0.1), "of 20 Pa"
    assert steps < 5000
