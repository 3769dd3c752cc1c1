"""The fast replay beside the same night stepped through: a sound one, and one of each fault.

A case is "seed/fault": a drawn site with a set as long as its battery gives, and the fault at
some time of the night, at some severity, at once or slowly. What the board stopped for, in its own
words, must be the same; litres and ampere-hours the same to 0.3 %.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import count

import numpy as np

from keeper import lines
from keeper.records import FIRST, GIVEN, KIND, STOP
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.errors import NoSafeLimit
from rillsim.faults.catalogue import CATALOGUE, find
from rillsim.faults.fittings import board_with, needs_of
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, SetSpec, Site
from tests.campaign.part import WORLD, Part, Row, Rows
from tests.scenarios.draw import any_site, nights_on_a_charge
from tests.scenarios.events import cause_of, event_of

EACH = 200
"""Nights of each kind that are wanted."""
SOUND = "sound"
KINDS = (SOUND, *(fault.name for fault in CATALOGUE))
SAME = 0.003
"""Of litres and ampere-hours (issue 17)."""
FEW_L, FEW_AH = 3.0, 0.05
"""What a few seconds give: a stop may be as much earlier."""
LEAST = 0.1
"""Less than this share of those is no difference, whatever the whole is."""
STREAM = 17
MINUTES = (12, 50)
SLOW_S = (600.0, 7200.0)


def draw(case: str) -> Site:
    """The site of a case, with its fault."""
    seed, kind = case.split("/")
    site = any_site(int(seed))
    rng = np.random.default_rng((int(seed), STREAM, KINDS.index(kind)))
    minutes = float(rng.integers(*MINUTES))
    runs = int(rng.integers(1, 4))
    only = SetSpec(amount=minutes, runs=runs, soak_s=600)
    site = replace(site, sets=(only,))
    needs: frozenset[str] = frozenset() if kind == SOUND else needs_of(kind)
    site = replace(site, board=board_with(site.board, needs))
    if kind == SOUND:
        return site
    severity = float(rng.uniform(0.1, 1.0))
    if find(kind).both_ways and rng.integers(2):
        severity = -severity
    begins_s = float(rng.choice((-7200.0, rng.uniform(0.0, 60.0 * minutes))))
    grows_s = float(rng.uniform(*SLOW_S)) if rng.integers(2) else 0.0
    return replace(site, faults=(FaultSpec(kind, 1, begins_s, severity, grows_s=grows_s),))


def cases(first: int) -> Iterator[str]:
    """Every kind, seed by seed."""
    for seed in count(first):
        yield from (f"{seed}/{kind}" for kind in KINDS)


def both(case: str) -> tuple[Week, Week]:
    """The night stepped through, and the night in one go. Raises NoSafeLimit."""
    site = draw(case)
    if nights_on_a_charge(replace(site, faults=())) < 1.0:
        raise NoSafeLimit("the battery is too small")
    settings = settings_of(site)
    seed = int(case.split("/")[0])
    stepped, glided = (
        replay(site, settings, nights=1, seed=seed, fast=on) for on in (False, True)
    )
    return stepped, glided


def words_of(log: tuple[str, ...]) -> list[str]:
    """What the board said and did, without times and readings."""
    words = []
    for line in log:
        row = lines.parse_line(line)
        if row[KIND] == GIVEN:
            words.append(f"set ended by {cause_of(row[FIRST + 1])}")
        elif row[KIND] == STOP:
            words.append(f"stop by {cause_of(row[FIRST])}")
        elif event := event_of(row):
            words.append(event)
    return words


def differ(stepped: Week, glided: Week) -> list[str]:
    """What is not the same of two replays of the same nights."""
    wrong = []
    was, now = words_of(stepped.log), words_of(glided.log)
    if was != now:
        wrong.append(f"stepped through: {', '.join(was)}; in one go: {', '.join(now)}")
    water = [sum(night.litres for night in week.truth) for week in (stepped, glided)]
    charge = [week.accounts.charge.became["pump_as"] / 3600.0 for week in (stepped, glided)]
    for name, (a, b), few in (("litres", water, FEW_L), ("Ah", charge, FEW_AH)):
        if abs(b - a) > max(SAME * abs(a), few if _cut(was) else LEAST * few):
            wrong.append(f"{name}: {a:.3f} and {b:.3f}")
    return wrong


def _cut(words: list[str]) -> bool:
    """Whether anything but the end of a set has stopped the pump."""
    return any(word.startswith("trip") for word in words)


def attempt(case: str) -> Row:
    """One night, twice."""
    try:
        stepped, glided = both(case)
    except NoSafeLimit as refusal:
        return {"tried": 0, "failures": [], "refused": str(refusal)}
    return {
        "tried": 1,
        "failures": differ(stepped, glided),
        "steps": [stepped.control_steps, glided.control_steps],
        "chemistry": stepped.site.battery.chemistry,
    }


def summary(rows: Rows) -> list[str]:
    """How many nights of each kind."""
    tried = dict.fromkeys(KINDS, 0)
    for case, row in rows.items():
        tried[case.split("/")[1]] += row.get("tried", 0)
    steps = [row["steps"] for row in rows.values() if "steps" in row]
    if not steps:
        return []
    of, fewer = (sum(each[place] for each in steps) for place in (0, 1))
    return [
        f"{min(tried.values())} to {max(tried.values())} nights of each kind of {EACH} wanted; "
        f"{fewer / of:.1%} of the control steps were gone."
    ]


PART = Part(
    "glides",
    cases,
    attempt,
    "Nights of drawn sites in the fast replay beside the same nights stepped through, sound ones "
    "and those of every fault: same stops, litres and ampere-hours to 0.3 %.",
    group=lambda case: case.split("/")[1],
    summary=summary,
    detail=lambda case: words_of(both(case)[1].log),
    made_of=(*WORLD, "tests/campaign/glides.py"),
    endless=True,
)
