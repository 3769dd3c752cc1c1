"""Sound nights on drawn sites: a stop in one of them is false, and water is missing.

A case is a seed: a site as the scenarios draw them, here with a panel or without, at any hour of
the set, from spring to autumn, for a week, or for the nights that its charge lasts. A set that is
left out in a frost that there was is no false stop. Sites without limits are counted, with what
`limits` says; it must name what to buy.

What stands at the site of an odd seed is not quite as its file says (``owned.py``): its battery
gives as little as three quarters of its label, and is asked for so many nights less. Each
seventh has a second relay, and each ninth a flow meter, beside a transducer or without one.

Steady minutes are passed in one go, as the part `glides` shows that they may be; each tenth seed
is stepped through as well, and must be told in the same words.
"""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import count

import numpy as np
from scipy.stats import beta

from keeper import lines
from keeper.records import CAUSES, COMPLETE, DAY, FIRST, GIVEN, KIND, RAINED, SECOND
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.remedies import named
from rillkeeper.errors import NoSafeLimit
from rillsim.garden.weather import Weather
from rillsim.garden.weatherdraw import draw_weather
from rillsim.replay import DAY_S, replay, start_day_of
from rillsim.site import SetSpec, Site, SolarSpec
from tests.campaign.glides import words_of
from tests.campaign.owned import FILE_AGE, truth_of
from tests.campaign.part import WORLD, Part, Row, Rows
from tests.scenarios.draw import any_site, nights_on_a_charge
from tests.scenarios.events import cause_of, event_of

NIGHTS = 7
OWNED_SHARE = 0.7
"""Of the nights that the label lasts for."""
STEPPED_EACH = 10
"""Each so manieth seed is also stepped through."""
HOURS = (4, 22)
"""First and last hour of a set."""
PANEL_W = (5.0, 60.0)
NOON_S = 43200
COLD_C = 2.5
"""No start below 2 C (the board's own setting), and its sensor may be half a kelvin off."""
FROST = "frost"
WARNED = ("warn", "clock", "skip rain", "short")
"""Words that stop nothing that should have run."""
SURE = 0.95
GOAL_NIGHTS = 20_000
GOAL_REFUSED = 0.1
"""Share of the drawn sites that may be without limits."""
NOTHING_TO_BUY = "refused for good"
UNLIKE = "not as stepped through"
SKIPPED = f"skip {CAUSES[RAINED]}"
TWO_RELAYS_EACH = 7
"""Of so many seeds the last has a second relay."""
METER_EACH = 9
"""Of so many seeds the last has a flow meter."""
WITHIN = frozenset({CAUSES[COMPLETE], CAUSES[RAINED]})
"""How a sound set may end."""


def draw(seed: int) -> Site:
    """The site of a seed, with a panel or without, its set at some hour, and a relay or two."""
    site = any_site(seed)
    rng = np.random.default_rng((seed, NIGHTS))
    power_w = float(rng.uniform(*PANEL_W)) if rng.integers(2) else 0.0
    hour = int(rng.integers(HOURS[0], HOURS[1] + 1))
    only: SetSpec = site.sets[0]
    age = FILE_AGE if is_owned(seed) else site.battery.age
    return replace(
        site,
        board=replace(
            site.board, second_relay_fitted=has_two_relays(seed), flow_fitted=has_meter(seed)
        ),
        battery=replace(site.battery, age=age),
        solar=SolarSpec(power_w=power_w),
        sets=(replace(only, start_s=hour * 3600),),
    )


def has_two_relays(seed: int) -> bool:
    """Whether a second relay is fitted."""
    return seed % TWO_RELAYS_EACH == TWO_RELAYS_EACH - 1


def has_meter(seed: int) -> bool:
    """Whether a flow meter is fitted."""
    return seed % METER_EACH == METER_EACH - 1


def is_owned(seed: int) -> bool:
    """Whether the truth differs from the file."""
    return bool(seed % 2)


def cases(first: int) -> Iterator[str]:
    """Seeds, one after the other."""
    return map(str, count(first))


def told_of(case: str, *, fast: bool = False) -> tuple[str, ...]:
    """The log of a case. Raises NoSafeLimit."""
    site = draw(int(case))
    seed = int(case)
    nights, weather = nights_of(site, seed), weather_of(site, case)
    truth = truth_of(site, seed) if is_owned(seed) else site
    return replay(
        truth, settings_of(site), nights=nights, seed=seed, weather=weather, fast=fast
    ).log


def weather_of(site: Site, case: str) -> Weather:
    """The days of a case."""
    return draw_weather(site.weather, NIGHTS + 1, int(case), site.water.altitude_m)


def nights_of(site: Site, seed: int) -> int:
    """A week, or what the battery lasts for. Raises NoSafeLimit."""
    share = OWNED_SHARE if is_owned(seed) else 1.0
    return min(NIGHTS, int(share * nights_on_a_charge(site)))


