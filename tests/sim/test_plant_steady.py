"""The plant in its settled states, and how fast it gets there."""

from dataclasses import replace
from itertools import pairwise
from math import log

import pytest

from rillsim.circuit import RELIEF_OPENS, RELIEF_PASSES_ALL
from rillsim.plant import Plant
from rillsim.site import BatterySpec, BatteryTrip, PumpSheet, Site
from rillsim.water.operating_point import Plumbing, Supply, operating_point
from rillsim.water.pump import fit_pump
from tests.sim.pumping import HOUR, faulty, pump_to_end, truths

SITE = Site(battery=BatterySpec(box_s=0.0))
"""The battery stays as warm as it is: what is compared is not to hang on the hour."""
SITES = {
    "as sold": SITE,
    "thin suction": replace(SITE, suction=replace(SITE.suction, bore_m=0.0127, length_m=6.1)),
    "small nozzle": replace(SITE, sprinkler=replace(SITE.sprinkler, nozzle_bore_m=0.003)),
    "thin hose": replace(SITE, line=replace(SITE.line, bore_m=0.0127)),
    "long cable": replace(SITE, cable=replace(SITE.cable, length_m=12.0, area_m2=2.5e-6)),
    "AGM": replace(SITE, battery=replace(SITE.battery, chemistry="agm")),
    "LFP": replace(SITE, battery=replace(SITE.battery, chemistry="lfp")),
}


