"""Nights left on batteries whose truth is another's: PyBaMM's porous electrodes.

The same draws as `nights_left`, of the sealed kind, with `PorousBattery` in the plant: sizes, ages
and lengths of the set are drawn, the site file is wrong about age and warmth. A third of the
batteries begin full, a third come from the charger with less, a third stay cold. Host and board
know nothing of it: they see a log.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from unittest.mock import patch

import numpy as np

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.errors import RillkeeperError
from rillkeeper.inquiry.learn import learn
from rillkeeper.inquiry.learn.inputs import site_at
from rillkeeper.morning.nights_left import nights_left
from rillkeeper.morning.report.report import report_of
from rillkeeper.runlog.nights import nights_of
from tests.bench.nights_left import Case, Morning, draw, log_of, mornings, until
from tests.bench.table import Row
from tests.published.porous_battery import PorousBattery

KINDS = ("full", "not charged to the full", "cold")
SEEN = 72
"""So many batteries were looked at while estimate and count were made; the others judge them."""
LEAST_CHARGE = 0.75
COLD_C = (0.0, 8.0)
MEDIAN_GOAL = 0.5
OPTIMISM_GOAL = 0.05
TOO_MANY = 0.5
BAND_GOAL = (0.70, 0.90)
_GOLDEN = 0.6180339


@contextmanager
def in_the_plant(charge: float = 1.0) -> Iterator[None]:
    """The plant has the other battery, with this share of its charge at first."""
    with patch("rillsim.rig.Battery", partial(PorousBattery, charge=charge)):
        yield


def drawn(number: int) -> tuple[Case, str, float]:
    """The case of this number, its kind, and the share of a full charge that it begins with."""
    case = draw(3 * number + 1)
    kind, place = KINDS[number % len(KINDS)], _GOLDEN * number % 1.0
    if kind == "cold":
        low_c, high_c = COLD_C
        real = case.real.battery
        off_c = case.thought.battery.temperature_c - real.temperature_c
        cold_c = low_c + (high_c - low_c) * place
        case = replace(
            case,
            real=replace(case.real, battery=replace(real, temperature_c=cold_c, box_s=0.0)),
            thought=replace(
                case.thought,
                battery=replace(case.thought.battery, temperature_c=cold_c + off_c),
            ),
        )
    charge = LEAST_CHARGE + (1.0 - LEAST_CHARGE) * place if kind == KINDS[1] else 1.0
    return case, kind, charge


def learned(case: Case, log: tuple[str, ...]) -> Iterator[Morning]:
    """The last mornings again, with the site that `learn` makes of the nights so far."""
    settings = settings_of(case.thought)
    for morning in list(mornings(case, log))[1:]:
        told = until(log, report_of(log, case.thought, settings=settings), morning.after - 1)
        try:
            taught = learn(case.thought, nights_of(told.log, case.thought.board))
        except RillkeeperError:
            continue
        site = site_at(case.thought, {one.about.key: one.value for one in taught.inputs})
        left = nights_left(told.nights, site, settings)
        if left.middle is not None and left.low is not None and left.high is not None:
            yield replace(morning, middle=left.middle, low=left.low, high=left.high)


def rows(count: int = 144) -> list[Row]:
    """The figures of host and board, by kind; and of the host that has learned the site first."""
    told: dict[str, list[Morning]] = {kind: [] for kind in KINDS}
    taught: list[Morning] = []
    for number in range(count):
        case, kind, charge = drawn(number)
        with in_the_plant(charge):
            log = log_of(case)
        if log:
            told[kind] += mornings(case, log)
            taught += learned(case, log)
    every = [morning for kind in KINDS for morning in told[kind]]
    numbers = {drawn(number)[0].number for number in range(SEEN, count)}
    unseen = [morning for morning in every if morning.case in numbers]
    again = {(one.case, one.after) for one in taught}
    same = [one for one in every if (one.case, one.after) in again]
    return [
        _row(f"nights left, PyBaMM's lead-acid battery {count} times", every, asked=True),
        *(_row(f"  {kind}", told[kind]) for kind in KINDS),
        *([_row(f"  the last {count - SEEN}, not tuned on", unseen)] if unseen else []),
        _row("  after the first night", same),
        _row("  after the first night, by the site that learn makes", taught),
    ]


def _row(figure: str, found: list[Morning], asked: bool = False) -> Row:
    off = np.array([one.middle - one.came for one in found])
    board = np.array([one.board - one.came for one in found])
    inside = float(np.mean([one.low - 0.05 <= one.came <= one.high + 0.05 for one in found]))
    median, many = float(np.median(np.abs(off))), float(np.mean(off > TOO_MANY))
    low, high = BAND_GOAL
    met = median <= MEDIAN_GOAL and many <= OPTIMISM_GOAL and low <= inside <= high
    return Row(
        f"{figure}: middle error; too many by half; in the band of 80 %",
        f"{median:.2f} night; {100.0 * many:.0f} %; {100.0 * inside:.0f} %",
        f"the board's count: {np.median(np.abs(board)):.2f} night; "
        f"{100.0 * np.mean(board > TOO_MANY):.0f} %",
        f"{len(found)} mornings",
        f"{MEDIAN_GOAL:g} night; {100.0 * OPTIMISM_GOAL:.0f} %; "
        f"{100.0 * low:.0f} to {100.0 * high:.0f} %"
        if asked
        else "-",
        met if asked else None,
    )
