"""The observer that is not told of a fault, where the best that can be told is known."""

import numpy as np
import pytest
from scipy.stats import norm

from tests.campaign.untold import FALSE_ALARMS, NOTHING, Said, left_out, threshold_of
from tests.campaign.week_signs import WeekSigns
from tests.campaign.why_weeks import FAULTS, HEAVIER, MILDER, ONE, OTHERWISE, SOUND

FELT = {MILDER: 1.5, ONE: 3.0, HEAVIER: 6.0}
"""Deviations that a fault moves one sign."""


def said_of(each: int, seed: int) -> list[Said]:
    """Sound weeks and one cause at each severity, by what it shifts of one of three signs."""
    rng = np.random.default_rng(seed)
    kinds = [(SOUND, NOTHING, 0.0), *((kind, "this", felt) for kind, felt in FELT.items())]
    weeks = [
        WeekSigns(
            f"{kind}/0/{number}/{cause}", rng.normal(size=3) + np.array([felt, 0, 0]), "fine"
        )
        for number in range(each)
        for kind, cause, felt in kinds
    ]
    return left_out(weeks, 0.5, 0.1)


def test_it_finds_as_many_as_can_be_found() -> None:
    """One sign and one side: no test of that level has more power than to look how far the sign
    is off (Neyman and Pearson, 1933)."""
    said = said_of(800, 6)
    least = threshold_of(said)
    sound = [one for one in said if one.sound]
    assert sum(bool(one.names(least)) for one in sound) == int(FALSE_ALARMS * len(sound))
    moderate = [one for one in said if not one.sound]
    share = sum(one.right(least) for one in moderate) / len(moderate)
    power = norm.cdf(FELT[ONE] - norm.isf(FALSE_ALARMS))
    assert share == pytest.approx(power, abs=0.08)


def test_only_moderate_and_sound_weeks_are_asked_about() -> None:
    assert {one.case.split("/")[0] for one in said_of(20, 7)} == {ONE, SOUND}


def test_it_names_as_why_does() -> None:
    said = Said("one/0/1/b", 3.0, {"a": 0.5, "b": 0.3, "c": 0.2})
    assert said.names(2.0) == ("a", "b")
    assert said.right(2.0)
    assert said.names(3.0) == ()
    assert Said("one/0/1/b", 3.0, {"a": 0.8, "b": 0.2}).names(2.0) == ("a",)


def test_every_cause_is_drawn_milder_and_heavier() -> None:
    assert OTHERWISE.keys() == FAULTS.keys()
    for cause, (milder, heavier) in OTHERWISE.items():
        assert milder < 0.8 * FAULTS[cause][1] < 1.1 * FAULTS[cause][1] < heavier
