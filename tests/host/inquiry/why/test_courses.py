"""How severe a trouble is from half to half of the runs: the sums over a course, written out."""

import numpy as np
import pytest

from rillkeeper.inquiry.why.courses import Changes, Courses

HALVES, PARTS, COLUMNS = 10, 5, 3


def test_a_sum_over_a_course_is_that_of_its_halves() -> None:
    """Of courses that never change, change once, come and go, or rise part by part."""
    at_once, passing = np.eye(2, HALVES, 4, dtype=int).cumsum(axis=1)[0], np.zeros(HALVES, int)
    passing[3:6] = 2
    rising = np.minimum(np.arange(HALVES) // 2, PARTS - 1)
    parts = np.array([np.zeros(HALVES, int), 3 * at_once, passing, rising, passing, 1 - at_once])
    told = np.random.default_rng(4).normal(size=(PARTS, HALVES, COLUMNS))
    expected = told[parts, np.arange(HALVES)].sum(axis=1)
    assert Changes.of(parts).sums(told) == pytest.approx(expected)


def test_courses_that_never_change() -> None:
    parts = np.array([[1, 1], [0, 0]])
    told = np.arange(8.0).reshape(2, 2, 2)
    assert Changes.of(parts).sums(told) == pytest.approx(told[[1, 0]].sum(axis=1))


def test_a_course_begins_where_the_run_before_was_sound() -> None:
    """Halves in pairs; one that begins in the tail of a run is not begun at its own start."""
    places = np.array([[0.0, 0.0, 0.4, 1.0, 1.0, 1.0], [0.0, 2.0, 2.0, 0.0, 0.0, 2.0]])
    courses = Courses(places)
    assert courses.begins.tolist() == [[False, True, False], [False, False, False]]
    assert courses.worst.tolist() == [[0, 1, 1], [2, 2, 2]]
