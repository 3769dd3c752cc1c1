"""The motor's warmth: its rating met at the rated load, and an integration step by step."""

import pytest

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.motor import motor_c
from rillsim.site import PumpSheet, SetSpec, Site
from rillsim.water.motor_heat import highest_c, kelvin_per_watt, rated_loss_w

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