@pytest.mark.parametrize("site", SITES.values(), ids=SITES)
def test_a_settled_plant_is_at_the_operating_point(site: Site) -> None:
    plant = Plant(site)
    truth = pump_to_end(plant, 0, HOUR // 10)
    rig = plant.rig
    supply = Supply(
        truth.emf_v - site.board.awake_a * (rig.circuit.battery_ohm + rig.wiring_ohm),
        rig.circuit.battery_ohm,
        rig.wiring_ohm + rig.circuit.contact_ohm,
    )
    point = operating_point(Plumbing(site), fit_pump(site.pump), supply)
    assert truth.flow_m3_s == pytest.approx(point.flow_m3_s, rel=2e-4)
    assert truth.pressure_pa == pytest.approx(point.pump_pa, rel=5e-4)
    assert truth.inlet_pa == pytest.approx(point.inlet_pa, rel=5e-4)
    assert truth.current_a == pytest.approx(point.current_a, rel=2e-4)
    assert truth.throw_m == pytest.approx(point.throw_m, rel=5e-4)


@pytest.mark.parametrize("share", [0.05, 0.03, 0.01, 0.004, 0.0015])
def test_a_tap_all_but_shut_at_once_lets_through_what_its_opening_does(share: float) -> None:
    """A square law as stiff as that threw the flow to and fro, each time farther.

    What passes is the flow of the open nozzle by the root of the pressures and the opening.
    """
    plant = Plant(replace(SITE, faults=(faulty("outlet_shut", 60.0, 1.0 - share),)))
    begins = plant.timeline.night_n(1)
    plant.read(begins)
    plant.drive(begins, 1)
    seen = list(truths(plant, begins + 10, 1800))
    static = plant.rig.line.static_pa
    before = seen[580]
    for shut in (seen[660], seen[1200], seen[-1]):
        root = ((shut.hose_pa - static) / before.nozzle_pa) ** 0.5
        assert shut.flow_m3_s == pytest.approx(share * root * before.flow_m3_s, rel=3e-3)


def test_pressure_rises_within_seconds_of_a_start() -> None:
    """The time constant of hose and nozzle, C 2 p / Q linearised, is near two seconds here."""
    plant = Plant(SITE)
    plant.read(0)
    plant.drive(0, 1)
    seen = list(truths(plant, 1, 200))
    settled, start = seen[-1].pressure_pa, SITE.line.rise_m * 9.80665 * 999.1
    half = next(t.n for t in seen if t.pressure_pa - start > 0.5 * (settled - start)) / 10.0
    tenth = next(t.n for t in seen if t.pressure_pa - start > 0.9 * (settled - start)) / 10.0
    assert 0.3 < half < 3.0
    assert half < tenth < 8.0


def test_pressure_falls_to_the_static_head_after_a_stop() -> None:
    plant = Plant(SITE)
    pump_to_end(plant, 0, HOUR // 60)
    seen = list(truths(plant, HOUR // 60 + 1, 300))
    static = plant.rig.line.static_pa
    assert seen[0].pressure_pa > 10.0 * static
    assert seen[40].pressure_pa < 1.1 * static
    assert seen[-1].pressure_pa == pytest.approx(static, abs=30.0)
    assert plant.idle


def test_dead_head_climbs_with_the_pump_filling_the_hose() -> None:
    """dp/dt = Q / C at once (Wylie and Streeter, lumped capacitance), then slower and slower: the
    mean of the hose. What a wave does beside it: tests/published/test_snapped_tap.py."""
    plant = Plant(replace(SITE, faults=(faulty("outlet_shut", 60.0),)))
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + 600)
    before = plant.truth(n + 600)
    seen = list(truths(plant, n + 601, 600))
    rate = before.pumped_m3_s / plant.rig.line.compliance_m3_pa
    assert seen[0].hose_pa - before.hose_pa == pytest.approx(0.1 * rate, rel=0.03)
    seconds = [t.hose_pa for t in seen[:31:10]]
    rises = [b - a for a, b in pairwise(seconds)]
    assert all(0.0 < later < earlier for earlier, later in pairwise(rises))
    assert seen[20].pressure_pa > 2.0 * before.pressure_pa
    assert seen[20].flow_m3_s == 0.0
    rating = SITE.pump.max_pressure_pa
    assert RELIEF_OPENS * rating < seen[-1].pressure_pa < RELIEF_PASSES_ALL * rating
    plant.drive(n + 1201, 0)
    shut = list(truths(plant, n + 1202, 600))
    assert shut[-1].pressure_pa > 0.5 * shut[0].pressure_pa, "the pump's valves hold the pressure"


def test_the_pressure_switch_of_a_pump_stops_a_dead_head() -> None:
    sheet = replace(PumpSheet(), pressure_switch=True)
    plant = Plant(replace(SITE, pump=sheet, faults=(faulty("outlet_shut", 60.0),)))
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + 600)
    seen = list(truths(plant, n + 601, 3000))
    top = max(t.hose_pa for t in seen)
    assert sheet.shutoff_pa <= top < 1.05 * sheet.shutoff_pa
    assert seen[-1].current_a == 0.0
    off = [t for t in seen if t.current_a == 0.0]
    assert len(off) > 2000
    assert all(t.hose_pa < 1.05 * sheet.shutoff_pa for t in off)


def test_a_held_pressure_leaks_down_exponentially() -> None:
    plant = Plant(replace(SITE, faults=(faulty("outlet_shut", 60.0),)))
    n = plant.timeline.night_n(1)
    pump_to_end(plant, n, 615)
    seen = list(truths(plant, n + 750, 2 * HOUR, HOUR))
    static = plant.rig.line.static_pa
    first, second, third = (t.pressure_pa - static for t in seen)
    assert first > second > third > 0.0
    assert log(first / second) == pytest.approx(log(second / third), rel=1e-6)


def test_a_pump_that_draws_air_runs_free_and_the_spray_dies() -> None:
    plant = Plant(replace(SITE, faults=(faulty("source_empty", 60.0),)))
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + 600)
    before = plant.truth(n + 600)
    seen = list(truths(plant, n + 601, 300))
    dry = next(t for t in seen if t.pumped_m3_s == 0.0)
    in_line_s = 0.9 * plant.rig.suction.volume_m3 / before.flow_m3_s
    assert (dry.n - n - 600) / 10.0 == pytest.approx(in_line_s, abs=0.3)
    assert dry.current_a < 0.6 * before.current_a
    assert dry.board_v > before.board_v + 0.1
    assert seen[-1].pressure_pa == pytest.approx(plant.rig.line.static_pa, abs=100.0)
    assert seen[-1].flow_m3_s < 0.01 * before.flow_m3_s


def prime_s(site: Site, limit_s: float = 300.0) -> float | None:
    """Seconds from the start until the pump has water; None where it never gets any."""
    plant = Plant(site)
    n = plant.timeline.night_n(1)
    plant.read(n)
    assert plant.truth(n).filled_share < 0.01, "the line must have drained"
    plant.drive(n, 1)
    for truth in truths(plant, n + 1, int(10 * limit_s)):
        if truth.pumped_m3_s > 0.0:
            return (truth.n - n) / 10.0
    return None


DRAINED = faulty("foot_valve_leak", -9 * 3600.0)


def drained(lift_m: float, dry_lift_m: float = 2.0, *more: str) -> Site:
    faults = (DRAINED, *(faulty(name, -1.0) for name in more))
    return replace(
        SITE,
        water=replace(SITE.water, lift_m=lift_m),
        pump=replace(SITE.pump, dry_lift_m=dry_lift_m),
        faults=faults,
    )


def test_a_drained_line_is_primed_and_takes_longer_the_higher_it_lifts() -> None:
    low, high = prime_s(drained(0.5)), prime_s(drained(1.8))
    assert low is not None
    assert high is not None
    volume_s = 3.0 * 2.835e-4 / (20.8e-3 / 60.0)
    assert 0.7 * volume_s < low < high < 10.0 * volume_s


def test_prime_fails_beyond_the_dry_lift() -> None:
    assert prime_s(drained(1.9)) is not None
    assert prime_s(drained(2.1)) is None


def test_prime_fails_with_an_air_leak_larger_than_the_pump_can_carry() -> None:
    assert prime_s(drained(1.5)) is not None
    assert prime_s(drained(1.5, 2.0, "air_leak")) is None


def test_a_leaking_foot_valve_drains_the_line_within_hours() -> None:
    plant = Plant(replace(SITE, faults=(faulty("foot_valve_leak", -9 * 3600.0, 0.5),)))
    n = plant.timeline.night_n(1)
    shares = []
    for hour in range(10):
        plant.read(n - 9 * HOUR + hour * HOUR + 1)
        shares.append(plant.truth(n - 9 * HOUR + hour * HOUR + 1).filled_share)
    assert shares[0] == pytest.approx(1.0, abs=1e-3)
    assert all(later < earlier for earlier, later in pairwise(shares[:3]))
    assert shares[-1] == 0.0


def test_a_line_without_a_foot_valve_drains_after_each_run() -> None:
    plant = Plant(replace(SITE, suction=replace(SITE.suction, foot_valve="none")))
    pump_to_end(plant, 0, 600)
    plant.read(600 + 1200)
    assert plant.truth(600 + 1200).filled_share < 0.5


def test_a_battery_that_is_away_takes_the_board_with_it() -> None:
    plant = Plant(replace(SITE, faults=(faulty("battery_lifted", 60.0, duration_s=600.0),)))
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + 600)
    assert plant.board_powered
    assert plant.read(n + 610)[2] == 0
    assert not plant.board_powered
    assert plant.truth(n + 610).board_v == 0.0
    plant.drive(n + 610, 1)
    plant.read(n + 6000)
    assert plant.truth(n + 6000).current_a == 0.0
    plant.read(n + 6610)
    assert plant.board_powered
    assert plant.truth(n + 6610).current_a == 0.0, "the pin is low after a start"


