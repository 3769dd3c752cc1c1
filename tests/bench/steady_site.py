"""The site of the speed figures: nothing goes wrong, and the battery lasts."""

from dataclasses import replace

from rillkeeper.site.file import demo_site
from rillsim.site import SetSpec, Site

BATTERY_AH = 400.0
"""A week of one-hour nights takes some 90 Ah."""


def steady_site(minutes: float = 60.0) -> Site:
    """The demonstration site with one set a night, no rain, no faults and a large battery."""
    site = demo_site()
    return replace(
        site,
        battery=replace(site.battery, capacity_ah=BATTERY_AH),
        weather=replace(site.weather, rain_chance=0.0),
        sets=(SetSpec(start_s=site.sets[0].start_s, unit="minutes", amount=minutes),),
        battery_trips=(),
        faults=(),
    )
