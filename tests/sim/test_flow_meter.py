"""The flow meter's pulses: litres by the plant's own ledger, and none where no water passes."""

from dataclasses import replace

import pytest

from rillsim.boards.flowpulses import SPREAD, FlowPulses
from rillsim.plant import Plant
from rillsim.site import BoardSpec, LineSpec, Site, SuctionSpec
from rillsim.water.meter_wheel import STANDS_BELOW_M3_S
from tests.sim.pumping import HOUR, MINUTE, faulty, pump

BOARD = BoardSpec(flow_fitted=True)
SITE = Site(board=BOARD)
PER_L = 450


def exact(site: Site = SITE) -> Plant:
    """A plant whose meter is as its sheet says."""
    plant = Plant(site, 1)
    plant.sensors.be_exact()
    return plant


def pulses(plant: Plant, n: int, ticks: int) -> list[int]:
    """All that have come so far, at each tick of a run from tick ``n`` on."""
    return [counts[6] for _, counts in pump(plant, n, ticks)]


def litres(plant: Plant) -> float:
    """What the nozzle has given and the hose holds more than at rest: what has passed the pump."""
    held_m3 = plant.rig.line.compliance_m3_pa
    held_m3 *= plant.present.pressure_pa - plant.rig.line.static_pa
    return 1e3 * (plant.totals["sprinkled_m3"] + plant.totals["burst_m3"] + held_m3)


def test_a_site_without_a_meter_has_no_such_count() -> None:
    assert len(Plant(Site(), 1).read(0)) == 6
    assert Plant(Site(), 1).totals["metered_m3"] == 0.0


@pytest.mark.parametrize("per_l", [450.0, 1.0, 4000.0])
def test_pulses_are_litres(per_l: float) -> None:
    """Every whole pulse volume that has passed has given its pulse, tick by tick."""
    plant = exact(replace(SITE, board=replace(BOARD, flow_pulses_per_l=per_l)))
    come = pulses(plant, 100, 2 * MINUTE)
    last = come[-1]
    assert come == sorted(come)
    assert plant.present.n == 100 + 2 * MINUTE
    assert last == pytest.approx(litres(plant) * per_l, abs=1.0)
    assert last > 30.0 * per_l, "two minutes of this pump are 30 litres and more"


def test_a_long_step_counts_as_the_short_ones_do() -> None:
    """Whoever looks seldom is told as much as who looks ten times a second."""
    often, seldom = exact(), exact()
    for plant, ticks in ((often, 1), (seldom, 10 * MINUTE)):
        plant.read(100)
        plant.drive(100, 1)
        for n in range(100 + ticks, 101 + 10 * MINUTE, ticks):
            plant.read(n)
    assert often.read(100 + 10 * MINUTE)[6] == seldom.read(100 + 10 * MINUTE)[6] > 60000


def test_nothing_passes_a_pump_that_stands() -> None:
    plant = exact()
    pulses(plant, 100, MINUTE)
    n = 100 + MINUTE
    stopped = plant.read(n + 50)[6]
    assert plant.read(n + HOUR)[6] == stopped > 6000
    assert stopped / PER_L == pytest.approx(1e3 * plant.totals["sprinkled_m3"], rel=5e-3)


def test_what_runs_through_a_standing_pump_turns_the_wheel() -> None:
    """A source above the nozzle, a pond on a hill: all that comes out has passed the meter."""
    site = replace(
        SITE,
        water=replace(SITE.water, lift_m=-8.0),
        line=LineSpec(rise_m=-4.0),
        suction=SuctionSpec(),
    )
    plant = exact(site)
    plant.read(1)
    before = plant.read(HOUR)[6], plant.totals["sprinkled_m3"]
    after = plant.read(2 * HOUR)[6], plant.totals["sprinkled_m3"]
    passed_m3 = after[1] - before[1]
    assert passed_m3 > 3600.0 * STANDS_BELOW_M3_S
    assert after[0] - before[0] == pytest.approx(passed_m3 * 1e3 * PER_L, rel=1e-3)


def test_a_trickle_does_not_turn_it() -> None:
    """A tap all but shut: less than a wheel needs to begin."""
    plant = exact(replace(SITE, faults=(faulty("outlet_shut", 0.0, 0.995),)))
    n = plant.timeline.night_n(1)
    begun = pulses(plant, n, MINUTE)[-1]
    plant.drive(n + MINUTE, 1)
    plant.read(n + 2 * MINUTE)
    trickle_m3_s = plant.truth(n + 2 * MINUTE).pumped_m3_s
    assert 0.0 < trickle_m3_s < STANDS_BELOW_M3_S
    assert plant.read(n + 3 * MINUTE)[6] <= begun + 20


def test_a_dry_pump_gives_none() -> None:
    plant = exact(replace(SITE, faults=(faulty("source_empty", 10.0),)))
    n = plant.timeline.night_n(1)
    dry = pulses(plant, n, 2 * MINUTE)[-1]
    assert 0 < dry < 2 * MINUTE / 10 * PER_L
    plant.drive(n + 2 * MINUTE, 1)
    plant.read(n + 4 * MINUTE)
    assert plant.truth(n + 4 * MINUTE).current_a > 0.0
    assert plant.read(n + 4 * MINUTE)[6] == dry


def test_a_meter_is_beside_its_sheet_by_a_few_percent() -> None:
    volumes = [FlowPulses(BOARD, seed).pulse_m3 * 1e3 * PER_L for seed in range(200)]
    assert max(abs(volume - 1.0) for volume in volumes) == pytest.approx(2.0 * SPREAD)
    assert len(set(volumes)) > 180
    assert sum(volumes) / len(volumes) == pytest.approx(1.0, abs=5e-3)
    assert exact().sensors.meter.pulse_m3 == pytest.approx(1e-3 / PER_L)  # type: ignore[union-attr]
