"""One part of a campaign: cases with a name each, what tries one, and how that is judged.

A case is its name: `make campaign ARGS='--only PART --case NAME'` does it again, for nothing
else has any influence. What was observed is kept apart from the judgement on it, so that a
mended table of right words judges old observations anew.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from scipy.stats import binom

BY_CHANCE = 0.01
"""So rarely does a share of failures that is allowed give more of them than are let pass."""

Row = dict[str, Any]
"""What was observed of a case, as JSON can hold it."""
Rows = dict[str, Row]
"""By the names of the cases."""

WORLD = (
    "firmware/keeper",
    "sim/rillsim",
    "host/rillkeeper/design",
    "host/rillkeeper/site",
    "tests/scenarios/draw.py",
    "tests/campaign/night.py",
)
"""What decides a replayed night: results of another state of it are not counted."""
EVERYTHING = ("firmware", "sim", "host", "tests")
FELL_OVER = "fell over"
"""The verdict on a case whose attempt ended with an exception; a failure of every part."""


def good(case: str, row: Row) -> str:
    """The verdict of a part whose attempts list their own failures."""
    return "failed" if row["failures"] else "good"


def list_failures(case: str, row: Row) -> str:
    """What such a case says of itself."""
    return "; ".join(row["failures"])


@dataclass(frozen=True)
class Part:
    """A name, what tries one case, and how it is judged."""

    name: str
    cases: Callable[[int], Iterable[str]]
    """Names of the cases of a seed, in the order in which they are tried."""
    attempt: Callable[[str], Row]
    sentence: str = ""
    """What it asks."""
    verdict: Callable[[str, Row], str] = good
    told: Callable[[str, Row], str] = list_failures
    """A failure in one line."""
    group: Callable[[str], str] | None = None
    """What failures of the same words have in common on the page; each by itself without it."""
    allowed: Mapping[str, float] = field(default_factory=lambda: {"failed": 0.0})
    """The verdicts that are failures, each with the share of the cases that may be so."""
    summary: Callable[[Rows], list[str]] = lambda rows: []
    """Sentences on all of them together."""
    detail: Callable[[str], list[str]] = lambda case: []
    """All that can be said of one case: its log."""
    made_of: tuple[str, ...] = WORLD
    """Files and folders on which the results depend."""
    endless: bool = False
    """Whether there is always another case."""


@dataclass
class Case:
    """What came of one seed of a part that only counts failures."""

    tried: int
    """How many cases; none where the seed gives nothing to try."""
    failures: list[str] = field(default_factory=list)


def of_seeds(name: str, attempt: Callable[[int], Case], sentence: str = "", **more: Any) -> Part:
    """A part whose cases are seeds counted up from the first."""

    def cases(first: int) -> Iterable[str]:
        return map(str, count(first))

    def one(case: str) -> Row:
        return vars(attempt(int(case)))

    return Part(name, cases, one, sentence, **{"made_of": EVERYTHING, "endless": True, **more})


@dataclass
class Outcome:
    """What came of a part, as far as it went."""

    part: Part
    rows: Rows
    seconds: float = 0.0
    total: int | None = None
    """How many cases there are; None where they never end."""

    @classmethod
    def of(cls, part: Part, first: int, rows: Rows, seconds: float) -> "Outcome":
        """What is kept of the cases of a seed."""
        if part.endless:
            return cls(part, rows, seconds)
        cases = set(part.cases(first))
        mine = {case: row for case, row in rows.items() if case in cases}
        return cls(part, mine, seconds, len(cases))

    @property
    def verdicts(self) -> Counter[str]:
        """How many cases of each verdict."""
        return Counter(self.verdict(case) for case in self.rows)

    def verdict(self, case: str) -> str:
        """The verdict on one case."""
        row = self.rows[case]
        return FELL_OVER if FELL_OVER in row else self.part.verdict(case, row)

    def told(self, case: str) -> str:
        """One line on one case."""
        row = self.rows[case]
        return str(row[FELL_OVER]) if FELL_OVER in row else self.part.told(case, row)

    @property
    def failures(self) -> list[tuple[str, str, str]]:
        """Case, verdict and what happened."""
        bad = {FELL_OVER, *self.part.allowed}
        found = ((case, self.verdict(case)) for case in self.rows)
        return [(case, verdict, self.told(case)) for case, verdict in found if verdict in bad]

    @property
    def tried(self) -> int:
        """Cases; of a seed that tries several, all of those."""
        return sum(row.get("tried", 1) for row in self.rows.values())

    @property
    def failed(self) -> bool:
        """Whether more cases failed than the share that is allowed explains."""
        found, cases = self.verdicts, len(self.rows)
        shares = {**self.part.allowed, FELL_OVER: 0.0}
        return any(
            beyond_chance(found[verdict], cases, share) for verdict, share in shares.items()
        )

    def again(self, case: str) -> str:
        """The command that does one case again, and tells all of it."""
        return f"make campaign ARGS='--only {self.part.name} --case \"{case}\"'"


def beyond_chance(found: int, cases: int, share: float) -> bool:
    """Whether so many of so many are more than a share that is allowed explains (binomial)."""
    return found > 0 and bool(binom.sf(found - 1, cases, share) < BY_CHANCE)
