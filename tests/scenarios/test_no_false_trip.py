"""Normal weeks on drawn sites: nothing trips, and all the water is given.

A few sites of fixed seeds; `make campaign` draws others.
"""

from dataclasses import replace
from functools import partial
from unittest.mock import patch

import pytest

import rillsim.replay
from keeper import lines
from keeper.records import CAUSES, COMPLETE, FIRST, GIVEN, KIND, RAINED
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.size.facts import facts_of
from rillkeeper.site.file import demo_site
from rillsim.plant import Plant
from rillsim.replay import replay
from rillsim.site import Site

from .draw import draw_site
from .events import event_of

NIGHTS = 7
WEEKS = 7
WEEKS_ON_WIDE_CODES = 3
WIDE_DRAW = 50
DRAWS = 20
"""Draws for one week; about one in six finds no safe limits or too small a battery."""

ALLOWED = {f"skip {CAUSES[RAINED]}"}


def drawn(week: int) -> tuple[int, Site]:
    """The first site with safe limits among this week's seeds."""
    for seed in range(week * DRAWS, (week + 1) * DRAWS):
        site = draw_site(seed, NIGHTS)
        if site is not None:
            return seed, site
    raise AssertionError(f"none of the seeds from {week * DRAWS} on gives a site")


def wrong_on_wide_codes(seed: int, site: Site) -> list[str]:
    """The same on a converter like the RP2040's.

    Its data sheet, erratum E11: four codes are much too wide, and readings stand still.
    """
    with patch.object(rillsim.replay, "Plant", partial(Plant, codes="rp2040")):
        return wrong(seed, site)


def wrong(seed: int, site: Site) -> list[str]:
    """Log lines that a sound site must not have, and nights without their water."""
    week = replay(site, settings_of(site), nights=NIGHTS, seed=seed)
    rows = [lines.parse_line(line) for line in week.log]
    events = [event_of(row) for row in rows]
    found = [
        line
        for line, event in zip(week.log, events, strict=True)
        if event and event not in ALLOWED
    ]
    ends = [row[FIRST + 1] for row in rows if row[KIND] == GIVEN]
    if any(cause not in (COMPLETE, RAINED) for cause in ends):
        found.append(f"sets ended by causes {ends}")
    if len(ends) + sum(event in ALLOWED for event in events) != NIGHTS:
        found.append(f"{len(ends)} sets in {NIGHTS} nights")
    return found


def test_sound_week_of_the_demonstration_site() -> None:
    """With the battery that sizing asks for: the one it has lasts for less than it is to."""
    site = replace(demo_site(), faults=())
    size_ah = facts_of(site, size_battery=True).size_wanted_ah
    assert size_ah
    found = wrong(1, replace(site, battery=replace(site.battery, capacity_ah=1.1 * size_ah)))
    assert not found, "demonstration site, seed 1:\n" + "\n".join(found)


@pytest.mark.parametrize("week", range(WEEKS))
def test_sound_week(week: int) -> None:
    seed, site = drawn(week)
    found = wrong(seed, site)
    assert not found, f"draw_site({seed}, {NIGHTS}) = {site}:\n" + "\n".join(found)


@pytest.mark.parametrize("week", range(WEEKS_ON_WIDE_CODES))
def test_sound_week_on_a_converter_with_wide_codes(week: int) -> None:
    seed, site = drawn(week)
    found = wrong_on_wide_codes(seed, site)
    assert not found, f"draw_site({seed}, {NIGHTS}) = {site}:\n" + "\n".join(found)


def test_the_draw_is_wide() -> None:
    """What is drawn spans chemistries, ages, pumps and what is fitted."""
    sites = [drawn(week)[1] for week in range(WIDE_DRAW)]
    assert {site.battery.chemistry for site in sites} == {"flooded", "agm", "lfp"}
    assert len({site.pump for site in sites}) == 2
    ages = [site.battery.age for site in sites]
    assert min(ages) < 0.1
    assert max(ages) > 0.9
    for channel in ("battery", "pressure", "load_sense", "current"):
        assert {getattr(site.board, f"{channel}_fitted") for site in sites} == {True, False}
