"""What a trouble does that can be felt at the sprinkler: how much less water, in plain words."""

from dataclasses import replace
from functools import lru_cache

from rillkeeper.design.limits.working_site import depth_of
from rillsim.faults.acts import kink
from rillsim.faults.conditions import Conditions
from rillsim.site import Site
from rillsim.supply.battery import Battery
from rillsim.water.operating_point import OperatingPoint, Plumbing, Supply, operating_point
from rillsim.water.pump import fit_pump

HARDLY = 0.02
"""A smaller share less is not seen at a sprinkler."""
_FREE_LEAST = 0.01


def with_strainer(site: Site, blocked: float) -> Site:
    """The site with such a share of its strainer blocked: what is free carries all of the flow."""
    free = max(1.0 - blocked, _FREE_LEAST)
    suction = replace(site.suction, strainer_k=site.suction.strainer_k / free**2)
    return replace(site, suction=suction)


def with_ohm(site: Site, more_ohm: float) -> Site:
    """The site with so much more resistance at its clamps."""
    return replace(site, cable=replace(site.cable, clamp_ohm=site.cable.clamp_ohm + more_ohm))


def with_kink(site: Site, severity: float) -> Site:
    """The site with a kink in its hose, of a severity of the catalogue."""
    now = Conditions()
    kink(now, severity)
    return replace(site, line=replace(site.line, fittings_k=site.line.fittings_k + now.kink_k))


def felt(site: Site, worse: Site) -> str:
    """How much less water the sprinkler gives, battery half used.

    >>> site = Site()
    >>> felt(site, with_strainer(site, 0.3)), felt(site, with_strainer(site, 0.91))
    ('hardly felt yet', '31 % less water')
    """
    sound, now = _point(site).flow_m3_s, _point(worse).flow_m3_s
    lost = 1.0 - now / sound if sound > 0.0 else 0.0
    if lost < HARDLY:
        return "hardly felt yet"
    return f"{100.0 * lost:.0f} % less water" if now > 0.0 else "no water comes"


def volts_lost(site: Site, worse: Site) -> float:
    """How much less voltage the pump gets [V]."""
    return _point(site).pump_v - _point(worse).pump_v


@lru_cache(maxsize=64)
def _point(site: Site) -> OperatingPoint:
    battery = Battery(site.battery, 1.0 - depth_of(site.battery) / 2.0)
    supply = Supply.of(battery, site.cable)
    return operating_point(Plumbing(site), fit_pump(site.pump), supply, site.water.lift_m)
