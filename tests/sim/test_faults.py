"""Every fault of the catalogue is felt by the plant, and none is felt that is not there."""

from dataclasses import replace

import pytest

from rillsim import timeline
from rillsim.faults import catalogue as faults
from rillsim.faults.catalogue import BY_NAME, CATALOGUE, UnknownFault, find
from rillsim.faults.fittings import board_with, needs_of
from rillsim.plant import Plant
from rillsim.site import FaultSpec, Site
from tests.sim.pumping import HOUR, faulty

SITE = Site()
NAMES = (
    "source_empty source_falling foot_valve_leak air_leak strainer_blocking outlet_shut "
    "hose_kinked hose_burst sprinkler_blocked nozzle_worn nozzle_gone pump_stalled motor_cut_out "
    "pump_worn "
    "weak_cell battery_tired battery_cold flat_battery battery_lifted thin_cable corroded_clamp "
    "over_voltage battery_channel_open "
    "battery_channel_short pressure_channel_open pressure_channel_short pressure_channel_stuck "
    "pressure_offset battery_offset channels_swapped relay_open relay_welded "
    "relay_bridged relay_inverted relay_chatter relay_worn "
    "second_relay_open second_relay_welded "
    "clock_lost clock_back clock_stopped clock_misread "
    "frost rain pressure_port_clogged meter_stuck "
    "current_channel_open current_channel_short current_offset"
).split()
# Shown without a pump that runs.
RESTING = set(
    (
        "foot_valve_leak flat_battery battery_lifted over_voltage battery_channel_open "
        "battery_channel_short pressure_channel_open pressure_channel_short channels_swapped "
        "pressure_offset battery_offset relay_bridged relay_inverted "
        "clock_lost clock_back clock_stopped "
        "clock_misread frost rain current_channel_short current_offset"
    ).split()
)


def with_fault(name: str) -> Site:
    """The site on which it can be felt, with the fault from the second minute on."""
    board = board_with(SITE.board, needs_of(name))
    return replace(SITE, board=board, faults=(faulty(name, 60.0),))


