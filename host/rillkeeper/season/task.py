"""One season of one variant: what a worker is handed, and the plain numbers that it hands back.

A task holds all that decides its answer, so that it gives the same bytes on any machine, in any
order, and however often it is tried.
"""

from collections import Counter
from dataclasses import dataclass, replace
from typing import Any

from rillkeeper import __version__
from rillkeeper.errors import RillkeeperError
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import Night, nights_of
from rillkeeper.season.causes import SHORTENED, causes_of
from rillkeeper.season.chance import Rate, faults_of
from rillkeeper.season.wear import Wear, wear_faults
from rillsim.garden.seasonweather import draw_season
from rillsim.garden.weather import Weather
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, Site

FULL, CUT, MISSED, RAIN = "full", "cut", "missed", "rain"
AS_PER_AH = 3600.0
DAY_S = 86400.0

SHAPE = 2
"""Of the results; those of another shape are not gone on with."""

Result = dict[str, Any]
"""What came of a season, as JSON holds it."""


@dataclass(frozen=True)
class Task:
    """All that decides one season."""

    site: Site
    """The variant, from its first night's day of the year on."""
    settings: dict[str, int]
    nights: int
    seed: int
    number: int
    """Which season of the seed; all variants have the same weather and the same mishaps."""
    weather: Weather | None = None
    """Of a table; drawn where there is none."""
    rates: tuple[Rate, ...] = ()
    wear: Wear = Wear()
    version: str = __version__


def play(task: Task) -> Result:
    """Replay a season, fast. Raises RillkeeperError on a machine with another version."""
    if task.version != __version__:
        raise RillkeeperError(
            f"a worker runs rillkeeper {__version__}, and the seasons are of {task.version}: "
            "install the same version on all machines"
        )
    site = task.site
    weather = task.weather or draw_season(
        site.weather, task.nights + 1, task.seed, task.number, site.water.altitude_m
    )
    looks_s = (site.home.away_from_s, site.home.looks_every)
    chance = faults_of(task.rates, task.nights, task.seed, task.number, site.sets, looks_s)
    site = replace(site, faults=site.faults + chance + wear_faults(task.wear, task.nights))
    seed = task.seed * 1_000_003 + task.number
    week = replay(site, task.settings, nights=task.nights, seed=seed, weather=weather, fast=True)
    return _result(task, week, weather, chance)


def _result(task: Task, week: Week, weather: Weather, chance: tuple[FaultSpec, ...]) -> Result:
    days = [week.start_day + place for place in range(task.nights)]
    log = read_log(week.log)
    nights = nights_of(log, task.site.board, task.settings, days, complete=True).nights
    kinds = [_kind(night) for night in nights]
    said = [
        _said(night) if kind in (CUT, MISSED) else []
        for night, kind in zip(nights, kinds, strict=True)
    ]
    low_mm = [round(truth.deficit_low_mm, 2) for truth in week.truth]
    accounts = week.accounts
    pumped_l = 1000.0 * accounts.water.came.get("taken_m3", 0.0)
    left = [night.nights_tenths for night in nights]
    return {
        "kinds": kinds,
        "causes": _causes(week, said, chance),
        "trips": [int(back_s // DAY_S) for back_s in week.battery_back_s],
        "low_mm": low_mm,
        "readily_mm": round(week.soil.readily_mm, 2),
        "dry_days": sum(mm > week.soil.readily_mm for mm in low_mm),
        "litres": round(sum(truth.litres for truth in week.truth), 1),
        "taken_l": round(pumped_l, 1),
        "night_litres": [round(truth.litres, 1) for truth in week.truth],
        "pump_h": round(sum(night.run_s or 0 for night in nights) / 3600.0, 3),
        "starts": sum(len(night.runs) for night in nights),
        "used_ah": round(accounts.charge.became["pump_as"] / AS_PER_AH, 2),
        "spray_mm": round(week.soil.mean.spray_mm, 2),
        "rain_mm": round(week.soil.mean.rain_mm, 2),
        "used_mm": round(week.soil.mean.crop_mm + week.soil.mean.surface_mm, 2),
        "demand_mm": round(float(week.soil.need_map_mm.mean()), 2),
        "reference_mm": round(sum(weather.reference_mm[: task.nights]), 2),
        "drained_mm": round(week.soil.mean.drained_mm + week.soil.mean.runoff_mm, 2),
        "off_percent": round(
            max(
                abs(account.off_percent)
                for account in (accounts.water, accounts.soil_mean, accounts.charge)
            ),
            4,
        ),
        "nights_left": left,
        "chance": [fault.name for fault in chance],
        "steps": week.control_steps,
    }


def _kind(night: Night) -> str:
    """How a night went: watered in full, not needed for rain, cut short, or not at all."""
    if night.whole:
        return FULL
    if night.rained:
        return RAIN
    return CUT if (night.share or 0.0) > 0.0 else MISSED


def _said(night: Night) -> list[str]:
    """What the board said of a night that was not given whole, each once."""
    judged = [*night.trips, *(trip for run in night.runs for trip in run.trips)]
    found = [trip.rule for trip in judged]
    found += list(night.skips)
    if any(entry.kind == "short" for entry in night.entries):
        found.append(SHORTENED)
    return list(dict.fromkeys(found)) or ["nothing was said"]


def _causes(week: Week, said: list[list[str]], chance: tuple[FaultSpec, ...]) -> dict[str, Any]:
    """Nights by their cause, and what the board said in them."""
    causes = causes_of(week, said, chance)
    found: dict[str, Any] = {}
    for cause in sorted(set(causes) - {""}):
        those = [words for words, one in zip(said, causes, strict=True) if one == cause]
        words = Counter(word for each in those for word in each)
        found[cause] = {"nights": len(those), "said": dict(sorted(words.items()))}
    return found
