"""Several troubles weighed as one: against a reference library, and weeks that none fits alone."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from rillkeeper.inquiry.why.attempts import FINE
from rillkeeper.inquiry.why.likelihood import BELIEVED, Added, Data, log_evidence
from rillkeeper.inquiry.why.together import Held, Together, ends_together
from tests.host.inquiry.why.conftest import Bench, fault

pytestmark = pytest.mark.xdist_group("why")

SIGNS, READ, WAYS = 4, 24, 3
SHARE, ROUGH = 0.2, 0.3


def data_of(rng: np.random.Generator) -> Data:
    """Four signs, read six times each."""
    return Data(
        y=rng.normal(size=READ),
        sd=0.2 + rng.random(READ),
        jacobian=rng.normal(size=(READ, 3)),
        block=np.arange(READ) // SIGNS,
        sign=np.arange(READ) % SIGNS,
        share=SHARE,
        rough=ROUGH,
    )


def trouble(rng: np.random.Generator) -> Added:
    mean, step, hour = rng.normal(size=(3, WAYS, READ))
    return Added(mean, step, hour=hour)


def test_two_troubles_against_the_whole_covariance() -> None:
    """scipy's multivariate normal: each has its own severity and hour,
    and both are rough, sign by sign."""
    rng = np.random.default_rng(5)
    data, each = data_of(rng), (trouble(rng), trouble(rng))
    assert data.sign is not None
    same = data.sign[:, None] == data.sign[None, :]
    expected = []
    for way in range(WAYS):
        mean = each[0].mean[way] + each[1].mean[way]
        whole = np.diag(data.sd**2 + (BELIEVED * mean) ** 2) + data.jacobian @ data.jacobian.T
        for one in each:
            assert one.hour is not None
            for column in (one.step[way], one.hour[way]):
                whole += np.outer(column, column)
        squares = [(SHARE * one.mean[way]) ** 2 + ROUGH**2 for one in each]
        rough = np.sqrt(squares[0] + squares[1])
        whole += np.outer(rough, rough) * same
        expected.append(multivariate_normal(mean, whole).logpdf(data.y))
    assert log_evidence(data, Together.of(each)) == pytest.approx(expected)


def test_each_way_of_one_meets_each_of_the_other() -> None:
    """A way's prior is the product of both over nothing; an attempt that ended well did so in
    spite of both, and the stop of another may come from either."""
    rng = np.random.default_rng(6)
    quiet, outcomes = np.log(0.9), (FINE, "dry run")
    chances = np.log([[[0.5, 0.1], [0.4, 0.2]], [[0.6, 0.7], [0.3, 0.1]]])
    priors = np.log([[0.01, 0.02], [0.03, 0.04]])
    one, other = (
        Held((name,), (trouble(rng),), prior, chance)
        for name, prior, chance in zip("ab", priors, chances, strict=True)
    )
    both = one.with_another(other, outcomes, quiet)
    assert both.causes == ("a", "b")
    assert np.exp(both.log_prior) * 0.9 == pytest.approx([3e-4, 4e-4, 6e-4, 8e-4])
    least, most = [0.5, 0.3, 0.4, 0.3], [0.7, 0.1, 0.7, 0.2]
    assert np.exp(both.log_chances) == pytest.approx(np.array([least, most]).T)
    again = ends_together(outcomes, chances[0][0], chances[1][1])
    assert both.log_chances[1] == pytest.approx(again)
    assert both.each[0].mean[1] == pytest.approx(one.each[0].mean[0])
    assert both.each[1].mean[1] == pytest.approx(other.each[0].mean[1])


LIKE_A_THIRD = (
    # together they draw less current and raise the volts: as a blocked strainer does
    (332, ("air_leak", 0.1, 3), ("battery_offset", 0.4, 2)),
    # a low flow at a pressure that reads high: as a blocked sprinkler does
    (333, ("pump_worn", 0.35, 3), ("pressure_offset", 0.4, 2)),
    # a low flow at a pressure that reads low, from the same night on: as a burst hose does
    (334, ("pressure_offset", -0.4, 3), ("pump_worn", 0.35, 3)),
)
"""Seed of a week and its faults: name, severity, night. With the loudest trouble taken for true
and the rest explained, a cause that is not there comes first, or one of the two is not named."""
CAUSE = {
    "air_leak": "suction air leak",
    "battery_offset": "battery reading off or stuck",
    "pump_worn": "pump worn",
    "pressure_offset": "pressure sensor off or stuck",
    "foot_valve_leak": "foot valve leaking",
    "hose_burst": "hose burst or slipped",
    "nozzle_worn": "nozzle worn or gone",
}


@pytest.mark.parametrize(("seed", "one", "other"), LIKE_A_THIRD)
def test_two_that_look_like_a_third(
    bench: Bench, seed: int, one: tuple[str, float, int], other: tuple[str, float, int]
) -> None:
    found = bench.judge(bench.week(seed, fault(*one), fault(*other)), troubles=4)
    assert len(found.troubles) == 2
    for name in (one[0], other[0]):
        assert any(CAUSE[name] in trouble.names for trouble in found.troubles)


def test_the_second_is_held_as_it_is_beside_the_first(bench: Bench) -> None:
    """Both are loud, and each nearly explains all alone. With the burst as bad as that takes, what
    the nozzle does was not to be seen, and the pressure sensor was named in its place for sure."""
    week = bench.week(9033, fault("nozzle_worn", 0.5, 2), fault("hose_burst", 0.2, 3))
    named = [trouble.names for trouble in bench.judge(week, troubles=4).troubles]
    assert sorted(named) == [(CAUSE["hose_burst"],), (CAUSE["nozzle_worn"],)]


@pytest.mark.parametrize("name", ["foot_valve_leak", "hose_burst"])
def test_a_trouble_alone_stays_alone(bench: Bench, name: str) -> None:
    """What its signature leaves is not explained by another."""
    severity = {"foot_valve_leak": 0.05, "hose_burst": 0.2}[name]
    found = bench.judge(bench.week(341, fault(name, severity)), troubles=4)
    assert [trouble.names for trouble in found.troubles] == [(CAUSE[name],)]


def test_a_board_that_only_refuses_has_one_trouble(bench: Bench) -> None:
    """Nothing was read at all: the ends alone are weighed."""
    found = bench.judge(bench.week(319, fault("pressure_channel_open", 1.0, 1)), troubles=4)
    assert found.first == ("pressure sensor off or stuck",)
    assert len(found.troubles) == 1
