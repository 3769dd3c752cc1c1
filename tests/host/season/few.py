"""Seasons of two nights, which the tests of the season play; and some that are made up."""

from dataclasses import replace
from functools import cache

from rillkeeper.season.answer import Variant, answer_of
from rillkeeper.season.causes import EMPTY
from rillkeeper.season.figures import FIGURES
from rillkeeper.season.kept import Kept
from rillkeeper.season.question import Question
from rillkeeper.season.task import Result
from rillkeeper.site.file import demo_site
from rillsim.site import HomeSpec, SetSpec, Site

NIGHTS = 2


@cache
def short_site() -> Site:
    """The demonstration site with eight minutes a night, and somebody who looks once a day."""
    site = demo_site()
    return replace(
        site,
        faults=(),
        battery_trips=(),
        home=HomeSpec(when_asked=True, looks_every=1),
        sets=(SetSpec(start_s=22 * 3600, amount=8.0),),
    )


def few(years: int = 4) -> Question:
    """Two variants in so many years of two nights."""
    site = short_site()
    longer = replace(site, sets=(replace(site.sets[0], amount=12.0),))
    variants = (("8 min", site), ("12 min", longer))
    return Question(variants, NIGHTS, 5, tuple(range(years)))


def season(number: int) -> Result:
    """A made-up season: the more trips, the higher its number."""
    zero = dict.fromkeys(FIGURES, 0.0)
    return zero | {
        "kinds": ["full"] * (8 - number) + ["missed"] * number + ["rain", "cut"],
        "causes": {EMPTY: {"nights": number, "said": {"low charge": number}}} if number else {},
        "chance": [],
        "trips": list(range(number)),
        "low_mm": [float(number), 10.0],
        "readily_mm": 15.0,
        "off_percent": 0.01,
        "litres": 900.0 * number,
        "taken_l": 1000.0 * number,
        "pump_h": 10.0 + number,
        "used_ah": 40.0 * number,
        "starts": 20.0,
        "dry_days": number,
    }


def store(*variants: list[Result]) -> Kept:
    """The seasons of some variants, kept in memory."""
    kept = Kept(":memory:", "")
    for place, seasons in enumerate(variants):
        for number, one in enumerate(seasons):
            kept.add(place, number, one)
    return kept


def variant(count: int = 5, site: Site | None = None) -> Variant:
    kept = store([season(number) for number in range(count)])
    return answer_of("a", site or short_site(), kept, 0, count - 1)
