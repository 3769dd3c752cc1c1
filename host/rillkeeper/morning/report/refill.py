"""When a source that can be emptied wants refilling: the litres counted, the nights to come.

It is said as the day of the battery is. What was in it at first is the site file's; it counts
from the first night that is read, so that after a refill `report --since` begins anew.
"""

from dataclasses import dataclass, replace
from math import inf
from statistics import median

from rillkeeper.morning.report.report import Report
from rillkeeper.runlog.nights import Night
from rillkeeper.runlog.source import DAY_S, SourceCount, begun_s, taken_m3
from rillsim.replay import NOON_S
from rillsim.site import Site
from rillsim.water.store import inflow_m3, nights_until_empty


@dataclass(frozen=True)
class Refill:
    """The source after the last night of a report."""

    left_m3: float
    whole_m3: float
    lacking_m3: float
    """Taken beyond what there was."""
    refilled: bool
    """Whether that is so much that the count cannot be right any more."""
    night_m3: float
    """What a night takes; 0 where none of the log was whole."""
    nights: float
    """Whole nights that it still gives, without rain; endless: what comes in is enough."""
    nights_rain: float
    """The same with the usual rain of the site."""
    rain_known: bool
    """Whether rain on its roof was counted in, or there is no roof."""


def refill_of(report: Report) -> Refill | None:
    """None where there is no site, no night, or no end to its source."""
    site = report.site
    if site is None or site.water.stored_m3 <= 0.0 or not report.nights:
        return None
    count = SourceCount(site, report.nights[0].day)
    rains = [report.rain_mm(night) for night in report.nights]
    for night, rain_mm in zip(report.nights, rains, strict=True):
        _live(count, night, rain_mm or 0.0)
    left_m3 = max(0.0, count.left_m3 - count.fallen_m3(report.nights[-1].day + 1))
    whole = [night.given_ml for night in report.nights if night.whole and night.given_ml]
    night_m3 = median(whole) / 1e6 if whole else 0.0
    usual_mm = site.weather.rain_chance * site.weather.rain_mm
    return Refill(
        left_m3=left_m3,
        whole_m3=count.whole_m3,
        lacking_m3=count.lacking_m3,
        refilled=count.refilled,
        night_m3=night_m3,
        nights=_nights(site, left_m3, night_m3, 0.0),
        nights_rain=_nights(site, left_m3, night_m3, usual_mm),
        rain_known=site.water.roof_m2 <= 0.0 or None not in rains,
    )


def _live(count: SourceCount, night: Night, rain_mm: float) -> None:
    """Noon to noon; its rain falls evenly."""
    noon_s = night.day * DAY_S
    before_s = noon_s
    for run in night.runs:
        start_s = min(max(before_s, begun_s(run)), noon_s + DAY_S)
        count.wait(start_s, rain_mm * (start_s - before_s) / DAY_S)
        count.take(taken_m3(run))
        before_s = start_s
    count.wait(noon_s + DAY_S, rain_mm * (noon_s + DAY_S - before_s) / DAY_S)


def _nights(site: Site, left_m3: float, night_m3: float, rain_mm_day: float) -> float:
    """Whole nights that are still in it; the first comes some hours after the noon."""
    if night_m3 <= 0.0:
        return inf
    water = site.water
    whole_m3 = max(water.full_m3, water.stored_m3)
    first_s = min((entry.start_s for entry in site.sets), default=0)
    until_s = (first_s - NOON_S) % DAY_S
    came_m3 = inflow_m3(water, rain_mm_day * until_s / DAY_S, until_s)
    evening_m3 = min(whole_m3, left_m3 + came_m3)
    if evening_m3 <= 0.0:
        return 0.0
    cover_m = water.cover_m * evening_m3 / water.stored_m3
    now = replace(water, stored_m3=evening_m3, full_m3=whole_m3, cover_m=cover_m)
    return nights_until_empty(replace(site, water=now), night_m3, rain_mm_day) - 1.0
