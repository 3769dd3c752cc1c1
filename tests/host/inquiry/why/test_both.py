"""The observer of two faults, on draws of which the best that can be told is known."""

from itertools import combinations, islice

import numpy as np
import pytest

from rillkeeper.inquiry.why.signs import SIGN_COUNT, SIGN_PLACE
from tests.campaign import both
from tests.campaign.both import Said, Sums, features_of, left_out
from tests.campaign.week_signs import PairSigns, WeekSigns, bend
from tests.campaign.why_weeks import FAULTS

CAUSES = tuple("abcdef")
NOISE, MUCH = 0.1, 20.0
"""Of a sign, in its own bent unit, and what a cause does to its sign in parts of that."""
FINE = ("fine", "fine")


def moved(cause: str, twins: bool) -> np.ndarray:
    """What a cause does: one sign each, or one for each two of them."""
    signs = np.zeros(SIGN_COUNT)
    signs[CAUSES.index(cause) // (2 if twins else 1)] = MUCH * NOISE
    return signs


def singles(each: int, twins: bool, seed: int) -> list[WeekSigns]:
    rng = np.random.default_rng(seed)
    weeks = []
    for number in range(each):
        for cause in CAUSES:
            before, noise = NOISE * rng.normal(size=(2, SIGN_COUNT))
            change = moved(cause, twins) + noise
            signs = np.concatenate([before + change, change, np.full(3, np.nan)])
            weeks.append(WeekSigns(f"one/0/{number}/{cause}", signs, "fine"))
    return weeks


def pairs(each: int, twins: bool, seed: int, runs_between: bool = True) -> list[PairSigns]:
    rng = np.random.default_rng(seed)
    weeks = []
    for number in range(each):
        for pair in combinations(CAUSES, 2):
            first, second = map(str, rng.permutation(pair))
            levels = np.cumsum(
                [np.zeros(SIGN_COUNT), moved(first, twins), moved(second, twins)], axis=0
            ) + NOISE * rng.normal(size=(3, SIGN_COUNT))
            ends = FINE
            if not runs_between:
                levels[1], ends = np.nan, (None, "fine")
            case = f"two/0/{number}/{'/'.join(pair)}"
            weeks.append(PairSigns(case, levels, np.full(6, np.nan), ends, (first, second)))
    return weeks


@pytest.mark.parametrize("runs_between", [True, False])
def test_what_moves_a_sign_of_its_own_is_told_in_pairs(runs_between: bool) -> None:
    """Also where only the sum of the two is seen, and then in either order."""
    sums = Sums(singles(6, twins=False, seed=1))
    said = left_out({"0": sums}, pairs(4, False, 2, runs_between), 0.2, 0.1)
    assert all(one.both and one.held for one in said)


def test_of_twins_it_can_but_guess_one_and_names_both() -> None:
    """Three signs, two causes behind each: of a pair with two signs it is right by a chance of one
    in four, and the four causes behind the two signs always hold it."""
    sums = Sums(singles(12, twins=True, seed=3))
    weeks = [
        one
        for one in pairs(10, True, 4)
        if len({CAUSES.index(cause) // 2 for cause in one.causes}) > 1
    ]
    said = left_out({"0": sums}, weeks, 0.2, 0.1)
    assert all(one.held for one in said)
    share = sum(one.both for one in said) / len(said)
    assert share == pytest.approx(0.25, abs=3.0 * (0.25 * 0.75 / len(said)) ** 0.5)


def test_the_order_is_told_by_what_lies_between() -> None:
    sums = Sums(singles(6, twins=False, seed=5))
    observer = both.Observer(sums, [sums.off(one) for one in pairs(2, False, 6)], 0.2, 0.1)
    for told in pairs(1, False, 7):
        odds = observer.probabilities(told)
        assert sum(odds.values()) == pytest.approx(1.0)
        assert max(odds, key=lambda order: odds[order]) == told.causes


def test_how_the_board_ended_it_counts_where_no_sign_was_read() -> None:
    draws = [
        WeekSigns(one.case, one.signs, "dry run" if one.cause == "c" else "fine")
        for one in singles(8, twins=True, seed=8)
    ]
    sums = Sums(draws)
    shares = dict(zip(sums.orders, sums.log_chance(("fine", "dry run")), strict=True))
    assert max(shares, key=lambda order: shares[order])[1] == "c"
    blind = PairSigns(
        "two/0/1/a/c",
        np.full((3, SIGN_COUNT), np.nan),
        np.full(6, np.nan),
        (None, "dry run"),
        ("a", "c"),
    )
    observer = both.Observer(sums, [sums.off(one) for one in pairs(2, True, 9)], 0.2, 0.1)
    said = Said.of(blind, observer.probabilities(blind))
    assert "c" in said.pair


def test_a_sum_is_the_first_with_what_the_second_changed_on_top() -> None:
    """In the signs' own units, before they are bent: 1 % and 30 % of pressure, by hand."""
    place = SIGN_PLACE["early_pressure"]
    before, change, other = (np.full(SIGN_COUNT, value) for value in (0.02, 0.01, -0.30))
    week = np.concatenate([bend(before + change), bend(change), np.zeros(3)])
    more = np.concatenate([bend(other), bend(other), np.zeros(3)])
    sums = Sums([WeekSigns("one/0/1/a", week, "fine"), WeekSigns("one/0/2/b", more, "fine")])
    expected = features_of((before, before + change, before + change + other), np.zeros(6))
    assert sums.means[sums.orders.index(("a", "b"))] == pytest.approx(expected)
    assert np.sinh(expected[SIGN_COUNT + place]) * 3.0 * 0.004 == pytest.approx(0.03 - 0.30)


def test_every_pair_is_drawn_and_none_is_both_shown_and_asked_about() -> None:
    drawn = list(islice(both.cases(710000), 136 * (both.SHOWN_EACH + 2)))
    asked = [case for case in drawn if int(case.split("/")[2]) < both.FIRST_SEED]
    two = [case.split("/") for case in asked if case.startswith("two/")]
    assert {frozenset(words[3:]) for words in two} == set(map(frozenset, both.PAIRS))
    assert len(both.PAIRS) == len(FAULTS) * (len(FAULTS) - 1) // 2
    assert len({case.split("/")[2] for case in drawn}) == len(drawn)
