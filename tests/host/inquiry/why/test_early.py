"""The observer of what grows, on draws of which the best that can be told is known."""

import numpy as np
import pytest
from scipy.stats import norm

from tests.campaign.early import NOTHING, Grown, Observer, State, early_of, left_out
from tests.campaign.why import EARLY_NIGHTS
from tests.campaign.why_weeks import DRIFTS, GROWING

ONE, OTHER = list(DRIFTS)[:2]
NIGHTS = 6


def drawn_weeks(per_night: float, each: int, seed: int, nights: int = NIGHTS) -> list[Grown]:
    """Two causes that grow in the same sign, up and down, and nothing; noise of 1."""
    rng = np.random.default_rng(seed)
    weeks = []
    for number in range(each):
        for cause, way in ((ONE, 1.0), (OTHER, -1.0), (NOTHING, 0.0)):
            ages = np.arange(nights) + rng.uniform(0.1, 0.9)
            states = tuple(
                State(float(age), np.array([way * per_night * age, 0.0]) + rng.normal(size=2))
                for age in ages
            )
            stop_age = np.inf if cause == NOTHING else float(ages[-1] + 1.0)
            weeks.append(Grown(f"{GROWING}/1/{number}/{cause}", states, stop_age))
    return weeks


def test_what_grows_beyond_the_noise_is_named_early_and_nothing_is_not() -> None:
    found = early_of(left_out(drawn_weeks(3.0, 20, 1), 1.0, 0.1))
    assert len(found) == 40
    assert sum(found.values()) >= 38
    hidden = early_of(left_out(drawn_weeks(0.0, 20, 2), 1.0, 0.1))
    assert sum(hidden.values()) <= 4


def test_a_week_that_stopped_in_its_first_night_cannot_be() -> None:
    found = early_of(left_out(drawn_weeks(9.0, 20, 3, nights=EARLY_NIGHTS - 1), 1.0, 0.1))
    assert not any(found.values())


@pytest.mark.parametrize("value", [-1.5, 0.2, 2.0])
def test_its_probability_is_that_of_the_gaussians(value: float) -> None:
    """Bayes' rule written out with scipy's normal, nine of ten sound beforehand, and all draws
    still going on."""
    observer = Observer(drawn_weeks(0.5, 400, 4), 1.0, 0.0)
    age = 3.0
    odds = {cause: 0.1 / len(DRIFTS) for cause in (ONE, OTHER)} | {NOTHING: 0.9}
    means = {ONE: 0.5 * age, OTHER: -0.5 * age, NOTHING: 0.0}
    joint = {cause: odds[cause] * norm.pdf(value, means[cause]) for cause in odds}
    told = observer.probabilities(State(age, np.array([value, 0.0])))
    for cause, one in joint.items():
        assert told[cause] == pytest.approx(one / sum(joint.values()), abs=0.03)
