"""The main fuse: its operating times, and what a plant does with a blown one."""

from dataclasses import replace

import pytest

from rillsim.accounts import charge_account
from rillsim.plant import Plant
from rillsim.site import BatteryTrip, BoardSpec, CableSpec, FaultSpec, Site
from rillsim.supply.fuse import COLD, Fuse
from tests.sim.pumping import HOUR, faulty

# ISO 8820-3, blade type fuse-links, operating times; SAE J1284 has the same (from memory).
TIMES_S = [(1.35, 0.75, 600.0), (2.0, 0.15, 5.0), (3.5, 0.04, 0.5), (6.0, 0.02, 0.1)]


def melting_s(rating_a: float, over: float, dt_s: float = 0.001) -> float:
    """Time to melt at so many times the rating, in small steps."""
    fuse = Fuse(rating_a)
    warmth = COLD
    for step in range(1, 10**6):
        warmth = fuse.after(warmth, (over * rating_a) ** 2, dt_s)
        if fuse.melted(warmth):
            return step * dt_s
    raise AssertionError("it does not melt")


@pytest.mark.published
@pytest.mark.parametrize("rating_a", [1.0, 10.0, 25.0, 40.0])
@pytest.mark.parametrize(("over", "shortest_s", "longest_s"), TIMES_S)
def test_operating_times(
    rating_a: float, over: float, shortest_s: float, longest_s: float
) -> None:
    assert shortest_s <= melting_s(rating_a, over) <= longest_s


@pytest.mark.published
def test_a_tenth_over_its_rating_is_carried_for_a_hundred_hours() -> None:
    """ISO 8820-3 (from memory)."""
    fuse = Fuse(25.0)
    assert not fuse.melted(fuse.after(COLD, 27.5**2, 360000.0))


def test_a_great_current_melts_it_by_its_integral() -> None:
    """Twice the current takes a quarter of the time."""
    assert melting_s(25.0, 12.0, 1e-5) == pytest.approx(melting_s(25.0, 24.0, 1e-5) * 4, rel=0.05)


def test_steps_do_not_matter() -> None:
    fuse = Fuse(25.0)
    warmth = COLD
    for _ in range(100):
        warmth = fuse.after(warmth, 1600.0, 0.1)
    assert warmth == pytest.approx(fuse.after(COLD, 1600.0, 10.0), rel=1e-12)


def test_it_cools() -> None:
    fuse = Fuse(25.0)
    warm = fuse.after(COLD, 45.0**2, 0.6)
    assert fuse.melted(fuse.after(warm, 45.0**2, 1.0))
    cooled = fuse.after(warm, 0.0, 3600.0)
    assert not fuse.melted(fuse.after(cooled, 45.0**2, 1.0))


def test_a_fuse_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="must be over 0 A"):
        Fuse(0.0)


# In the plant.


def stuck(
    fuse_a: float, seconds: int, *trips: BatteryTrip, lasts_s: float = 0.0, own_fuse: bool = True
) -> Plant:
    """A pump that sticks a minute into its run, and is not switched off."""
    site = Site(
        board=BoardSpec(own_fuse=own_fuse),
        cable=CableSpec(fuse_a=fuse_a),
        battery_trips=trips,
        faults=(faulty("pump_stalled", 60.0, duration_s=lasts_s),),
    )
    plant = Plant(site, 1)
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + 600 + 10 * seconds)
    return plant


@pytest.mark.parametrize("own_fuse", [False, True])
def test_a_stuck_pump_blows_its_fuse(own_fuse: bool) -> None:
    """All is dark behind it: the pump, the readings, and a board without a fuse of its own."""
    plant = stuck(25.0, 0, own_fuse=own_fuse)
    n = plant.timeline.night_n(1) + 600
    currents = []
    for tick in range(n, n + 100):
        plant.read(tick)
        currents.append(plant.truth(tick).current_a)
    blown = next(tick for tick, current in enumerate(currents) if tick > 1 and current == 0.0)
    over = max(currents) / 25.0
    assert 2.0 < over < 3.5
    assert melting_s(25.0, over) == pytest.approx(blown / 10.0, abs=0.2)
    assert plant.board_powered == own_fuse
    spent = plant.totals["pump_as"]
    battery_n, _, load_on, *_ = plant.read(n + 10 * HOUR)
    assert (battery_n < 10, load_on) == (True, 0)
    assert plant.totals["pump_as"] == spent
    assert plant.board_powered == own_fuse


def test_a_fuse_that_is_too_large_lets_it_burn() -> None:
    plant = stuck(80.0, 1800)
    n = plant.timeline.night_n(1) + 600 + 18000
    assert plant.board_powered
    assert plant.truth(n).current_a > 50.0


def test_the_person_who_brings_the_battery_back_puts_a_new_fuse_in() -> None:
    plant = stuck(25.0, 60, BatteryTrip(1), lasts_s=3600.0)
    n = plant.timeline.night_n(2)
    plant.read(n)
    assert plant.board_powered
    plant.drive(n, 1)
    plant.read(n + 600)
    assert plant.truth(n + 600).current_a > 5.0


def test_a_healthy_pump_never_blows_its_fuse() -> None:
    plant = Plant(Site(), 1)
    n = plant.timeline.night_n(1)
    for night in range(2):
        start = n + night * 24 * HOUR
        plant.read(start)
        plant.drive(start, 1)
        plant.read(start + 2 * HOUR)
        assert plant.truth(start + 2 * HOUR).current_a > 5.0
        plant.drive(start + 2 * HOUR, 0)


def test_the_books_close_over_a_blown_fuse() -> None:
    charge = charge_account(stuck(25.0, 600))
    assert charge.turned_over > 0.0
    assert abs(charge.off) < 1e-9 * charge.turned_over


def test_a_stuck_pump_is_felt_before_the_fuse_blows() -> None:
    spec = FaultSpec("pump_stalled", 1, 60.0)
    plant = Plant(replace(Site(), faults=(spec,)), 1)
    n = plant.timeline.night_n(1)
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + HOUR)
    assert dict(plant.felt)["pump_stalled"] is not None
