"""What the small tests should read under each cause that is likely, and how sure that is.

The causes are those of `why`, each in its likeliest mode with the severities around its likeliest.
What the site file leaves open is tried as for the signs of the nights (``why/trials.py``): it
blurs every reading, together with the meter's, the watch's and the steps' own error.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.failure_modes import FailureMode
from rillkeeper.inquiry.why.small_tests.bank import Readings
from rillkeeper.inquiry.why.small_tests.table import SmallTest
from rillkeeper.inquiry.why.small_tests.tried import Tried
from rillkeeper.inquiry.why.trials import TOLERANCES

Floats = NDArray[np.float64]

_NEAR = 1.25
"""Severities so many steps of those that are tried from the likeliest count still, the less the
further: own choice."""
_WIDE = 10.0
_SLIP = 0.03
"""Share of tests in which something was read or done wrong, and how far off that may be (common
practice, no source)."""
_OTHER_END = 0.05
"""A run that ended otherwise than in the trial is so likely."""


@dataclass(frozen=True)
class Suspect:
    """One cause that may be it."""

    name: str
    probability: float
    mode: FailureMode | None
    """None: nothing is wrong."""
    severity: float = 0.0
    """In parts of the mode."""


@dataclass(frozen=True)
class Margins:
    """What the readings may be without anything being wrong."""

    sound: Readings
    tolerances: tuple[Readings, ...]
    """What one standard deviation of each input of the site does to each reading."""


@dataclass(frozen=True)
class Expected:
    """The readings of all tests under each suspect."""

    suspects: tuple[Suspect, ...]
    owner: NDArray[np.int_]
    """Whose each row is."""
    weights: Floats
    """Of each row among those of its suspect."""
    rows: tuple[Readings, ...]
    margins: Margins

    def means(self, test: SmallTest) -> Floats:
        """Rows by readings of a test; not a number where the run gave none."""
        keys = [one.key for one in test.readings]
        return np.array([[row[key] for key in keys] for row in self.rows])

    def covariance(self, test: SmallTest) -> Floats:
        """Of the readings of a test, on a site that is as its file says within tolerances."""
        noise = np.diag([one.noise**2 for one in test.readings])
        keys = [one.key for one in test.readings]
        moved = np.array([[row[key] for key in keys] for row in self.margins.tolerances])
        moved = np.nan_to_num(moved).reshape(-1, len(keys))
        return np.asarray(noise + moved.T @ moved)

    def log_likelihoods(self, test: SmallTest, seen: Floats) -> Floats:
        """Logarithm of the likelihood of each suspect, for readings (sets by readings).

        Returns
        -------
        table : array
            Suspects by sets
        """
        means = self.means(test)
        at = np.array([self.margins.sound[one.key] for one in test.readings])
        normal = np.nan_to_num(at)
        covariance = self.covariance(test)
        by_row = np.array([_log_chance(seen, mean, normal, covariance) for mean in means])
        by_row += np.log(self.weights)[:, None]
        return np.array(
            [
                np.logaddexp.reduce(by_row[self.owner == place], axis=0)
                for place in range(len(self.suspects))
            ]
        )


def margins_of(tried: Tried, progress: Callable[[float], None] = lambda share: None) -> Margins:
    """Try the sound site out, and what its file leaves open."""
    moved = []
    for place in range(len(TOLERANCES)):
        moved.append(tried.off_by(place))
        progress(len(moved) / len(TOLERANCES))
    return Margins(tried.sound(), tuple(moved))


def expected(
    tried: Tried,
    suspects: Sequence[Suspect],
    progress: Callable[[float], None] = lambda share: None,
) -> Expected:
    """Try every suspect out in the plant, test by test."""
    jobs = [
        (place, weight, severity)
        for place, suspect in enumerate(suspects)
        for severity, weight in _severities(suspect)
    ]
    rows = []
    for place, _, severity in jobs:
        mode = suspects[place].mode
        rows.append(tried.with_fault(mode, severity) if mode else tried.sound())
        progress(0.5 * len(rows) / len(jobs))
    margins = margins_of(tried, lambda share: progress(0.5 + 0.5 * share))
    tried.keep()
    return Expected(
        tuple(suspects),
        np.array([place for place, _, _ in jobs]),
        np.array([weight for _, weight, _ in jobs]),
        tuple(rows),
        margins,
    )


def _severities(suspect: Suspect) -> list[tuple[float, float]]:
    """The severities that are tried, with their weights: those of the mode around the likeliest,
    so that each is tried once on a site."""
    if suspect.mode is None:
        return [(0.0, 1.0)]
    tried = suspect.mode.severities
    place = float(np.interp(suspect.severity, tried, np.arange(len(tried))))
    near = [step for step in range(len(tried)) if abs(step - place) < _NEAR]
    weights = np.array([_NEAR - abs(step - place) for step in near])
    shares = (weights / weights.sum()).tolist()
    return [(tried[step], share) for step, share in zip(near, shares, strict=True)]


def _log_chance(seen: Floats, mean: Floats, sound: Floats, covariance: Floats) -> Floats:
    """Logarithm of the density of each set of readings around one mean."""
    gone = bool(np.isnan(mean).any())
    missing: NDArray[np.bool_] = np.asarray(np.isnan(seen).any(axis=1))
    filled = np.where(missing[:, None], sound, seen)
    if gone:
        wide = _log_normal(filled, sound, covariance * _WIDE**2)
        return np.asarray(np.where(missing, np.log(1.0 - _OTHER_END), np.log(_OTHER_END) + wide))
    near = np.log(1.0 - _SLIP) + _log_normal(filled, mean, covariance)
    far = np.log(_SLIP) + _log_normal(filled, mean, covariance * _WIDE**2)
    return np.asarray(np.where(missing, np.log(_OTHER_END), np.logaddexp(near, far)))


def _log_normal(seen: Floats, mean: Floats, covariance: Floats) -> Floats:
    lower = np.linalg.cholesky(covariance)
    off = np.linalg.solve(lower, (seen - mean).T)
    size = np.log(2.0 * np.pi) * len(mean) + 2.0 * np.log(np.diag(lower)).sum()
    return np.asarray(-0.5 * ((off**2).sum(axis=0) + size))
