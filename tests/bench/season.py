"""Seasons: the fast replay beside the same nights stepped through, and one worker beside two."""

import time
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.season.crew import has_dask
from rillkeeper.season.kept import Kept
from rillkeeper.season.question import Question
from rillkeeper.site.file import demo_site
from rillsim.replay import Week, replay
from rillsim.site import HomeSpec, Site
from tests.bench.table import Row, accuracy_row, seconds_text
from tests.bench.timing import take_turns

SEASON_NIGHTS = 120
GOAL_S = 4.0
GOAL_TIMES = 8.0
OFF_PERCENT = 0.3


def season_site() -> Site:
    """The demonstration site with a source that lasts, and a battery carried when asked for."""
    site = demo_site()
    return replace(
        site,
        faults=(),
        battery_trips=(),
        home=HomeSpec(when_asked=True, looks_every=1),
        water=replace(site.water, fall_m_per_day=0.0),
    )


def rows(nights: int = 30, repeats: int = 3, years: int = 6) -> list[Row]:
    """The figures of the fast replay, then of the workers."""
    site = season_site()
    settings = settings_of(site)
    runs: dict[bool, Week] = {}

    def go(fast: bool) -> None:
        runs[fast] = replay(site, settings, nights=nights, seed=1, fast=fast)

    plain, quick = take_turns([lambda: go(False), lambda: go(True)], repeats)
    ratio = plain.middle_s / quick.middle_s
    season_s = quick.middle_s / nights * SEASON_NIGHTS
    litres = [sum(night.litres for night in runs[fast].truth) for fast in (False, True)]
    charge = [runs[fast].accounts.charge.became["pump_as"] for fast in (False, True)]
    name = f"{nights} nights in one go"
    return [
        Row(
            f"{name}, stepped through",
            seconds_text(quick),
            seconds_text(plain),
            f"{ratio:.1f}x faster",
            f"{GOAL_TIMES:g}x",
            ratio >= GOAL_TIMES,
        ),
        Row(
            f"a season of {SEASON_NIGHTS} nights, of these",
            f"{season_s:.2f} s",
            goal=f"{GOAL_S:g} s",
            met=season_s <= GOAL_S,
        ),
        accuracy_row(f"{name}: litres", 100.0 * abs(litres[1] / litres[0] - 1.0), OFF_PERCENT),
        accuracy_row(f"{name}: charge", 100.0 * abs(charge[1] / charge[0] - 1.0), OFF_PERCENT),
        _workers(site, years),
    ]


def _workers(site: Site, years: int) -> Row:
    """How many seasons an hour one worker plays, and two: by the clock, starting them and all."""
    taken_s = []
    for workers in (1, 2):
        question = Question(((site.name, site),), SEASON_NIGHTS // 4, 1, tuple(range(years)))
        with TemporaryDirectory() as folder:
            kept = Kept(Path(folder) / "kept", question.mark)
            begun_s = time.perf_counter()
            question.answer(kept, workers, None, lambda _: None)
            taken_s.append(time.perf_counter() - begun_s)
            kept.close()
    with_what = "dask" if has_dask() else "Python's pool"
    one, two = (3600.0 * years / seconds for seconds in taken_s)
    return Row(
        f"seasons of {SEASON_NIGHTS // 4} nights an hour, one worker and two ({with_what})",
        f"{two:.0f}",
        f"{one:.0f}",
        f"{two / one:.2f}x",
    )
