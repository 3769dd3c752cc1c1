"""A diagnosis with what small tests have told, and the one that should be made next."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import nan

import numpy as np

from rillkeeper.inquiry.why.causes import NONE
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.inquiry.why.onset import PULSE
from rillkeeper.inquiry.why.rank import Ranking, weighed_again
from rillkeeper.inquiry.why.small_tests.expected import Expected, Suspect, expected
from rillkeeper.inquiry.why.small_tests.kept import Made
from rillkeeper.inquiry.why.small_tests.table import BY_NAME, SmallTest
from rillkeeper.inquiry.why.small_tests.tried import Tried
from rillkeeper.inquiry.why.small_tests.worth import WORTH_BITS, Worth, worths

_SUSPECT_FROM = 0.01
_SUSPECTS_MAX = 6
TAP_SHARE = 0.8
"""Of the rated pressure: a start against the shut tap that would come higher is not asked for."""


def tap_is_safe(top_pa: float, settings: dict[str, int]) -> bool:
    """Whether a start against the shut tap that comes so high [Pa] may be asked for; not where
    nobody knows how high it comes."""
    return top_pa <= TAP_SHARE * settings["rating_pa"]


@dataclass(frozen=True)
class Informed:
    """What small tests have told, and could tell."""

    found: Expected
    made: tuple[Made, ...]
    """Those that count for the trouble."""
    worths: tuple[Worth, ...]
    """Those that could still be made, the best choice first; none where one cause is named."""
    nights: Ranking
    """The causes by the nights alone."""

    @property
    def best(self) -> Worth | None:
        """The test to make next; None where none is worth the walk."""
        first = self.worths[0] if self.worths else None
        return first if first and first.bits >= WORTH_BITS else None


def inform(
    tried: Tried,
    diagnosis: Diagnosis,
    made: Sequence[Made] = (),
    progress: Callable[[float], None] = lambda share: None,
) -> tuple[Diagnosis, Informed | None]:
    """The diagnosis weighed again by the tests that were made since the trouble began.

    Nothing is tried out where one cause is named alone and no test was made.
    """
    counted = counting(diagnosis, made)
    if not diagnosis.named or not (diagnosis.alike or counted):
        return diagnosis, None
    names = {one.test for one in counted}
    before = diagnosis.ranking
    others = (trouble.finding.mode for trouble in diagnosis.troubles[1:])
    in_a_run = {mode.fault for mode in others if mode.in_a_run}
    tried = tried.beside(beside_of(tried, diagnosis), in_a_run)
    found = expected(tried, suspects_of(before), progress)
    ranking = weighed(before, found, counted)
    after = replace(diagnosis, ranking=ranking)
    left: list[Worth] = []
    if after.named and after.alike:
        left = worths(
            _with(found, ranking), tried.site.board, sorted(names | _unsafe(found, tried.settings))
        )
    return after, Informed(found, tuple(counted), tuple(left), before)


def beside_of(tried: Tried, diagnosis: Diagnosis) -> list[tuple[str, float]]:
    """The other troubles that are still there: a test reads them too."""
    found = []
    for trouble in diagnosis.troubles[1:]:
        one = trouble.finding
        if one.onset.shape != PULSE:
            nearest = min(one.mode.severities, key=lambda much: abs(much - one.severity))
            found.append((one.mode.fault, one.mode.severity_on(tried.site, nearest)))
    return found


def counting(diagnosis: Diagnosis, made: Sequence[Made]) -> list[Made]:
    """The tests that speak of the trouble: made since it began, while it is there. Of a test that
    was made twice the last counts."""
    if not diagnosis.findings or diagnosis.findings[0].onset.shape == PULSE:
        return []
    since = diagnosis.findings[0].since
    last = {one.test: one for one in made if one.night >= since and one.readings}
    return [one for name, one in last.items() if name in BY_NAME]


def suspects_of(ranking: Ranking) -> list[Suspect]:
    """The likely causes, and nothing being wrong."""
    worth = [one for one in ranking.findings if one.probability >= _SUSPECT_FROM]
    found = [
        Suspect(one.cause.name, one.probability, one.mode, one.severity)
        for one in worth[:_SUSPECTS_MAX]
    ]
    return [*found, Suspect(NONE, max(ranking.nothing, 1e-6), None)]


def weighed(ranking: Ranking, found: Expected, made: Sequence[Made]) -> Ranking:
    """A ranking after tests."""
    if not made:
        return ranking
    total = np.zeros(len(found.suspects))
    for one in made:
        test = BY_NAME[one.test]
        total += found.log_likelihoods(test, seen_of(test, one))[:, 0]
    by_name = dict(zip((one.name for one in found.suspects), total.tolist(), strict=True))
    return weighed_again(ranking, by_name, by_name.pop(NONE))


def seen_of(test: SmallTest, made: Made) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """The readings of a test as one row."""
    values = [made.readings.get(one.key) for one in test.readings]
    return np.array([[nan if value is None else value for value in values]])


def _with(found: Expected, ranking: Ranking) -> Expected:
    """The same trials with the probabilities of now."""
    now = {one.cause.name: one.probability for one in ranking.findings}
    now[NONE] = max(ranking.nothing, 1e-6)
    suspects = (replace(one, probability=now[one.name]) for one in found.suspects)
    return replace(found, suspects=tuple(suspects))


def _unsafe(found: Expected, settings: dict[str, int]) -> set[str]:
    """The shut tap, where the pump would come near its rating before the board stops it."""
    tops = [row["rise"] for row in (*found.rows, found.margins.sound)]
    top_pa = float(np.exp(np.nanmax([*tops, 0.0])))
    return set() if tap_is_safe(top_pa, settings) else {"tap"}