def two_nights(site: Site, pumping: bool = True) -> Plant:
    """Two nights of an hour, the fault from the second minute of the first one on."""
    plant = Plant(site, 1)
    for night in (1, 2):
        n = plant.timeline.night_n(night)
        plant.read(n - 1)
        if pumping:
            plant.drive(n - 1, plant.whole)
        # Ticks are read one by one for a while, as a board would.
        for tick in range(n, n + 2 * HOUR // 60):
            plant.read(tick)
        plant.read(n + HOUR)
        plant.drive(n + HOUR, 0)
        plant.read(n + HOUR + 100)
        plant.read(n + 3 * HOUR)
    return plant


def felt_n(plant: Plant) -> int | None:
    ((_, n),) = plant.felt
    return n


def test_the_catalogue_is_complete_and_said_in_sentences() -> None:
    assert [fault.name for fault in CATALOGUE] == NAMES
    for fault in CATALOGUE:
        assert fault.sentence.endswith(".")
        assert fault.severity_means


@pytest.mark.parametrize("name", NAMES)
def test_felt_at_severity_one(name: str) -> None:
    plant = two_nights(with_fault(name))
    n = felt_n(plant)
    assert n is not None
    assert n >= plant.timeline.night_n(1) + 600


@pytest.mark.parametrize("name", NAMES)
def test_not_felt_where_nothing_is_wrong(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same sign watches a plant in which the fault does not act."""
    idle = replace(BY_NAME[name], act=lambda conditions, severity: None)
    monkeypatch.setitem(faults.BY_NAME, name, idle)
    plant = two_nights(with_fault(name))
    assert felt_n(plant) is None


@pytest.mark.parametrize("name", sorted(set(NAMES) - RESTING))
def test_a_fault_of_pumping_is_not_felt_by_a_pump_that_never_ran(name: str) -> None:
    plant = two_nights(with_fault(name), pumping=False)
    assert felt_n(plant) is None


@pytest.mark.parametrize("name", sorted(RESTING))
def test_a_fault_of_rest_is_felt_at_rest(name: str) -> None:
    plant = two_nights(with_fault(name), pumping=False)
    assert felt_n(plant) is not None


def test_a_fault_that_has_not_begun_is_not_felt() -> None:
    plant = two_nights(replace(SITE, faults=(FaultSpec("outlet_shut", 3, 0.0),)))
    assert felt_n(plant) is None


def test_a_fault_may_end() -> None:
    plant = Plant(replace(SITE, faults=(faulty("outlet_shut", 60.0, duration_s=30.0),)))
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    flows = []
    for second in (59, 75, 200):
        plant.read(n + 10 * second)
        flows.append(plant.truth(n + 10 * second).flow_m3_s)
    assert flows[1] == 0.0
    assert flows[2] == pytest.approx(flows[0], rel=0.01)


def test_a_growing_fault_grows() -> None:
    plant = Plant(replace(SITE, faults=(faulty("strainer_blocking", 60.0, 0.9),)))
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    inlets = []
    for minute in (1, 20, 40, 60):
        plant.read(n + 600 * minute)
        inlets.append(plant.truth(n + 600 * minute).inlet_pa)
    assert inlets == sorted(inlets, reverse=True)
    assert inlets[0] - inlets[-1] > 5e3


@pytest.mark.parametrize("name", ["outlet_shut", "corroded_clamp", "pump_worn", "weak_cell"])
def test_half_a_fault_is_less_than_a_whole_one(name: str) -> None:
    def flow(severity: float) -> float:
        spec = faulty(name, 60.0, severity)
        plant = Plant(replace(SITE, faults=(spec,) if severity else ()))
        n = plant.timeline.night_n(1)
        plant.read(n)
        plant.drive(n, 1)
        plant.read(n + HOUR)
        return plant.truth(n + HOUR).flow_m3_s

    assert flow(0.0) > flow(0.5) > flow(1.0)


def test_faults_come_together() -> None:
    plant = two_nights(
        replace(SITE, faults=(faulty("corroded_clamp", 60.0), faulty("nozzle_gone", 90.0)))
    )
    assert [name for name, n in plant.felt if n is not None] == ["corroded_clamp", "nozzle_gone"]


def test_a_misspelt_name_gets_the_nearest_one() -> None:
    with pytest.raises(UnknownFault, match="did you mean outlet_shut"):
        find("outlet_shot")
    with pytest.raises(UnknownFault, match="is not a fault"):
        timeline.Timeline(replace(SITE, faults=(faulty("xyzzy"),)), 0)


# Growing over nights, and what the new faults do to the plant.


def night_of(site: Site, night: int = 1) -> tuple[Plant, int]:
    """A plant five minutes into a run, and the tick."""
    plant = Plant(site, 1)
    n = plant.timeline.night_n(night)
    plant.read(n)
    plant.drive(n, 1)
    n += HOUR // 12
    plant.read(n)
    return plant, n


def test_a_fault_grows_over_nights() -> None:
    spec = replace(faulty("strainer_blocking", 0.0, 0.9), grows_s=4 * 86400.0)
    plant = Plant(replace(SITE, faults=(spec,)), 1)
    inlets = []
    for night in (1, 2, 3, 4, 5, 6):
        n = plant.timeline.night_n(night)
        plant.read(n)
        plant.drive(n, 1)
        plant.read(n + HOUR // 12)
        inlets.append(plant.truth(n + HOUR // 12).inlet_pa)
        plant.drive(n + HOUR // 12, 0)
    assert inlets[:5] == sorted(inlets[:5], reverse=True)
    assert len(set(inlets[:5])) == 5
    assert inlets[5] == pytest.approx(inlets[4], rel=0.01)


def test_a_fault_that_grows_lets_the_plant_rest() -> None:
    spec = replace(faulty("nozzle_worn"), grows_s=4 * 86400.0)
    plant = Plant(replace(SITE, faults=(spec,)), 1)
    n = plant.timeline.night_n(1)
    plant.read(n + 10 * HOUR)
    assert plant.idle
    assert plant.next_event_tick() == n + 4 * 24 * HOUR + 1


def test_charge_that_goes_over_nights_is_gone_in_the_end() -> None:
    spec = replace(faulty("flat_battery", 0.0, 0.5), grows_s=2 * 86400.0)
    plant = Plant(replace(SITE, faults=(spec,)), 1)
    n = plant.timeline.night_n(1)
    plant.read(n + 24 * HOUR)
    half = plant.truth(n + 24 * HOUR).soc
    plant.read(n + 72 * HOUR)
    assert half == pytest.approx(1.0 - 0.95 * 0.25, abs=0.02)
    assert plant.truth(n + 72 * HOUR).soc == pytest.approx(1.0 - 0.95 * 0.5, abs=0.02)


def test_a_worn_nozzle_gives_more_water_at_less_pressure() -> None:
    plants = [night_of(replace(SITE, faults=given)) for given in ((), (faulty("nozzle_worn"),))]
    sound, worn = (plant.truth(n) for plant, n in plants)
    assert worn.flow_m3_s > 1.05 * sound.flow_m3_s
    assert worn.pressure_pa < 0.85 * sound.pressure_pa


def test_a_tired_battery_has_less_charge_and_sags_more() -> None:
    plants = [night_of(replace(SITE, faults=given)) for given in ((), (faulty("battery_tired"),))]
    sound, tired = (plant.truth(n) for plant, n in plants)
    assert tired.charge_ah < 0.7 * sound.charge_ah
    assert tired.board_v < sound.board_v - 0.1
    assert tired.rest_v < sound.rest_v


def test_a_cold_battery_has_less_charge_and_sags_more_and_warms_up_again() -> None:
    spec = faulty("battery_cold", duration_s=3600.0)
    plant, n = night_of(replace(SITE, faults=(spec,)))
    sound, m = night_of(SITE)
    warm, cold = sound.truth(m), plant.truth(n)
    assert cold.charge_ah < 0.95 * warm.charge_ah
    assert cold.board_v < warm.board_v - 0.02
    plant.drive(n, 0)
    sound.drive(m, 0)
    plant.read(n + 2 * HOUR)
    sound.read(m + 2 * HOUR)
    assert plant.truth(n + 2 * HOUR).charge_ah == pytest.approx(
        sound.truth(m + 2 * HOUR).charge_ah, rel=0.01
    )


def test_a_burnt_contact_takes_its_volts_behind_the_board() -> None:
    plants = [night_of(replace(SITE, faults=given)) for given in ((), (faulty("relay_worn"),))]
    (sound, n), (burnt, _) = plants
    assert burnt.truth(n).current_a < 0.95 * sound.truth(n).current_a
    assert burnt.truth(n).board_v > sound.truth(n).board_v, "less is drawn, so less is lost"
    heat = burnt.totals["contact_heat_j"] / sound.totals["contact_heat_j"]
    assert heat > 10.0


@pytest.mark.parametrize("severity", [1.0, -1.0])
@pytest.mark.parametrize(
    ("name", "channel", "counts"),
    [("pressure_offset", 1, 0.8 * 4096 * 0.04), ("battery_offset", 0, 4096 * 0.4 / 18.3)],
)
def test_a_drifted_channel_reads_beside_the_true_value(
    name: str, channel: int, counts: float, severity: float
) -> None:
    """40 kPa of 1 MPa over eight tenths of the converter; 0.4 V of 18.3 V."""
    sound, drifted = (
        Plant(replace(SITE, faults=given), 1) for given in ((), (faulty(name, 0.0, severity),))
    )
    n = sound.timeline.night_n(1) + 100
    off = drifted.read(n)[channel] - sound.read(n)[channel]
    assert off == pytest.approx(severity * counts, abs=2.0)
    assert drifted.truth(n) == sound.truth(n)
    assert felt_n(drifted) is not None


@pytest.mark.parametrize("name", [fault.name for fault in CATALOGUE if fault.needs])
def test_what_is_not_fitted_cannot_fail(name: str) -> None:
    assert felt_n(two_nights(replace(SITE, faults=(faulty(name, 60.0),)))) is None


def test_the_pump_runs_while_both_relays_are_closed() -> None:
    board = replace(SITE.board, second_relay_fitted=True)
    plant = Plant(replace(SITE, board=board), 1)
    n = 100
    seen = []
    for level in (0, 1, 0, 2, 3, 2, 0):
        plant.read(n)
        plant.drive(n, level)
        n += 50
        load_on = plant.read(n)[2]
        assert plant.pump_wired == bool(load_on) == (plant.truth(n).current_a > 0.0)
        seen.append(load_on)
    assert seen == [0, 0, 0, 0, 1, 0, 0]
