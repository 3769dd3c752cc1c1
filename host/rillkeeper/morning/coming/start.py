"""What a plan of the coming nights begins with: a site on paper, or the nights of a log."""

from collections.abc import Sequence
from math import isfinite
from statistics import median

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.nights import load_of, nights_on_a_charge
from rillkeeper.design.size.sun import sun_of
from rillkeeper.display_units import counted, day_text
from rillkeeper.morning.coming.plan import (
    AHEAD,
    Coming,
    Season,
    Start,
    coming_nights,
    planned_sets,
    season_start,
)
from rillkeeper.morning.report.report import Report
from rillkeeper.runlog.batteries import batteries_put_on
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.nights import Night
from rillsim.replay import start_day_of
from rillsim.site import Site
from rillsim.water.store import inflow_m3

_DAY_S = 86400.0


def from_size(site: Site, ahead: int = AHEAD, first_day: int | None = None) -> Coming:
    """The plan of a site that nothing has run on yet: battery charged, cistern as it stands.

    ``first_day`` is the day number of the first night; the site's own season where not given.
    """
    work = WorkingSite(site)
    day = start_day_of(site) if first_day is None else first_day
    full = full_nights(work)
    season = Season(season_start(site.permit, day), site.permit.taken_m3)
    start = Start(day, full, None, full, _night_m3(work), _stored(site), season)
    return coming_nights(site, start, planned_sets(work), ahead)


def from_report(
    report: Report,
    ahead: int = AHEAD,
    season_nights: Sequence[Night] | None = None,
    entries: Sequence[Entry] | None = None,
) -> Coming | None:
    """The plan after the last night of a report; None without a site or without nights.

    ``season_nights`` and ``entries`` are those of the whole log, where the report shows only its
    end.
    """
    site = report.site
    if site is None or not report.nights:
        return None
    nights = report.nights if season_nights is None else season_nights
    entries = report.log.entries if entries is None else entries
    work = WorkingSite(site)
    day = report.next_day
    whole = [night for night in nights if night.whole and night.given_ml and night.used_mah]
    night_m3, full = _night_m3(work), full_nights(work)
    if whole:
        night_m3 = median((night.given_ml or 0) * 1e-6 for night in whole)
        load = load_of(work)
        used_ah = median((night.used_mah or 0) / 1000.0 for night in whole)
        full *= (load.pump_ah + load.board_ah) / used_ah
    since_day = season_start(site.permit, day)
    season = season_of(nights, since_day, site.permit.taken_m3)
    source_m3, notes = _source(report, nights, site)
    start = Start(
        day=day,
        nights_left=report.left.middle,
        low=report.left.low,
        high=report.left.high,
        left_note=report.left.note,
        full_nights=full,
        night_m3=night_m3,
        source_m3=source_m3,
        season=season,
        since_charge=day - _charged_day(nights),
        trips_done=_trips_done(entries, since_day),
        notes=notes,
    )
    return coming_nights(site, start, planned_sets(work, night_m3), ahead)


def season_of(nights: Sequence[Night], since_day: int, taken_m3: float) -> Season:
    """What was taken in a season, by the board's count."""
    inside = [night for night in nights if night.day >= since_day]
    given_m3 = sum((night.given_ml or 0) * 1e-6 for night in inside)
    known = {night.day for night in inside if night.run_s is not None}
    days = [night.day for night in inside]
    unknown = max(days) - min(days) + 1 - len(known) if days else 0
    return Season(since_day, taken_m3 + given_m3, unknown)


def full_nights(work: WorkingSite) -> float:
    """Nights on a full charge; with a panel those of usual days."""
    if work.flow_m3_s() <= 0.0:
        return 0.0
    spec, load, sun = work.site.battery, load_of(work), sun_of(work.site)
    if sun:
        return nights_on_a_charge(spec, load, work.discharge, sun.usual_ah, sun.daylight_h)[0]
    return nights_on_a_charge(spec, load, work.discharge)[0]


def _night_m3(work: WorkingSite) -> float:
    night_s = work.night_s()
    return work.flow_m3_s() * night_s if isfinite(night_s) else 0.0


def _stored(site: Site) -> float | None:
    return site.water.stored_m3 or None


def _charged_day(nights: Sequence[Night]) -> int:
    """Day number of the first night on this charge, as far as the log goes."""
    put_on = [night.day for night in nights if night.battery_put_on]
    return put_on[-1] if put_on else nights[0].day


def _trips_done(entries: Sequence[Entry], since_day: int) -> int:
    """Batteries that were put on in this season; the one that opens the log was there before."""
    put_on = list(batteries_put_on(entries))
    return sum(entry.night >= since_day for entry in put_on[1:])


def _source(
    report: Report, nights: Sequence[Night], site: Site
) -> tuple[float | None, tuple[str, ...]]:
    """What is in the cistern: the plant's truth after a replay, else reckoned from the log."""
    spec = site.water
    if spec.stored_m3 <= 0.0:
        return None, ()
    if report.trace is not None:
        return float(report.trace.source_m3[-1]), ()
    whole_m3 = max(spec.full_m3, spec.stored_m3)
    left_m3 = spec.stored_m3
    for night in nights:
        left_m3 -= (night.given_ml or 0) * 1e-6
        if left_m3 < 0.0:
            break
        left_m3 = min(whole_m3, left_m3 + inflow_m3(spec, 0.0, _DAY_S))
    stored = report.shown.text(spec.stored_m3, "volume")
    since = f"{day_text(nights[0].day)}, {counted(len(nights), 'night')} ago"
    if left_m3 < 0.0:
        return None, (
            f"The nights of this log took more than the {stored} that the site file says was "
            "stored, so somebody or the rain has filled it: look at the level, and write it as "
            "water.stored for days of refill.",
        )
    return left_m3, (
        f"Level of the source: {stored} on {since}, less what the board counted; rain and refills "
        "are not in it. Look at it.",
    )
