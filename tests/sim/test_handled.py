"""Hands on a plant: what they shut is shut, what they pull is off, and what is seen there."""

from dataclasses import replace

import pytest

from keeper.relay import FIRST
from rillkeeper.site.file import demo_site
from rillsim.boards.sensors import CURRENT, FROST, OPEN, PRESSURE
from rillsim.faults.conditions import Conditions
from rillsim.handled import ICE_C, OVER_ALL, Handled, HandledPlant
from rillsim.plant import SENSE_V, Plant
from rillsim.site import Site

RUN_N = 300


@pytest.fixture(scope="module")
def site() -> Site:
    """The demonstration site, of which nothing goes wrong by itself."""
    return replace(demo_site(), faults=(), battery_trips=())


def pumping(site: Site) -> HandledPlant:
    """A pump that has run for half a minute."""
    plant = HandledPlant(site, 1)
    plant.read(10)
    plant.drive(10, FIRST)
    for n in range(11, RUN_N + 1):
        plant.read(n)
    return plant


def later(plant: HandledPlant, ticks: int) -> list[int]:
    counts: list[int] = []
    for n in range(RUN_N, RUN_N + ticks + 1):
        counts = list(plant.read(n))
    return counts


def test_a_plant_that_nobody_touches_is_a_plant(site: Site) -> None:
    plain, handled = Plant(site, 1), HandledPlant(site, 1)
    for plant in (plain, handled):
        plant.read(10)
        plant.drive(10, FIRST)
    for n in range(11, 400):
        assert list(plain.read(n)) == list(handled.read(n))
    handled.handle(400, Handled())
    assert list(plain.read(401)) == list(handled.read(401))


def test_hands_lie_over_what_goes_wrong_by_itself() -> None:
    """A tap half shut behind an outlet half blocked; nothing done leaves all as it is."""
    assert Handled().over(Conditions(open_share=0.5)) == Conditions(open_share=0.5)
    now = Handled(tap=0.5, iced=True, exchanged=True).over(
        Conditions(open_share=0.5, air_c=-4.0, channels_swapped=True)
    )
    assert (now.open_share, now.air_c, now.channels_swapped) == (0.25, -4.0, False)
    assert Handled(meter_out=True).over(Conditions()).meter_held == 1.0
    assert Handled(iced=True).over(Conditions()).air_c == ICE_C
    assert Handled(unplugged=frozenset({FROST})).over(Conditions()).wiring == {FROST: (OPEN, 1.0)}


def test_a_shut_tap_raises_the_pressure_and_an_open_tee_lets_it_go(site: Site) -> None:
    plant = pumping(site)
    before_pa = plant.truth(RUN_N).pressure_pa
    plant.handle(RUN_N, Handled(tap=0.0))
    later(plant, 10)
    shut_pa = plant.truth(RUN_N + 10).pressure_pa
    assert shut_pa > 1.5 * before_pa
    plant.handle(RUN_N + 10, Handled(tee=1.0))
    for n in range(RUN_N + 10, RUN_N + 60):
        plant.read(n)
    assert plant.truth(RUN_N + 59).pressure_pa < 0.7 * before_pa


def test_the_hand_switch_is_behind_the_boards_own_feed(site: Site) -> None:
    """README: the hand switch stops the pump whatever the relay does; the board stays awake."""
    plant = pumping(site)
    plant.handle(RUN_N, Handled(switched_off=True))
    counts = later(plant, 2)
    assert not plant.rig.circuit.closed
    assert counts[0] == 0
    assert counts[2] == 0
    assert plant.board_powered
    behind = replace(site, board=replace(site.board, own_fuse=False))
    dark = pumping(behind)
    dark.handle(RUN_N, Handled(switched_off=True))
    assert not dark.board_powered


def test_a_cable_feeds_the_board_and_never_the_relay(site: Site) -> None:
    plant = pumping(site)
    plant.attach(RUN_N, True)
    plant.handle(RUN_N, Handled(battery_off=True))
    later(plant, 2)
    assert plant.board_powered
    assert not plant.contact.closed, "its coil hangs on the battery"
    plant.attach(RUN_N + 2, False)
    assert not plant.board_powered
    plant.attach(RUN_N + 2, True)
    assert plant.board_powered
    plant.handle(RUN_N + 2, Handled(battery_off=True, power_out=True))
    assert not plant.board_powered, "fuse and cable are both out"


def test_an_unplugged_pump_leaves_the_relay_live(site: Site) -> None:
    plant = pumping(site)
    plant.handle(RUN_N, Handled(pump_out=True))
    counts = later(plant, 2)
    assert plant.truth(RUN_N + 2).current_a == 0.0
    assert plant.truth(RUN_N + 2).board_v > SENSE_V
    assert counts[2] == 1
    plant.handle(RUN_N + 2, Handled(pump_out=True, sense_out=True))
    assert plant.read(RUN_N + 3)[2] == 0


def test_a_transducer_off_the_line_reads_what_it_is_held_to(site: Site) -> None:
    plant = pumping(site)
    plant.handle(RUN_N, Handled(transducer_pa=40e3))
    counts = later(plant, 1)
    assert counts[1] == pytest.approx(plant.sensors.expected(PRESSURE, 40e3), abs=1.5)
    off = Handled(transducer_pa=40e3, unplugged=frozenset({PRESSURE, CURRENT}))
    plant.handle(RUN_N + 1, off)
    assert plant.read(RUN_N + 2)[1] == 0


def test_a_lead_over_the_relay_starts_the_pump_and_does_not_click(site: Site) -> None:
    plant = HandledPlant(site, 1)
    plant.read(10)
    plant.handle(10, Handled(lead=OVER_ALL))
    assert [words for _, words in plant.seen] == ["the pump starts"]
    plant.handle(20, Handled())
    assert [words for _, words in plant.seen] == ["the pump starts", "the pump falls silent"]


def test_what_is_seen_is_in_its_order(site: Site) -> None:
    plant = pumping(site)
    plant.drive(RUN_N, 0)
    assert list(plant.seen) == [
        (10, "the relay clicks and is closed"),
        (10, "the pump starts"),
        (RUN_N, "the relay clicks and is open"),
        (RUN_N, "the pump falls silent"),
    ]


def test_a_charged_battery_and_a_new_fuse_go_into_the_books(site: Site) -> None:
    """What was brought is in the ledger, so that charge does not come from nowhere."""
    plant = pumping(site)
    before_ah = plant.truth(RUN_N).charge_ah
    plant.handle(RUN_N, Handled(battery_off=True))
    plant.bring_battery(RUN_N + 1, 1.0)
    assert not plant.handled.battery_off
    plant.read(RUN_N + 2)
    assert plant.truth(RUN_N + 2).charge_ah > before_ah
    assert plant.totals["battery_swap_as"] > 0.0
    plant.rig.fuse_blown = True
    plant.renew_fuse(RUN_N + 3)
    assert not plant.rig.fuse_blown
