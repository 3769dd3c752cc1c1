"""Sites that differ from their file in known ways, and the nights that their boards record."""

from dataclasses import replace
from functools import cache

import numpy as np

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.inquiry.learn.inputs import inputs_of, site_at
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
from rillsim.site import Site

KNOWN = {
    "sprinkler.nozzle_bore": 0.0055 * 1.08,
    "cable.clamps": 0.004 + 0.015,
    "battery.capacity": 80.0 * 0.8,
}
"""Nozzle 8 % wider, joints 15 mohm worse, a fifth of the battery gone."""


def thought() -> Site:
    """What the owner thinks: the demonstration site without its faults and its rain."""
    site = demo_site()
    return replace(
        site,
        faults=(),
        battery_trips=(),
        weather=replace(site.weather, rain_chance=0.0),
        sets=(replace(site.sets[0], unit="minutes", amount=50.0),),
    )


def drawn(seed: int) -> dict[str, float]:
    """Real values of every input, drawn as they are expected to lie."""
    random = np.random.Generator(np.random.Philox(np.random.SeedSequence([56, seed])))
    return {one.key: one.value(float(random.standard_normal())) for one in inputs_of(thought())}


@cache
def log_of(seed: int, nights: int = 3, all_drawn: bool = False) -> tuple[str, ...]:
    """What the board of such a site records."""
    site = thought()
    real = site_at(site, drawn(seed) if all_drawn else KNOWN)
    return replay(real, settings_of(site), nights=nights, seed=seed, fast=True).log


def night_log(seed: int, nights: int = 3, all_drawn: bool = False) -> NightLog:
    """The same as evidence."""
    return nights_of(read_log(log_of(seed, nights, all_drawn)), thought().board)
