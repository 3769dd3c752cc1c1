"""One tick of the plant against one control step, on the ticks of the same night."""

from typing import NamedTuple

from keeper import Keeper, Settings
from keeper.ticks import MASK
from rillkeeper.design.limits.derive import settings_of
from rillsim.boards.board import TICK_MS
from rillsim.plant import Plant
from rillsim.replay import replay
from tests.bench.steady_site import steady_site
from tests.bench.table import Row, each_text, ratio_row
from tests.bench.timing import take_turns

GOAL = 1.0


class Reading(NamedTuple):
    """What the board met at one tick, and the level it gave its relay pin."""

    n: int
    clock: tuple[int, int, bool]
    counts: tuple[int, ...]
    level: int


def rows(minutes: int = 60, repeats: int = 7) -> list[Row]:
    """Plant (counts read, pin driven) beside the keeper (one step on recorded counts)."""
    site = steady_site(minutes)
    settings = settings_of(site)
    night: list[Reading] = []
    replay(
        site,
        settings,
        nights=1,
        seed=1,
        tap=lambda n, clock, counts, level: night.append(Reading(n, clock, tuple(counts), level)),
    )

    def plant() -> None:
        plant = Plant(site, seed=1)
        read, drive = plant.read, plant.drive
        for n, _, _, level in night:
            read(n)
            drive(n, level)

    def control() -> None:
        step = Keeper(Settings(settings)).step
        for n, (day, second, known), counts, _ in night:
            step(n * TICK_MS & MASK, day, second, known, *counts)

    ours, control_times = take_turns([plant, control], repeats)
    return [
        ratio_row(
            f"plant, one tick; control, one step ({len(night):,} of each)",
            each_text(ours, len(night)),
            each_text(control_times, len(night)),
            ours.middle_s / control_times.middle_s,
            GOAL,
        )
    ]
