"""The same seed gives the same bytes, whatever is read, and whenever."""

from dataclasses import replace

import pytest

from rillsim.plant import Plant
from rillsim.site import BatteryTrip, Site
from tests.sim.pumping import FULLY_FITTED, HOUR, faulty

PINS = ((HOUR, 1), (HOUR + 7777, 0), (2 * HOUR, 1), (2 * HOUR + 3, 0), (2 * HOUR + 9, 1))
RAIN_S = ((1200.0, 1500.0), (4000.0, 9000.0))
ODD = (1, 17, 599, 600, 11999, 12000, 12001, HOUR - 1, HOUR, HOUR + 1, HOUR + 50)

EVENTFUL = replace(
    FULLY_FITTED,
    water=replace(FULLY_FITTED.water, fall_m_per_day=0.4),
    battery_trips=(BatteryTrip(0, 12 * 3600 + 9500, 12 * 3600 + 9900),),
    faults=(
        faulty("hose_kinked", -34000.0, 0.4),
        faulty("foot_valve_leak", -33000.0),
        faulty("pressure_channel_stuck", -31000.0, 0.5, duration_s=300.0),
        faulty("relay_chatter", -28810.0, 0.3, duration_s=20.0),
    ),
)


def record(site: Site, seed: int, asked: range | tuple[int, ...], codes: str = "ideal") -> dict:
    """Counts of the asked ticks, with the pin driven as ``PINS`` says."""
    plant = Plant(site, seed, rain_s=RAIN_S, codes=codes)
    levels = dict(PINS)
    seen = {}
    for n in sorted({*asked, *levels}):
        seen[n] = tuple(plant.read(n))
        if n in levels:
            plant.drive(n, levels[n])
    return seen


METERED = replace(EVENTFUL, board=replace(EVENTFUL.board, flow_fitted=True))


@pytest.mark.parametrize(
    "site", [FULLY_FITTED, EVENTFUL, METERED], ids=["calm", "eventful", "metered"]
)
def test_stepping_over_equals_ticking_through(site: Site) -> None:
    every = record(site, 5, range(3 * HOUR))
    some = record(site, 5, ODD + tuple(range(0, 3 * HOUR, 997)))
    assert some == {n: every[n] for n in some}
    few = record(site, 5, (3 * HOUR - 1,))
    assert few == {n: every[n] for n in few}


def test_reading_twice_changes_nothing() -> None:
    plant, other = Plant(EVENTFUL, 2), Plant(EVENTFUL, 2)
    for n in range(0, 9000, 3):
        first = list(plant.read(n))
        assert first == plant.read(n) == other.read(n)
        plant.truth(n)


def test_the_seed_decides() -> None:
    asked = tuple(range(HOUR, HOUR + 300))
    assert record(EVENTFUL, 1, asked) == record(EVENTFUL, 1, asked)
    assert record(EVENTFUL, 1, asked) != record(EVENTFUL, 2, asked)


def test_the_pin_before_a_change_is_all_that_counts() -> None:
    """A step that was cut short by the pin goes on as if it had been planned so."""
    cut = Plant(FULLY_FITTED, 1)
    cut.read(0)
    cut.drive(0, 1)
    for n in range(1, 5003):
        cut.read(n)
    cut.drive(5002, 0)
    cut.read(5003)
    planned = Plant(FULLY_FITTED, 1)
    planned.read(0)
    planned.drive(0, 1)
    planned.read(5002)
    planned.drive(5002, 0)
    planned.read(5003)
    assert cut.truth(5003) == planned.truth(5003)


def test_the_past_cannot_be_changed() -> None:
    plant = Plant(FULLY_FITTED, 1)
    plant.read(HOUR)
    plant.drive(HOUR, 1)
    plant.read(HOUR + 100)
    with pytest.raises(ValueError, match="tick 5 is over"):
        plant.drive(5, 0)


def test_next_event_is_where_something_changes() -> None:
    plant = Plant(FULLY_FITTED, 1, rain_s=RAIN_S)
    plant.read(1)
    assert plant.idle
    assert plant.next_event_tick() == 12001
    before = plant.read(12000)[3]
    assert (before, plant.read(12001)[3]) == (0, 1)
    plant.drive(12001, 1)
    plant.read(12002)
    assert plant.next_event_tick() > 12002
    assert not plant.idle
