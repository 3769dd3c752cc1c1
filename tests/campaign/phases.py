"""Every fault of the catalogue, begun in each phase of a night, on drawn sites.

A cell is "seed/fault/phase". The plant says what pump and battery went through, the log what the
board made of it, and ``verdicts.py`` whether that is right.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import count, islice
from typing import NamedTuple

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.errors import NoSafeLimit
from rillsim.faults.catalogue import CATALOGUE
from rillsim.faults.fittings import OPTIONS, board_with, needs_of
from rillsim.site import FaultSpec, Site
from tests.campaign.night import Told, run_night, short_night
from tests.campaign.part import WORLD, Part, Row
from tests.campaign.verdicts import judge, line_on
from tests.scenarios.draw import draw_site
from tests.scenarios.test_no_false_trip import NIGHTS

SITES = 6
PHASES = (
    "idle",
    "check",
    "prime",
    "early run",
    "mid run",
    "soak",
    "last seconds",
    "rest",
    "lockout",
)
"""Hours before the first set; in its check, prime and run; in the pause and at the end of the
set; while the pump rests between two tries; and after a lockout."""
BACKWARDS = "-"
"""Ends the name of a fault that goes in its other direction."""
FAULTS = tuple(fault.name for fault in CATALOGUE) + tuple(
    fault.name + BACKWARDS for fault in CATALOGUE if fault.both_ways
)
NOTHING: frozenset[str] = frozenset()
NEEDS = (NOTHING, *(frozenset({option}) for option in sorted(OPTIONS)))
"""What is fitted beside a board's usual channels."""


class Place(NamedTuple):
    """A drawn site, its settings, and how its sound night goes."""

    site: Site
    settings: dict[str, int]
    sound: Told


def sites_from(first: int) -> Iterator[int]:
    """Seeds from the first on that give a site with safe limits, whatever a fault needs."""
    return (seed for seed in count(first) if _has_limits(seed))


@cache
def _has_limits(seed: int) -> bool:
    drawn = draw_site(seed, NIGHTS)
    try:
        return drawn is not None and all(settings_of(_fitted(drawn, needs)) for needs in NEEDS)
    except NoSafeLimit:
        return False


def _fitted(drawn: Site, needs: frozenset[str]) -> Site:
    """With both channels: what is safe without a transducer need not be with one."""
    site = short_night(drawn)
    return replace(site, board=board_with(site.board, needs))


def fault_needs(*faults: str) -> frozenset[str]:
    """What must be fitted for these faults."""
    return needs_of(*(fault.removesuffix(BACKWARDS) for fault in faults))


@cache
def place(seed: int, needs: frozenset[str] = NOTHING) -> Place:
    """What every cell of a site begins with."""
    drawn = draw_site(seed, NIGHTS)
    if drawn is None:
        raise ValueError(f"seed {seed} gives no site with safe limits")
    site = _fitted(drawn, needs)
    settings = settings_of(site)
    return Place(site, settings, run_night(site, settings, seed))


def begins_s(told: Told, state: str, times: int = 1) -> float:
    """When the board came into a state, for the first time or a later one."""
    found = (begun_s for begun_s, name in told.states if name == state)
    begun_s = next(islice(found, times - 1, None), None)
    if begun_s is None:
        raise ValueError(f"the board never came into {state} {times} times: {told.states}")
    return begun_s


def sound_offset_s(sound: Told, phase: str) -> float:
    """When a phase of the sound night lasts, from the time of its first set."""
    last_s = begins_s(sound, "run", 2) + begins_s(sound, "soak") - begins_s(sound, "run")
    return {
        "idle": -7200.0,
        "check": begins_s(sound, "check") + 1.0,
        "prime": begins_s(sound, "prime") + 0.4,
        "early run": begins_s(sound, "run") + 2.0,
        "mid run": begins_s(sound, "run") + 150.0,
        "soak": begins_s(sound, "soak") + 60.0,
        "last seconds": last_s - 2.0,
    }[phase]


