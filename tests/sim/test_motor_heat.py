"""The motor's warmth: its rating met at the rated load, and an integration step by step."""

import pytest

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.motor import motor_c
from rillsim.accounts import energy_account
from rillsim.plant import Plant
from rillsim.site import FaultSpec, PumpSheet, SetSpec, Site
from rillsim.water.air import steady_air
from rillsim.water.motor_heat import INSULATION_C, highest_c, kelvin_per_watt, rated_loss_w
from tests.sim.pumping import HOUR

CONTINUOUS = PumpSheet(duty="continuous")
QUARTERS = PumpSheet(duty="intermittent", duty_on_s=900.0, duty_off_s=1800.0)


def test_continuous_duty_meets_the_insulation_after_hours() -> None:
    """IEC 60034-1, S1: at the rated load and 40 C, class B (130 C) is reached and not passed."""
    loss_w = rated_loss_w(CONTINUOUS)
    assert highest_c(CONTINUOUS, [(12 * 3600.0, 0.0)], loss_w, 40.0) == pytest.approx(130.0)
    early_c = highest_c(CONTINUOUS, [(1800.0, 0.0)], loss_w, 40.0)
    assert early_c is not None
    assert 80.0 < early_c < 125.0


def test_intermittent_duty_meets_it_at_the_end_of_each_turn() -> None:
    """IEC 60034-1, S3: as many turns as one likes, and no longer run."""
    loss_w = rated_loss_w(QUARTERS)
    assert highest_c(QUARTERS, [(900.0, 1800.0)] * 30, loss_w, 40.0) == pytest.approx(130.0)
    longer_c = highest_c(QUARTERS, [(2700.0, 0.0)], loss_w, 40.0)
    assert longer_c is not None
    assert longer_c > 135.0


def test_steps_of_a_second_agree() -> None:
    """Two first-order rises, Euler against the closed form."""
    per_w = kelvin_per_watt(QUARTERS)
    assert per_w is not None
    quick_k = slow_k = highest_k = 0.0
    for second in range(3 * 2700):
        loss_w = 60.0 if second % 2700 < 900 else 0.0
        quick_k += (0.3 * per_w * loss_w - quick_k) / 150.0
        slow_k += (0.7 * per_w * loss_w - slow_k) / 2400.0
        highest_k = max(highest_k, quick_k + slow_k)
    found_c = highest_c(QUARTERS, [(900.0, 1800.0)] * 3, 60.0, 20.0)
    assert found_c == pytest.approx(20.0 + highest_k, abs=0.2)


def test_no_rating_no_temperature() -> None:
    assert kelvin_per_watt(PumpSheet()) is None
    assert motor_c(WorkingSite(Site())) is None


def test_pauses_keep_a_site_s_motor_cooler() -> None:
    whole = Site(pump=QUARTERS, sets=(SetSpec(amount=60.0),))
    split = Site(pump=QUARTERS, sets=(SetSpec(amount=60.0, runs=4, soak_s=1800),))
    hot_c, cool_c = (motor_c(WorkingSite(site)) for site in (whole, split))
    assert hot_c is not None
    assert cool_c is not None
    assert 27.0 < cool_c < hot_c - 20.0


# In the plant.


def pumping(sheet: PumpSheet, **drag: float) -> Plant:
    faults = (FaultSpec("pump_stalled", 1, 0.0, **drag),) if drag else ()
    plant = Plant(Site(pump=sheet, faults=faults, sets=(SetSpec(start_s=12 * 3600),)))
    plant.read(0)
    plant.drive(0, 1)
    return plant


def until_hot(plant: Plant, n: int, most_n: int, hot: bool = True) -> int:
    """The tick, to ten seconds, at which the cut-out has opened, or closed."""
    while n < most_n and plant.motor_hot != hot:
        n += 100
        plant.read(n)
    return n


def test_the_cut_out_opens_when_the_closed_form_says_and_closes_when_it_is_cool() -> None:
    """A pump for quarters of an hour that goes on, stiff: bisection on ``highest_c``."""
    plant = pumping(QUARTERS, severity=0.2)
    opened_n = until_hot(plant, 0, 5 * HOUR)
    assert plant.motor_hot
    point = plant.present.point
    assert point.current_a == 0.0
    plant = pumping(QUARTERS, severity=0.2)
    plant.read(opened_n // 2)
    loss_w = plant.rig.circuit.motor_loss_w(plant.present.point)
    air_c = steady_air(Site().weather, 12 * 3600)(opened_n / 20.0)
    low_s, high_s = 0.0, 5 * 3600.0
    while high_s - low_s > 1.0:
        middle_s = 0.5 * (low_s + high_s)
        reached_c = highest_c(QUARTERS, [(middle_s, 0.0)], loss_w, air_c)
        assert reached_c is not None
        low_s, high_s = (low_s, middle_s) if reached_c > INSULATION_C else (middle_s, high_s)
    assert opened_n / 10.0 == pytest.approx(high_s, rel=0.05)


def test_it_closes_when_the_winding_is_cool_and_opens_again() -> None:
    plant = pumping(QUARTERS, severity=0.2)
    opened_n = until_hot(plant, 0, 5 * HOUR)
    closed_n = until_hot(plant, opened_n, opened_n + HOUR, hot=False)
    assert 60 * 10 < closed_n - opened_n < 40 * 60 * 10
    again_n = until_hot(plant, closed_n, closed_n + HOUR)
    assert plant.motor_hot
    assert again_n - closed_n < opened_n, "the case is warm now"
    assert abs(energy_account(plant).off_percent) < 0.1


def test_within_its_rating_it_never_opens() -> None:
    for sheet in (CONTINUOUS, PumpSheet()):
        plant = pumping(sheet)
        until_hot(plant, 0, HOUR)
        assert not plant.motor_hot
    assert sum(plant.present.motor) == 0.0, "without a rating nothing is known of it"
