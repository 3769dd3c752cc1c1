"""The observer who is not told that there are two faults, on draws whose best is known."""

from itertools import islice, product

import numpy as np
import pytest
from scipy.stats import norm

from rillkeeper.inquiry.why.signs import SIGN_COUNT, SIGN_PLACE
from tests.campaign import bound
from tests.campaign.both import Sums, features_of
from tests.campaign.both_untold import (
    ONES_EACH,
    SHARPNESS,
    SOUND_EACH,
    TO_SHOWN,
    Shown,
    cases,
    left_out,
    sharpness_of,
)
from tests.campaign.two_hours import ALONE, PAIR, Least, Said, Weighed, least_of
from tests.campaign.week_signs import NOTHING, PairSigns, WeekSigns, bend
from tests.campaign.why_weeks import HEAVIER, MILDER, ONE, SOUND

CAUSES = ("a", "b", "c")
NOISE = 0.1
"""Of a sign, in its own bent unit."""
FELT = {MILDER: 1.5, ONE: 3.0, HEAVIER: 6.0}


def moved(cause: str, deviations: float) -> np.ndarray:
    """What a cause does to a sign of its own."""
    signs = np.zeros(SIGN_COUNT)
    if cause != NOTHING:
        signs[CAUSES.index(cause)] = deviations * NOISE
    return signs


def drawn(each: int, much: float, seed: int) -> list[WeekSigns]:
    """Every cause at three severities, and sound weeks."""
    rng = np.random.default_rng(seed)
    kinds = [*product(FELT, CAUSES), *[(SOUND, NOTHING)] * 2]
    weeks = []
    for number, (kind, cause) in product(range(each), kinds):
        before, noise = NOISE * rng.normal(size=(2, SIGN_COUNT))
        change = moved(cause, much * FELT.get(kind, 0.0)) + noise - before
        signs = np.concatenate([before + change, change, np.full(3, np.nan)])
        weeks.append(WeekSigns(f"{kind}/0/{number}/{cause}", signs, "fine"))
    return weeks


def weeks(each: int, much: float, orders: list[tuple[str, str]], seed: int) -> list[PairSigns]:
    """With two hours, moderate."""
    rng = np.random.default_rng(seed)
    found = []
    for number, order in product(range(each), orders):
        steps = [np.zeros(SIGN_COUNT), *(moved(cause, much * FELT[ONE]) for cause in order)]
        levels = np.cumsum(steps, axis=0) + NOISE * rng.normal(size=(3, SIGN_COUNT))
        case = f"two/0/{seed}{number}/{'/'.join(order)}"
        found.append(PairSigns(case, levels, np.full(6, np.nan), ("fine", "fine"), order))
    return found


ORDERS = [
    *[(NOTHING, NOTHING)] * 3,
    *[("a", NOTHING), (NOTHING, "b"), ("c", NOTHING)],
    *[("a", "b"), ("c", "b"), ("b", "a")],
]


def test_what_is_plain_is_named_and_nothing_else() -> None:
    shown = Shown({"0": drawn(8, 5.0, seed=1)}, weeks(5, 5.0, ORDERS, seed=2))
    found = left_out(shown)
    assert found.keys() == set(TO_SHOWN)
    for weighed in found.values():
        assert len(weighed) == len(shown.weeks)
        said = [one.said(sharpness_of(weighed)) for one in weighed]
        least = least_of(said, 0.0)
        assert all(one.truth <= one.names(least) for one in said)
        assert not any(one.names(least) for one in said if not one.truth)
        assert all(one.finds_two(least) == (len(one.truth) == PAIR) for one in said)


def test_a_second_is_found_no_more_often_than_it_can_be() -> None:
    """One sign and one side: no test of that level has more power than to look how far the sign
    is off (Neyman and Pearson, 1933)."""
    orders = [(NOTHING, NOTHING), ("a", NOTHING), ("a", "b")]
    shown = Shown({"0": drawn(12, 1.0, seed=3)}, weeks(60, 1.0, orders, seed=4))
    said = [one.said(1.0) for one in left_out(shown)[0.5]]
    least = Least(-np.inf, least_of(said, 0.05).second)
    two = [one for one in said if len(one.truth) == PAIR]
    share = sum(one.finds_two(least) for one in two) / len(two)
    power = norm.cdf(FELT[ONE] - norm.isf(0.05))
    assert 0.1 < share < power + 0.1


