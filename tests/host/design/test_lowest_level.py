"""Limits of a source that can be emptied hold down to its last."""

from dataclasses import replace

import pytest

from rillkeeper.design.limits.derive import NoSafeLimit, settings_of
from rillkeeper.design.size.facts import facts_of
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.display_units import Shown
from rillkeeper.site.file import demo_site
from rillkeeper.verdict import ACT
from rillsim.site import Site

DEMO = replace(demo_site(), faults=(), battery_trips=())


def tank(lift_m: float, cover_m: float, stored_m3: float) -> Site:
    water = replace(DEMO.water, lift_m=lift_m, cover_m=cover_m, stored_m3=stored_m3)
    return replace(DEMO, water=water)


def test_a_tank_whose_last_the_pump_cannot_prime_is_refused() -> None:
    """It primes over 2 m: full at 1 m, and 2.5 m to the last of it."""
    with pytest.raises(NoSafeLimit, match="almost empty, at a lift of 2.5 m") as refusal:
        settings_of(tank(1.0, 1.5, 3.0))
    assert "primes from 2.0 m" in str(refusal.value)
    assert "lower the pump; or set the strainer higher" in str(refusal.value)
    answer = verdict_of(facts_of(tank(1.0, 1.5, 3.0)), Shown("metric"))["limits"]
    assert answer.state == ACT


def test_a_lower_tank_and_an_endless_pond_have_the_limits_of_their_first_level() -> None:
    assert settings_of(tank(0.2, 1.5, 3.0)) == settings_of(tank(0.2, 1.5, 0.0))
    assert settings_of(tank(1.0, 1.5, 0.0))
