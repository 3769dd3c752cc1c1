"""The observer of the campaign's bound, where the best that can be told is known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from tests.campaign.bound import Observer, left_out, score_of
from tests.campaign.week_signs import WeekSigns

APART = 2.0
"""Deviations between two causes: the best observer is right in Phi(1) (Duda, Hart and Stork,
Pattern Classification, 2001, from memory)."""


def drawn_weeks(each: int, seed: int) -> list[WeekSigns]:
    """Two causes that differ in one of three signs, in turn."""
    rng = np.random.default_rng(seed)
    weeks = []
    for number in range(each):
        for cause, mean in (("this", 0.0), ("that", APART)):
            signs = rng.normal(size=3) + np.array([mean, 0.0, 0.0])
            weeks.append(WeekSigns(f"one/0/{number}/{cause}", signs, "fine"))
    return weeks


def test_it_is_right_as_often_as_can_be() -> None:
    weeks = drawn_weeks(500, 4)
    score = score_of(weeks, left_out(weeks, 0.5, 0.1))
    assert score.of == len(weeks)
    assert score.first / score.of == pytest.approx(norm.cdf(APART / 2.0), abs=0.03)
    assert score.two == score.of


def test_without_the_sign_that_tells_it_guesses() -> None:
    """And with none of them known it has nothing but how the board ended its runs."""
    weeks = drawn_weeks(500, 5)
    blind = [replace(one, signs=np.array([np.nan, *one.signs[1:]])) for one in weeks]
    score = score_of(blind, left_out(blind, 0.5, 0.1))
    assert score.first / score.of == pytest.approx(0.5, abs=0.06)
    ends = [
        replace(one, signs=np.full(3, np.nan), end="dry run" if one.cause == "that" else "fine")
        for one in weeks
    ]
    told = Observer(ends, 0.5, 0.1).probabilities(ends[1])
    assert next(iter(told)) == "that"
