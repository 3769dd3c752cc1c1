"""Two faults in one night, drawn: neither may hide the other so that the pump is harmed.

A case is "seed/fault@phase+fault@phase". The words of either fault are right.
"""

from collections.abc import Iterator
from itertools import islice
from random import Random

from tests.campaign.night import Told, run_night
from tests.campaign.part import WORLD, Part, Row
from tests.campaign.phases import (
    BACKWARDS,
    FAULTS,
    PHASES,
    SITES,
    Place,
    fault_needs,
    place,
    row_of,
    sites_from,
    sound_offset_s,
    spec_of,
)
from tests.campaign.verdicts import judge, line_on

PLAIN = tuple(phase for phase in PHASES if phase not in ("rest", "lockout"))
"""Phases that the sound night comes to by itself."""


def cases(first: int) -> Iterator[str]:
    """Pairs without end, on the sites of ``phases``."""
    random = Random(first)
    seeds = list(islice(sites_from(first), SITES))
    while True:
        pair = zip(random.sample(FAULTS, 2), random.choices(PLAIN, k=2), strict=True)
        both = "+".join(f"{fault}@{phase}" for fault, phase in pair)
        yield f"{random.choice(seeds)}/{both}"


def _parts(case: str) -> tuple[int, list[tuple[str, str]]]:
    seed, _, both = case.partition("/")
    return int(seed), [tuple(one.split("@")) for one in both.split("+")]  # type: ignore[misc]


def _place(case: str) -> Place:
    seed, pair = _parts(case)
    return place(seed, fault_needs(*(fault for fault, _ in pair)))


def told_of(case: str) -> tuple[Told, float]:
    """The night, and when the first of the two begins."""
    seed, pair = _parts(case)
    at = _place(case)
    found = [spec_of(fault, sound_offset_s(at.sound, phase)) for fault, phase in pair]
    found.sort(key=lambda spec: spec.offset_s)
    told = run_night(at.site, at.settings, seed, tuple(found), since=-2)
    return told, found[0].offset_s


def attempt(case: str) -> Row:
    """One pair."""
    told, offset_s = told_of(case)
    return row_of(_place(case), told, offset_s)


def faults_of(case: str) -> tuple[str, ...]:
    """The names of both."""
    return tuple(fault.removesuffix(BACKWARDS) for fault, _ in _parts(case)[1])


PART = Part(
    "pairs",
    cases,
    attempt,
    "Two faults in one night, each in a phase of its own: the words of either are right.",
    verdict=lambda case, row: judge(row, faults_of(case)),
    told=lambda case, row: line_on(row, faults_of(case)),
    allowed={"harmed": 0.0, "wrong": 0.02},
    detail=lambda case: list(told_of(case)[0].log),
    made_of=(*WORLD, "tests/campaign/phases.py", "tests/campaign/pairs.py"),
    endless=True,
)