@cache
def led_up(
    seed: int, phase: str, needs: frozenset[str] = NOTHING
) -> tuple[dict[str, int], tuple[FaultSpec, ...], float]:
    """Settings, what else happens before, and when the fault begins.

    A tap that is shut for a moment leads to a rest; a source that is gone for a minute to a
    lockout, on a board that makes no second try.
    """
    at = place(seed, needs)
    if phase not in ("rest", "lockout"):
        return at.settings, (), sound_offset_s(at.sound, phase)
    begin_s = sound_offset_s(at.sound, "mid run")
    if phase == "rest":
        settings, before = at.settings, FaultSpec("outlet_shut", 1, begin_s, duration_s=20.0)
    else:
        settings = at.settings | {"dry_tries": 0}
        before = FaultSpec("source_empty", 1, begin_s, duration_s=60.0)
    told = run_night(at.site, settings, seed, (before,))
    return settings, (before,), begins_s(told, phase) + 60.0


def spec_of(fault: str, offset_s: float) -> FaultSpec:
    """A fault at full severity, from this time on."""
    severity = -1.0 if fault.endswith(BACKWARDS) else 1.0
    return FaultSpec(fault.removesuffix(BACKWARDS), 1, offset_s, severity)


def sound_on_s(sound: Told, from_s: float) -> float:
    """How long the pump of the sound night runs from then on."""
    ends = [*sound.states[1:], (float("inf"), "")]
    spells = zip(sound.states, ends, strict=True)
    return sum(
        max(end_s - max(begun_s, from_s), 0.0)
        for (begun_s, state), (end_s, _) in spells
        if state in ("prime", "run")
    )


def told_of(case: str) -> Told:
    """The night of one cell, with its log."""
    seed, fault, phase = case.split("/")
    needs = fault_needs(fault)
    settings, before, offset_s = led_up(int(seed), phase, needs)
    faults = (*before, spec_of(fault, offset_s))
    return run_night(place(int(seed), needs).site, settings, int(seed), faults)


def attempt(case: str) -> Row:
    """One cell."""
    seed, fault, phase = case.split("/")
    needs = fault_needs(fault)
    at, told = place(int(seed), needs), told_of(case)
    offset_s = led_up(int(seed), phase, needs)[2]
    return row_of(at, told, offset_s)


def row_of(at: Place, told: Told, offset_s: float) -> Row:
    """What is kept of a night: what the sound one says too is left out."""
    said = Counter(told.said) - Counter(at.sound.said)
    return {
        **told.as_row(),
        "said": [word for word in dict.fromkeys(told.said) if said[word] > 0],
        "after": [name for begun_s, name in told.states if begun_s > offset_s],
        "sound_s": round(sound_on_s(at.sound, offset_s), 1),
        "capacity_ah": at.site.battery.capacity_ah,
        "load_sense": at.site.board.load_sense_fitted,
    }


def fault_and_lock(case: str) -> tuple[tuple[str, ...], bool]:
    """The fault of a cell, and whether the board is locked out by then."""
    _, fault, phase = case.split("/")
    return (fault.removesuffix(BACKWARDS),), phase == "lockout"


def cases(first: int) -> Iterator[str]:
    """Every cell, site by site."""
    for seed in islice(sites_from(first), SITES):
        for phase in PHASES:
            yield from (f"{seed}/{fault}/{phase}" for fault in FAULTS)


PART = Part(
    "phases",
    cases,
    attempt,
    "Every fault of the catalogue begun in each phase of a night on drawn sites: is pump or "
    "battery harmed by the plant's truth, and are the board's words right?",
    verdict=lambda case, row: judge(row, *fault_and_lock(case)),
    told=lambda case, row: line_on(row, *fault_and_lock(case)),
    group=lambda case: case.split("/")[1],
    allowed={"harmed": 0.0, "wrong": 0.02},
    detail=lambda case: list(told_of(case).log),
    made_of=(*WORLD, "tests/campaign/phases.py"),
)
