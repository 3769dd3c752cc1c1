"""A stride takes every counter of the board to where its own steps would have taken it."""

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from keeper import Settings, lines
from keeper.cycle import RUN
from keeper.records import DECAY, FIRST, KIND, NIGHT
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.boards.board import METER
from rillsim.boards.calm import Readings
from rillsim.boards.stride import LONGEST_NAP_MS, SHORTER_NAP_MS, STEADY_S, StridingBoard
from rillsim.glide import Glide, GlidingPlant
from rillsim.plant import Plant
from rillsim.replay import replay
from rillsim.site import FaultSpec, SetSpec, Site
from tests.campaign.glides import attempt, differ

FITTED = {
    "sensed": {},
    "inferred": {"load_sense_fitted": False},
    "current": {"current_fitted": True},
    "metered": {"flow_fitted": True},
    "metered alone": {"flow_fitted": True, "pressure_fitted": False},
}
PULSES = 13
"""Of a meter in each tick: 17 L/min at 450 a litre."""
NOT_COUNTED = (".still_ms", ".steps", ".kept", ".settings", ".line._sum_pa")
"""A channel that moves, as all do in a plant, stands still for no time. The pressure without its
ripple keeps what a division by eight leaves over."""
MEDIAN_TICKS = 3
STEP_PA = 305
"""A step of the converter."""
START_S = 22 * 3600


def site_with(unit: str = "minutes", amount: float = 40.0, **board: bool) -> Site:
    """The demonstration site with one set and these sensors."""
    site = demo_site()
    only = SetSpec(start_s=START_S, unit=unit, amount=amount)
    more = replace(site.board, **board)
    return replace(site, faults=(), battery_trips=(), sets=(only,), board=more)


class Steps:
    """A board that is fed the same counts on each tick, from some second of a run on."""

    def __init__(self, site: Site, run_s: int) -> None:
        self.plant = Plant(site, 1, start_s=START_S - 5)
        self.board = StridingBoard(Settings(settings_of(site)))
        self.n = level = 0
        while self.board.keeper.state != RUN or self.board.keeper.watering._seconds < run_s:
            counts = self.plant.read(self.n)
            level = self.board.step(self.n, self.plant.clock.reading(self.n), counts)
            self.plant.drive(self.n, level)
            self.n += 1
        self.counts = list(counts)
        senses = self.board.keeper.senses
        for channel in (senses.battery, senses.pressure, senses.current):
            channel.stuck_ms = 0
        self.go(40)

    def go(self, ticks: int) -> None:
        """So many control steps."""
        for _ in range(ticks):
            self._pulse(1)
            self.board.step(self.n, self.plant.clock.reading(self.n), self.counts)
            self.n += 1

    def _pulse(self, ticks: int) -> None:
        """A meter gives so many a tick."""
        if len(self.counts) > METER:
            self.counts[METER] += PULSES * ticks

    def stride(self, ticks: int) -> bool:
        """The same in one go."""
        counts = Readings(*(float(self.counts[place]) for place in (0, 1, 5)))
        clock, last_n = self.plant.clock, self.n - 1
        come = self.counts[METER] if len(self.counts) > METER else 0
        passed = self.board.stride(
            *(ticks, lambda t: clock.reading(last_n + t), counts, counts),
            lambda t: come + PULSES * t,
        )
        if passed:
            self.n += ticks
            self._pulse(ticks)
        return passed


@cache
def _at(kind: str, run_s: int) -> Steps:
    return Steps(site_with(**FITTED[kind]), run_s)


def numbers_of(thing: Any, name: str, seen: set[int]) -> Iterator[tuple[str, Any]]:
    """Every number within an object, by its place."""
    if isinstance(thing, int | float | str | None.__class__):
        yield name, thing
    elif isinstance(thing, list | tuple):
        for place, each in enumerate(thing):
            yield from numbers_of(each, f"{name}[{place}]", seen)
    elif hasattr(thing, "__dict__") and id(thing) not in seen:
        seen.add(id(thing))
        for key, value in vars(thing).items():
            inside = f"{name}.{key}"
            if not inside.endswith(NOT_COUNTED):
                yield from numbers_of(value, inside, seen)


