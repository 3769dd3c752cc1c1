"""Seasons of two nights: what the tests of the season play."""

from dataclasses import replace
from functools import cache

from rillkeeper.season.question import Question
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
