"""The marginal likelihood against a reference library, a numeric integral and a textbook."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from rillkeeper.inquiry.why.courses import Changes
from rillkeeper.inquiry.why.likelihood import (
    BELIEVED,
    Added,
    Data,
    Screen,
    log_evidence,
    robust_log_evidence,
)


def random_data(signs: int = 24, tolerances: int = 4, seed: int = 3) -> Data:
    """Signs as the model itself would draw them: nothing odd."""
    rng = np.random.default_rng(seed)
    jacobian = rng.normal(size=(signs, tolerances))
    sd = 0.2 + rng.random(signs)
    y = jacobian @ rng.normal(size=tolerances) + sd * rng.normal(size=signs)
    place = np.arange(signs)
    return Data(y, sd, jacobian, place // 4, place % 4)


def random_added(data: Data, count: int = 5) -> Added:
    rng = np.random.default_rng(8)
    shape = (count, len(data.y))
    return Added(0.3 * rng.normal(size=shape), 0.3 * rng.normal(size=shape))


def test_against_the_whole_covariance() -> None:
    """scipy's multivariate normal with D^-1 + J J^T + g g^T written out."""
    data = random_data()
    added = random_added(data)
    expected = [
        multivariate_normal(
            mean,
            np.diag(data.sd**2 + (BELIEVED * mean) ** 2)
            + data.jacobian @ data.jacobian.T
            + np.outer(step, step),
        ).logpdf(data.y)
        for mean, step in zip(added.mean, added.step, strict=True)
    ]
    assert log_evidence(data, added) == pytest.approx(expected)


def test_against_a_numeric_integral() -> None:
    """One tolerance integrated out by quadrature."""
    data = random_data(signs=5, tolerances=1)
    column = data.jacobian[:, 0]

    def joint(theta: float) -> float:
        return float(norm.pdf(theta) * np.prod(norm.pdf(data.y, theta * column, data.sd)))

    integral, _ = quad(joint, -12.0, 12.0, epsabs=0.0, epsrel=1e-10)
    found = log_evidence(data, Added.nothing(len(data.y)))
    assert found[0] == pytest.approx(np.log(integral))


def test_a_sign_may_show_more_of_a_trouble_in_all_nights_alike() -> None:
    """scipy's multivariate normal once more, with what every sign is unsure by written out."""
    plain = random_data()
    data = replace(plain, sign=np.arange(len(plain.y)) % 3, share=0.2, rough=plain.sd)
    added = replace(random_added(data), active=np.ones((5, len(data.y))))
    expected = []
    for mean, step in zip(added.mean, added.step, strict=True):
        unsure = np.hypot(0.2 * mean, data.sd)
        shared = np.outer(unsure, unsure) * (data.sign[:, None] == data.sign[None, :])
        noise = np.diag(data.sd**2 + (BELIEVED * mean) ** 2)
        whole = noise + data.jacobian @ data.jacobian.T + np.outer(step, step) + shared
        expected.append(multivariate_normal(mean, whole).logpdf(data.y))
    assert log_evidence(data, added) == pytest.approx(expected)


def test_the_hour_at_which_it_began_is_a_column_as_well() -> None:
    """scipy's multivariate normal with g g^T for it written out."""
    data = random_data()
    plain = random_added(data)
    added = replace(plain, hour=0.4 * np.roll(plain.step, 1, axis=0))
    assert added.hour is not None
    rows = zip(added.mean, added.step, added.hour, strict=True)
    expected = [
        multivariate_normal(
            mean,
            np.diag(data.sd**2 + (BELIEVED * mean) ** 2)
            + data.jacobian @ data.jacobian.T
            + np.outer(step, step)
            + np.outer(hour, hour),
        ).logpdf(data.y)
        for mean, step, hour in rows
    ]
    assert log_evidence(data, added) == pytest.approx(expected)