def test_a_stalled_pump_draws_its_stall_current() -> None:
    plant = Plant(replace(SITE, faults=(faulty("pump_stalled", 60.0),)))
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + 601)
    truth = plant.truth(n + 601)
    circuit = plant.rig.circuit
    ohm = circuit.battery_ohm + circuit.wiring_ohm + circuit.contact_ohm + circuit.pump.winding_ohm
    assert truth.current_a == pytest.approx(truth.emf_v / ohm, rel=0.01)
    assert truth.pumped_m3_s <= 0.0


def test_a_battery_that_comes_back_from_home_is_full() -> None:
    plant = Plant(replace(SITE, battery_trips=(BatteryTrip(1, 9 * 3600, 17 * 3600),)))
    n = plant.timeline.night_n(1)
    used = pump_to_end(plant, n, HOUR)
    nine = n + 11 * HOUR
    assert plant.read(nine)[0] > 2500
    assert plant.read(nine + 1)[0] < 100
    assert not plant.board_powered
    back = nine + 8 * HOUR
    plant.read(back + 1)
    assert plant.board_powered
    assert plant.truth(back + 1).soc > 0.9999 > used.soc + 0.1


def test_a_battery_may_come_back_late_and_half_charged() -> None:
    """At half past eleven, when the night's set of ten should have begun."""
    trip = BatteryTrip(1, 9 * 3600, 23 * 3600 + 1800, charged=0.5)
    plant = Plant(replace(SITE, battery_trips=(trip,)))
    full_ah = plant.truth(0).charge_ah
    back = plant.timeline.night_n(1) + 25 * HOUR + HOUR // 2
    plant.read(back - 1)
    assert not plant.board_powered
    plant.read(back + 1)
    assert plant.board_powered
    assert plant.truth(back + 1).charge_ah == pytest.approx(0.5 * full_ah, rel=1e-3)


def test_another_nozzle_is_fitted_while_the_pump_rests() -> None:
    """From then on the plant is as one that had it from the start; the battery stays."""
    small = replace(SITE, sprinkler=replace(SITE.sprinkler, nozzle_bore_m=3.5e-3))
    fitted, other = Plant(SITE, 1), Plant(small, 1)
    n = fitted.timeline.night_n(1)
    used = pump_to_end(fitted, n, HOUR)
    fitted.read(n + 2 * HOUR)
    fitted.fit(n + 2 * HOUR, small)
    assert fitted.truth(n + 2 * HOUR).charge_ah == pytest.approx(used.charge_ah, rel=1e-3)
    again = pump_to_end(fitted, n + 24 * HOUR, HOUR)
    sound = pump_to_end(other, n, HOUR)
    assert again.flow_m3_s < 0.9 * used.flow_m3_s
    assert again.flow_m3_s == pytest.approx(sound.flow_m3_s, rel=0.03)


def test_too_thin_a_cable_takes_the_board_down_and_up_again() -> None:
    cord = replace(SITE.cable, length_m=30.0, area_m2=0.82e-6)
    plant = Plant(replace(SITE, cable=cord))
    plant.read(0)
    plant.drive(0, 1)
    powered = []
    for n in range(1, 50):
        plant.read(n)
        powered.append(plant.board_powered)
    assert not powered[0] or not powered[1]
    assert powered[-1], "without the pump's current the voltage is back"
    assert plant.truth(49).current_a == 0.0


def test_the_pump_without_current_shows_the_same_voltage_at_both_ends_of_a_bad_cable() -> None:
    cord = replace(SITE.cable, length_m=30.0, area_m2=0.82e-6)
    plant = Plant(replace(SITE, cable=cord))
    plant.read(0)
    truth = plant.truth(0)
    assert truth.board_v == pytest.approx(truth.emf_v, abs=0.01)