def attempt(case: str) -> Row:
    """The nights of one site."""
    site = draw(int(case))
    try:
        nights = nights_of(site, int(case))
    except NoSafeLimit as refusal:
        return {"tried": 0, "refused": str(refusal), "buy": named(site)}
    if not nights:
        return {"tried": 0, "refused": "not one night on a charge", "buy": "a larger battery"}
    log = told_of(case, fast=True)
    rows = [lines.parse_line(line) for line in log]
    stops: dict[int, list[str]] = {}
    warned = []
    good = 0
    weather, first_day = weather_of(site, case), start_day_of(site)
    for row in rows:
        event = event_of(row)
        cold = weather.air_c((row[DAY] - first_day) * DAY_S + row[SECOND]) < COLD_C
        if cold and event == f"trip {FROST}":
            continue
        if row[KIND] == GIVEN:
            cause = cause_of(row[FIRST + 1])
            well = cause in WITHIN or (cold and cause == FROST)
            good += well
            event = "" if well else f"set ended by {cause}"
        good += event == SKIPPED
        if not event:
            continue
        if event.startswith(WARNED):
            warned.append(event)
        else:
            night = row[DAY] + (row[SECOND] >= NOON_S)
            stops.setdefault(night, []).append(event)
    battery = site.battery
    return {
        "tried": nights,
        "stops": list(stops.values()),
        "warned": [word for word in warned if word != SKIPPED],
        "untold": max(nights - good - len(stops), 0),
        "unlike": int(case) % STEPPED_EACH == 0 and words_of(told_of(case)) != words_of(log),
        "site": f"{battery.chemistry}, age {battery.age:.1f}, panel {site.solar.power_w:.0f} W, "
        f"set at {site.sets[0].start_s // 3600} h, day {site.weather.day_of_year}",
    }


def verdict(case: str, row: Row) -> str:
    """Refused, with what to buy or without, a false stop, or a sound week."""
    if "refused" in row:
        return "refused" if row["buy"] else NOTHING_TO_BUY
    if row.get("unlike"):
        return UNLIKE
    return "false stop" if row["stops"] or row["untold"] else "sound"


def told(case: str, row: Row) -> str:
    """What stopped which site."""
    if "refused" in row:
        return str(row["refused"])
    words = "; ".join(", ".join(dict.fromkeys(each)) for each in row["stops"])
    if row["untold"]:
        words += f"; {row['untold']} nights without a word"
    return f"{words} ({row['site']})"


def at_most(found: int, of: int) -> float:
    """Upper end of the one-sided 95 % interval of a share (Clopper and Pearson).

    With none found it is the rule of three:

    >>> round(at_most(0, 3000) * 3000, 2)
    2.99
    """
    return float(beta.ppf(SURE, found + 1, of - found)) if found < of else 1.0


def reason(refusal: str) -> str:
    """What `limits` says, without name and figures of the site, so that the same is counted."""
    words = refusal.partition(": ")[2] or refusal
    return re.sub(r"-?\d+(\.\d+)?", "..", words)[:90]


def summary(rows: Rows) -> list[str]:
    """Nights, false stops, the bound, and why sites were refused."""
    nights = sum(row.get("tried", 0) for row in rows.values())
    if not nights:
        return []
    stopped = sum(len(row.get("stops", ())) + row.get("untold", 0) for row in rows.values())
    kinds = Counter(
        word
        for row in rows.values()
        for each in row.get("stops", ())
        for word in dict.fromkeys(each)
        if not word.startswith("set ended")
    )
    warned = Counter(word for row in rows.values() for word in row.get("warned", ()))
    refusals = Counter(reason(row["refused"]) for row in rows.values() if "refused" in row)
    found = [
        f"{nights} nights of {GOAL_NIGHTS} wanted, {stopped} with a false stop: at most "
        f"{100.0 * at_most(stopped, nights):.3f} % of nights (95 %, one-sided).",
        f"{sum(refusals.values())} of {len(rows)} drawn sites refused: fewer than one in "
        f"{round(1.0 / GOAL_REFUSED)} is the goal, each with what to buy.",
    ]
    for title, counts in (("Stops", kinds), ("Warnings", warned), ("Refused", refusals)):
        if counts:
            listed = "; ".join(f"{n} {word}" for word, n in counts.most_common(12))
            found.append(f"{title}: {listed}.")
    return found


PART = Part(
    "nights",
    cases,
    attempt,
    "Sound nights on drawn sites, of every chemistry, with a panel or without, at any hour and "
    "from spring to autumn: nothing may stop one.",
    verdict=verdict,
    told=told,
    allowed={"false stop": 0.0, NOTHING_TO_BUY: 0.0, UNLIKE: 0.0},
    summary=summary,
    detail=lambda case: list(told_of(case)),
    made_of=(
        *WORLD,
        "tests/campaign/nights.py",
        "tests/campaign/owned.py",
        "tests/campaign/glides.py",
    ),
    endless=True,
)
