"""The source: whether it stays where it is while the pump stands, and how long it lasts."""

from dataclasses import dataclass
from math import isfinite

from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.water.standing import flow_by_itself_m3_s, runs_by_itself, source_above_m
from rillsim.water.store import nights_until_empty


@dataclass(frozen=True)
class Source:
    """What a sizing knows of the water before the pump."""

    above_m: float
    """Height over the nozzle; below zero where it stands lower."""
    runs_by_itself: bool
    by_itself_m3_s: float
    """Flow through the standing pump; none where the springs of its valves hold it."""
    empty_night: float
    """First night that finds too little, without rain; endless: none does."""
    empty_night_rain: float
    """The same with the usual rain."""


def source_of(work: WorkingSite) -> Source:
    """The source of a site at work; every night takes what its sets ask for."""
    site = work.site
    night_s = work.night_s()
    night_m3 = work.flow_m3_s() * night_s if isfinite(night_s) else 0.0
    usual_mm = site.weather.rain_chance * site.weather.rain_mm
    return Source(
        above_m=source_above_m(site),
        runs_by_itself=runs_by_itself(site),
        by_itself_m3_s=flow_by_itself_m3_s(site, work.plumbing),
        empty_night=nights_until_empty(site, night_m3),
        empty_night_rain=nights_until_empty(site, night_m3, usual_mm),
    )