def said_of(truth: str, log_fault: float, log_second: float) -> Said:
    return Said(frozenset(truth), log_fault, log_second, frozenset("ab"), frozenset("acd"))


def test_thresholds_let_pass_no_more_than_may_be() -> None:
    said = [said_of("", number, 99.0) for number in range(200)]
    said += [said_of("a", 0.0, 50.0)] * 10 + [said_of("a", 500.0, n) for n in range(10)]
    least = least_of(said, 0.1)
    assert least == Least(fault=197, second=7)
    assert sum(bool(one.names(least)) for one in said if not one.truth) == 2
    assert sum(one.finds_two(least) for one in said if len(one.truth) == ALONE) == 2


def test_it_names_as_why_does() -> None:
    least = Least(2.0, 3.0)
    assert said_of("ac", 2.0, 9.0).names(least) == frozenset()
    assert said_of("ac", 2.1, 3.0).names(least) == frozenset("ab")
    assert said_of("ac", 2.1, 3.1).names(least) == frozenset("acd")
    assert [said_of("ac", 9.0, second).found(least) for second in (3.0, 4.0)] == [ALONE, PAIR]


def test_nothing_is_a_cause_that_changes_nothing() -> None:
    """In the signs' own units, before they are bent, by hand."""
    before, change, none = (np.full(SIGN_COUNT, value) for value in (0.02, 0.01, 0.0))

    def week(kind: str, cause: str, more: np.ndarray) -> WeekSigns:
        signs = np.concatenate([bend(before + more), bend(more), np.zeros(3)])
        return WeekSigns(f"{kind}/0/1/{cause}", signs, "fine")

    sums = Sums([week(ONE, "a", change), week(SOUND, NOTHING, none)])
    assert set(sums.orders) == {(NOTHING, NOTHING), ("a", NOTHING), (NOTHING, "a")}
    steps = {"a": change, NOTHING: none}
    for order, mean in zip(sums.orders, sums.means, strict=True):
        between, after = np.cumsum([steps[cause] for cause in order], axis=0)
        levels = (before, before + between, before + after)
        assert mean == pytest.approx(features_of(levels, np.zeros(6)))
    place = SIGN_COUNT + SIGN_PLACE["early_pressure"]
    both_hours = sums.means[sums.orders.index((NOTHING, "a")), place]
    assert np.sinh(both_hours) * 3.0 * 0.004 == pytest.approx(0.03)


def weighed_of(truth: tuple[str, str], logs: list[float]) -> Weighed:
    """Of nothing, each of two alone, and each two in order."""
    orders = ((NOTHING, NOTHING), ("a", NOTHING), (NOTHING, "b"), ("a", "b"), ("b", "a"))
    return Weighed(truth, orders, np.array([0, 1, 1, 2, 2]), np.log(logs))


def test_likelihoods_are_means_over_all_hypotheses_of_a_count() -> None:
    """By hand."""
    said = weighed_of(("a", "b"), [0.1, 0.5, 0.1, 1.2, 1e-9]).said(1.0)
    assert said.truth == {"a", "b"}
    assert said.log_second == pytest.approx(np.log(0.6 / 0.3))
    assert said.log_fault == pytest.approx(np.log(0.45 / 0.1))
    assert said.alone == {"a"}  # five in six, and 80 % are enough
    assert said.two == {"a", "b"}
    blunt = weighed_of(("a", "b"), [0.1, 0.5, 0.1, 1.2, 0.3]).said(0.5)
    assert blunt.alone == {"a", "b"}  # the root of five, in one more
    assert blunt.log_second == pytest.approx(np.log(0.75 / 0.3))


@pytest.mark.parametrize("sharpness", SHARPNESS)
def test_who_is_too_sure_is_blunted_as_much(sharpness: float) -> None:
    """Odds of four to one to a power: they are right in four of five, to one over the power."""
    sure = [0.1, 4.0 ** (1.0 / sharpness), 1.0, 1.0, 1.0]
    weeks = [weighed_of(("a", NOTHING), sure)] * 4 + [weighed_of((NOTHING, "b"), sure)]
    assert sharpness_of(weeks) == sharpness


def test_the_weeks_are_those_of_the_other_parts() -> None:
    some = list(islice(cases(1), ONES_EACH + SOUND_EACH))
    assert some[:ONES_EACH] == list(islice(bound.cases(1), ONES_EACH))
    assert all(case.startswith(f"{SOUND}/") for case in some[ONES_EACH:])
    assert len(set(some)) == len(some)