@pytest.mark.parametrize("kind", FITTED)
@pytest.mark.parametrize(
    ("run_s", "ticks"), [(70, 60), (70, 596), (70, 1234), (70, 2999), (35, 150)]
)
def test_every_counter_is_that_of_the_steps(kind: str, run_s: int, ticks: int) -> None:
    stepped, strode = deepcopy(_at(kind, run_s)), deepcopy(_at(kind, run_s))
    assert strode.board.stride_ticks() >= ticks
    stepped.go(ticks)
    assert strode.stride(ticks)
    assert strode.board.steps < stepped.board.steps
    for one in (stepped, strode):
        one.go(MEDIAN_TICKS)
    was, now = (dict(numbers_of(one.board, "board", set())) for one in (stepped, strode))
    assert len(was) > 500
    assert {key: (was[key], now.get(key)) for key in was if was[key] != now.get(key)} == {}


def test_a_run_is_not_strode_through_before_it_is_steady_nor_to_its_end() -> None:
    site = site_with(amount=4.0)
    early = Steps(site, STEADY_S - 5)
    assert early.board.stride_ticks() == 0
    late = deepcopy(_at("sensed", 70))
    late.board.keeper.plan.target = late.board.keeper.plan.given() + 2
    assert late.board.stride_ticks() < 20


@pytest.mark.parametrize(
    ("count", "place"),
    [(0.9, 0), (0.6, 1), (1.9, 1)],
    ids=["near the cut-out", "near an open line", "near a shut line"],
)
def test_nothing_is_passed_near_a_limit(count: float, place: int) -> None:
    steps = deepcopy(_at("sensed", 70))
    before = dict(numbers_of(steps.board, "board", set()))
    steps.counts[place] = int(steps.counts[place] * count)
    assert not steps.stride(200)
    assert dict(numbers_of(steps.board, "board", set())) == before


@pytest.mark.parametrize(
    "what", ["button", "rain", "weak hold", "clock"], ids=lambda what: str(what)
)
def test_nothing_is_passed_while_anything_is_on(what: str) -> None:
    steps = deepcopy(_at("sensed", 70))
    keeper = steps.board.keeper
    assert steps.board.stride_ticks() > 0
    if what == "button":
        keeper.contacts = 2
    elif what == "rain":
        keeper.facts.wet_ms = 100
    elif what == "weak hold":
        keeper.guard.held_ms[keeper.guard.watched[RUN][0]] = 0
    else:
        keeper.clock.doubt = True
    assert steps.board.stride_ticks() == 0