def test_a_trouble_may_bend_what_the_tolerances_do() -> None:
    """scipy's multivariate normal with (J + B) (J + B)^T written out; the robust one likewise."""
    data = random_data()
    plain = random_added(data)
    bent = 0.5 * np.random.default_rng(9).normal(size=(5, *data.jacobian.shape))
    added = replace(plain, bent=bent)
    expected = []
    for mean, step, more in zip(added.mean, added.step, bent, strict=True):
        columns = data.jacobian + more
        noise = np.diag(data.sd**2 + (BELIEVED * mean) ** 2)
        whole = noise + columns @ columns.T + np.outer(step, step)
        expected.append(multivariate_normal(mean, whole).logpdf(data.y))
    assert log_evidence(data, added) == pytest.approx(expected)
    straight = replace(plain, bent=np.zeros_like(bent))
    assert robust_log_evidence(data, straight) == pytest.approx(robust_log_evidence(data, plain))


def test_a_textbook_case() -> None:
    """Bishop, Pattern Recognition and Machine Learning (2006), eq. 2.113 to 2.115.

    x ~ N(0, 1) and y = 2 x + e, e ~ N(0, 1/4) give y ~ N(0, 1/4 + 4).
    """
    data = Data(np.array([1.5]), np.array([0.5]), np.array([[2.0]]), *np.zeros((2, 1), dtype=int))
    found = log_evidence(data, Added.nothing(1))
    assert found[0] == pytest.approx(norm.logpdf(1.5, 0.0, np.sqrt(4.25)))


def test_robust_is_plain_where_nothing_is_odd() -> None:
    data = random_data()
    added = Added.nothing(len(data.y))
    plain, robust = log_evidence(data, added)[0], robust_log_evidence(data, added)[0]
    assert robust == pytest.approx(plain, abs=0.5)


@pytest.mark.parametrize("size", [12.0, 300.0])
def test_one_odd_half_does_not_shout(size: float) -> None:
    """It costs a bounded sum, where the plain integral lets it outvote all others."""
    data = random_data()
    y = data.y.copy()
    y[data.block == 2] += size * data.sd[data.block == 2]
    odd = replace(data, y=y)
    nothing = Added.nothing(len(y))
    cost = robust_log_evidence(data, nothing)[0] - robust_log_evidence(odd, nothing)[0]
    plain = log_evidence(data, nothing)[0] - log_evidence(odd, nothing)[0]
    assert 0.0 < cost < 60.0
    assert plain > cost


def test_the_screen_finds_what_a_gross_half_hides() -> None:
    """A step that is there beside a half beyond all reason scores above nothing at all."""
    data = random_data(signs=40)
    step = np.where(data.block >= 4, 3.0, 0.0)
    y = data.y + step
    y[data.block == 1] += 500.0
    spoiled = replace(data, y=y)
    both = Added(np.stack([np.zeros_like(y), step]), np.zeros((2, len(y))))
    for scores in Screen.of(spoiled).scores(spoiled, both, each_in_all(data, 2))[1:]:
        assert scores[1] > scores[0]


def test_the_free_score_is_the_plain_integral() -> None:
    """Where the noise does not grow with what is added, and nothing else is left open."""
    data = random_data()
    added = replace(random_added(data), step=np.zeros((5, len(data.y))))
    added = replace(added, mean=1e-3 * added.mean)
    free = Screen.of(data).scores(data, added, each_in_all(data, 5))[0]
    expected = log_evidence(data, added)
    assert free - free[0] == pytest.approx(expected - expected[0], abs=1e-6)


def test_a_score_takes_each_half_of_a_run_with_its_own_part() -> None:
    """As if what it adds there had been written out for the whole log."""
    data = random_data()
    by_part = random_added(data, 3)
    parts = np.random.default_rng(5).integers(0, 3, (6, data.block.max() + 1))
    column = np.arange(len(data.y))
    whole = Added(
        by_part.mean[parts[:, data.block], column], by_part.step[parts[:, data.block], column]
    )
    screen = Screen.of(data)
    apart = screen.scores(data, by_part, Changes.of(parts))
    for one, other in zip(apart, screen.scores(data, whole, each_in_all(data, 6)), strict=True):
        assert one == pytest.approx(other)


def each_in_all(data: Data, count: int) -> Changes:
    """So many hypotheses, each with a part of its own in all halves."""
    return Changes.of(np.repeat(np.arange(count)[:, None], data.block.max() + 1, axis=1))


def test_no_signs_at_all() -> None:
    data = Data(np.zeros(0), np.zeros(0), np.zeros((0, 3)), *np.zeros((2, 0), dtype=int))
    assert robust_log_evidence(data, Added.nothing(0)) == pytest.approx([0.0])
