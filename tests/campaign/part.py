"""One part of a campaign: seeds counted up from the first, until the part's time is over."""

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from math import comb

BY_CHANCE = 0.01
"""So rarely does a share of failures that is allowed give more of them than are let pass."""


@dataclass
class Case:
    """What came of one seed."""

    tried: int
    """How many cases; none where the seed gives nothing to try."""
    failures: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Part:
    """A name, and what tries one seed."""

    name: str
    attempt: Callable[[int], Case]
    draws: bool = True
    """Whether another seed is another case; one is tried otherwise."""
    failures_allowed: float = 0.0
    """A share of the cases, where the goal itself is a share."""


@dataclass
class Outcome:
    """What came of a part."""

    part: Part
    seed: int
    seeds: int = 0
    cases: int = 0
    failures: list[tuple[int, str]] = field(default_factory=list)
    """Seed and what went wrong."""
    seconds: float = 0.0

    @property
    def failed(self) -> bool:
        """Whether there are failures, or more of them than the share that is allowed explains."""
        share, cases, found = self.part.failures_allowed, self.cases, len(self.failures)
        fewer = (comb(cases, n) * share**n * (1.0 - share) ** (cases - n) for n in range(found))
        return found > 0 and 1.0 - sum(fewer) < BY_CHANCE

    def repeat(self, seed: int | None = None) -> str:
        """The command that does all of it again, or one seed of it."""
        first, seeds = (self.seed, self.seeds) if seed is None else (seed, 1)
        return f"make campaign SEED={first} ARGS='--only {self.part.name} --seeds {seeds}'"


def seeds_from(first: int, wanted: int | None, seconds: float) -> Iterator[int]:
    """As many as are wanted, or until the time is over; one at least."""
    end_s = time.monotonic() + seconds
    seed = first
    while (seed < first + wanted) if wanted else (seed == first or time.monotonic() < end_s):
        yield seed
        seed += 1


def run(part: Part, first: int, wanted: int | None, seconds: float) -> Outcome:
    """Try seeds, and say on standard error how far it is."""
    outcome = Outcome(part, first)
    begun_s = time.monotonic()
    for seed in seeds_from(first, wanted if part.draws else 1, seconds):
        print(f"{part.name}: seed {seed}", file=sys.stderr, flush=True)
        try:
            case = part.attempt(seed)
        except Exception as error:  # Whatever falls over is what a campaign is to find.
            what = str(error).partition("\n")[0]
            case = Case(1, [f"{type(error).__name__}: {what}"])
        outcome.seeds += 1
        outcome.cases += case.tried
        outcome.seconds = time.monotonic() - begun_s
        for failure in case.failures:
            outcome.failures.append((seed, failure))
            print(f"  {failure}\n  {outcome.repeat(seed)}", file=sys.stderr, flush=True)
    return outcome
