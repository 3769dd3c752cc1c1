"""Settings drawn at random that `Settings` accepts: no such board may run a pump to its ruin.

The demonstration site's settings with some of them changed: to an end of the range, anywhere in
it, or some way off. What says how the board is wired stays as it is, and so do the hours of the
sets: a board told of a sensor that is not there is unprotected, and says so. Each is tried on a
sound night, with the source gone and with the line shut.
"""

from collections.abc import Iterator
from functools import cache
from itertools import count
from random import Random

from keeper.settings import SCHEMA, problems
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.site import FaultSpec, Site
from tests.campaign.night import Told, run_night, short_night
from tests.campaign.part import WORLD, Part, Row
from tests.campaign.verdicts import DRY_S

TROUBLES = ("source_empty", "outlet_shut")
FAULT_S = 150.0
"""In the middle of the first run."""
DRY_END_S = 2.0 * DRY_S
"""Twice what the site's own settings are to stay within: beyond is dry running without end."""
SHUT_S = 60.0
"""All pumping against the shut line in a night, however often it is tried."""
WATER_S = 60.0
"""A sound night that pumps less than this waters nothing."""
KEYS_MAX = 6
DRAWS = 400
FIXED = ("_fitted", "_count", "_trim_mv", "_offset_mv", "_mc_per_count", "_span_kpa")
"""Ends of keys that say what is fitted and how it reads."""
FIXED_KEYS = ("battery_full_mv", "current_full_ma")


@cache
def base() -> tuple[Site, dict[str, int]]:
    """The demonstration site of a short night, and its settings."""
    site = short_night(demo_site())
    return site, settings_of(site)


def free_rows() -> list[tuple[str, int, int]]:
    """Key, least and most of every setting that is changed."""
    return [
        (key, low, high)
        for key, _, low, high, _ in SCHEMA
        if not key.endswith(FIXED) and key not in FIXED_KEYS and not key.startswith("set")
    ]


def draw(seed: int) -> dict[str, int]:
    """The changes of a seed: the first drawn that are accepted."""
    random = Random(seed)
    _, settings = base()
    rows = free_rows()
    for _ in range(DRAWS):
        changes = {}
        for key, low, high in random.sample(rows, random.randint(1, KEYS_MAX)):
            now = settings.get(key, low)
            near = round(now * random.choice((0.25, 0.5, 0.8, 1.25, 2.0, 4.0)))
            drawn = random.choice((low, high, random.randint(low, high), near))
            changes[key] = min(max(drawn, low), high)
        if not problems(settings | changes):
            return changes
    raise ValueError(f"none of {DRAWS} draws is accepted")


def nights_of(seed: int) -> dict[str, Told]:
    """The sound night, and that of each trouble."""
    site, settings = base()
    changed = settings | draw(seed)
    told = {"sound": run_night(site, changed, seed)}
    for trouble in TROUBLES:
        told[trouble] = run_night(site, changed, seed, (FaultSpec(trouble, 1, FAULT_S),))
    return told


def attempt(case: str) -> Row:
    """What the pump went through in each of the three nights."""
    told = nights_of(int(case))
    return {"changes": draw(int(case)), **{name: one.as_row() for name, one in told.items()}}


def found(row: Row) -> list[str]:
    """What such a board does to its pump."""
    watered_s = row["sound"]["toll"].get("on_s", 0.0)
    dry_s = row["source_empty"]["toll"].get("dry_s", 0.0)
    shut_s = row["outlet_shut"]["toll"].get("on_s", 0.0)
    return [
        *([f"pumps dry for {dry_s:.0f} s"] if dry_s > DRY_END_S else []),
        *([f"pumps against a shut line for {shut_s:.0f} s"] if shut_s > SHUT_S else []),
        *([f"never waters: {said(row)}"] if watered_s < WATER_S else []),
    ]


def said(row: Row) -> str:
    """The first words of the sound night."""
    return row["sound"]["said"][0] if row["sound"]["said"] else "without a word"


def told(case: str, row: Row) -> str:
    """What happens, and with which settings."""
    changes = ", ".join(f"{key}={value}" for key, value in row["changes"].items())
    return f"{'; '.join(found(row))} [{changes}]"


def cases(first: int) -> Iterator[str]:
    """Seeds, one after the other."""
    return map(str, count(first))


def detail(case: str) -> list[str]:
    """The three logs."""
    return [f"{name}: {line}" for name, one in nights_of(int(case)).items() for line in one.log]


PART = Part(
    "settings",
    cases,
    attempt,
    "Settings drawn at random that the board accepts, on a sound night, with the source gone and "
    "with the line shut: none pumps dry or against a shut line without end, none waters never.",
    verdict=lambda case, row: "unsafe" if found(row) else "safe",
    told=told,
    allowed={"unsafe": 0.0},
    detail=detail,
    made_of=(*WORLD, "tests/campaign/wild_settings.py"),
    endless=True,
)