FAULTS: dict[str, tuple[FaultSpec, ...]] = {
    "sound": (),
    "burst": (FaultSpec("hose_burst", 1, 300.0, 0.9),),
    "tap": (FaultSpec("outlet_shut", 1, 300.0, duration_s=300.0),),
    "tired": (FaultSpec("battery_tired", 1, -7200.0, 0.9),),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_night_in_one_go_is_the_night(fault: str) -> None:
    """A small part of what the campaign's "glides" does by the hundred."""
    site = replace(site_with(amount=15.0), faults=FAULTS[fault])
    stepped, glided = (
        replay(site, settings_of(site), nights=1, seed=3, fast=fast) for fast in (False, True)
    )
    assert differ(stepped, glided) == []
    assert glided.control_steps < stepped.control_steps / 2
    spray_mm = stepped.soil.mean.spray_mm
    assert glided.soil.mean.spray_mm == pytest.approx(spray_mm, rel=3e-3, abs=0.01)
    for name in ("energy", "charge", "water"):
        off = [getattr(week.accounts, name).off_percent for week in (stepped, glided)]
        assert off[1] == pytest.approx(off[0], abs=0.1)


METERED: dict[str, tuple[dict[str, Any], tuple[FaultSpec, ...]]] = {
    "sound": ({}, ()),
    "by volume, no transducer": ({"unit": "volume", "pressure_fitted": False}, ()),
    "by volume, a third lost": ({"unit": "volume"}, (FaultSpec("meter_stuck", 1, 120.0, 0.3),)),
    "stands still": ({}, (FaultSpec("meter_stuck", 1, 300.0),)),
}


@pytest.mark.parametrize("kind", METERED)
def test_a_metered_night_in_one_go_is_the_night(kind: str) -> None:
    """The litres on the log are those of the pulses, second by second."""
    more, faults = METERED[kind]
    amount = 250.0 if "unit" in more else 15.0
    site = replace(site_with(amount=amount, flow_fitted=True, **more), faults=faults)
    stepped, glided = (
        replay(site, settings_of(site), nights=1, seed=3, fast=fast) for fast in (False, True)
    )
    assert differ(stepped, glided) == []
    assert [felt.felt for felt in glided.faults] == [True] * len(faults)
    was, now = (_night_ml(week.log) for week in (stepped, glided))
    assert now == pytest.approx(was, rel=1.5e-3)
    assert glided.control_steps < 0.8 * stepped.control_steps


def _night_ml(log: tuple[str, ...]) -> int:
    """What the board says that it gave."""
    return sum(row[FIRST + 1] for row in map(lines.parse_line, log) if row[KIND] == NIGHT)


def test_a_stop_records_what_it_does_tick_by_tick() -> None:
    """Pressure and battery to a step of the converter and its noise; `why` reads the records."""
    site = site_with(amount=15.0)
    stepped, glided = (
        [row[FIRST : FIRST + 3] for row in map(lines.parse_line, log) if row[KIND] == DECAY]
        for log in (
            replay(site, settings_of(site), nights=1, fast=fast).log for fast in (False, True)
        )
    )
    assert [row[0] for row in stepped] == [500, 1000, 2000, 5000, 15000, 60000, 600000]
    for was, now in zip(stepped, glided, strict=True):
        assert now[0] == was[0]
        assert now[1] == pytest.approx(was[1], abs=2 * STEP_PA)
        assert now[2] == pytest.approx(was[2], abs=15)


def test_its_lines_bear_the_mark_of_every_board() -> None:
    site = site_with(amount=2.0)
    log = replay(site, settings_of(site), nights=1, fast=True).log
    assert len(log) > 10
    assert [lines.format_line(lines.parse_line(line)) for line in log] == list(log)


@pytest.mark.parametrize(
    "case",
    [
        "7170000/nozzle_gone",
        "930000/clock_back",
        "930001/battery_offset",
        "970183/relay_chatter",
    ],
)
def test_nights_that_the_campaign_has_found(case: str) -> None:
    """The nozzle that goes slowly: what a night learns of its pressure decides when it trips. What
    happens on the very tick on which a board looks is looked at a minute later, not an hour."""
    assert attempt(case)["failures"] == []


def test_the_plant_goes_back_where_the_board_refuses() -> None:
    site = site_with()
    plant = GlidingPlant(site, 1, start_s=START_S - 5)
    board = StridingBoard(Settings(settings_of(site)))
    refusals = []
    board.stride = lambda *_: bool(refusals.append(1))  # type: ignore[method-assign]
    glide = Glide(plant, board)
    n = level = 0
    while n < 900:
        before, level = level, board.step(n, plant.clock.reading(n), plant.read(n))
        if level != before:
            plant.drive(n, level)
        if level == before == 1 and n >= glide.next_n:
            assert glide.run_on(n) == n
        n += 1
    assert refusals
    assert plant.present.pressure_pa == pytest.approx(145e3, rel=0.02)


def test_a_long_nap_begins_with_a_look_and_ends_at_the_set() -> None:
    """Whatever wakes the replay in the middle of it does not make it longer."""
    site = site_with()
    board = StridingBoard(Settings(settings_of(site)))
    plant = Plant(site, 1)
    plain_ticks = 600
    for n in range(3 * plain_ticks):
        board.step(n, plant.clock.reading(n), plant.read(n))
    board.keeper.facts.off_ms = 5 * 3600000
    n = 3 * plain_ticks
    while board.keeper.quiet_ms:
        board.step(n, plant.clock.reading(n), plant.read(n))
        n += 1
    assert board.long_nap_ms() == SHORTER_NAP_MS
    nap_ms = board.long_nap_ms()
    assert nap_ms == LONGEST_NAP_MS
    board.nap(nap_ms)
    board.step(n + 10, plant.clock.reading(n + 10), plant.read(n + 10))
    assert board.long_nap_ms() == 0
    assert board.nap_ticks() == nap_ms // 100 - 11
    board.keeper.quiet_ms = 0
    board.keeper.clock.second = START_S - 700
    assert board.long_nap_ms() == 700000
