"""Replays nights: the control package of the board against the plant, the soil and the weather.

The replay starts at noon. While the pump may run it goes on tick by tick; while the board
naps and the plant rests it steps over the time in between, which gives the same log.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from keeper import Settings
from keeper.lines import day_number
from rillsim.accounts import Accounts, accounts_of
from rillsim.boards.anyboard import AnyBoard
from rillsim.boards.board import Board
from rillsim.boards.stride import StridingBoard
from rillsim.faults.catalogue import find
from rillsim.garden.garden import Garden, NightTruth, SoilTruth
from rillsim.garden.weather import DAY_S, Weather
from rillsim.garden.weatherdraw import draw_weather
from rillsim.glide import Glide, GlidingPlant
from rillsim.habit import Habit
from rillsim.handled import HandledPlant
from rillsim.plant import Plant
from rillsim.site import FaultSpec, Site

TICKS_PER_S = 10
NOON_S = DAY_S // 2
NIGHT_TICKS = DAY_S * TICKS_PER_S

_NEW_YEAR = "2026-01-01"
"""The replay is dated in this year, on the site's day of the year: it reads no clock."""

_AFTER_TICKS = 1200
"""The replay goes on past the last noon, until the board's own clock has struck it too."""

_FINE_TICKS = 10
_FINE_SAMPLES = 30
_PUMPING_TICKS = 100
_RESTING_TICKS = 6000
_DRY_TICKS = (108000, 36000)
"""A fast replay looks less often at a plant that rests under a dry sky."""
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FeltFault:
    """One fault of the replay, and whether the plant showed any sign of it."""

    spec: FaultSpec
    felt: bool
    sentence: str


@dataclass(frozen=True)
class Trace:
    """What really was, for the pictures: arrays of one length."""

    t_s: Floats
    pressure_pa: Floats
    battery_v: Floats
    """At the board's terminals."""
    current_a: Floats
    flow_m3_s: Floats
    charge_ah: Floats
    deficit_mm: Floats
    """Mean of the plot."""
    deficit_low_mm: Floats
    """Of its driest quarter."""
    on: Floats
    source_m3: Floats
    """Above the strainer; endless where the source has no volume."""
    motor_hot: Floats
    """1 while the motor's own thermal cut-out is open by heat."""
    source_gone: Floats
    """1 while the source is below the strainer."""


@dataclass(frozen=True)
class Week:
    """A replay: the board's log, and what plant and garden know beyond it."""

    site: Site
    seed: int
    nights: int
    start_day: int
    """Days from 1970-01-01 to the day at whose noon the replay begins (t = 0)."""
    settings: dict[str, int]
    log: tuple[str, ...]
    trace: Trace
    truth: tuple[NightTruth, ...]
    soil: SoilTruth
    accounts: Accounts
    faults: tuple[FeltFault, ...]
    control_steps: int
    battery_back_s: tuple[float, ...]
    """When the battery was brought back, in seconds from the start."""


class Hands(Protocol):
    """People who handle the site while it is replayed."""

    def join(self, plant: HandledPlant) -> None:
        """This is the site."""

    def act(self, n: int) -> int:
        """Do what is to be done at tick ``n``; returns the tick of what comes next."""


def start_day_of(site: Site) -> int:
    """The day number on which a replay of this site begins."""
    return int(day_number(_NEW_YEAR)) + site.weather.day_of_year - 1


def replay(
    site: Site,
    settings: dict[str, int],
    *,
    nights: int = 7,
    seed: int = 1,
    faults: tuple[FaultSpec, ...] = (),
    progress: Callable[[float], None] | None = None,
    step_over: bool = True,
    weather: Weather | None = None,
    first_ms: int = 0,
    board: AnyBoard | None = None,
    fast: bool = False,
    tap: Callable[[int, tuple[int, int, bool], list[int], int], None] | None = None,
    hands: Hands | None = None,
) -> Week:
    """Let the board keep the site for some nights.

    Parameters
    ----------
    site : Site
        The site, with its own faults and battery trips
    settings : dict
        The board's settings (``keeper.settings``)
    nights : int
        How many, noon to noon
    seed : int
        Of weather, noise and tolerances; the same seed gives the same bytes
    faults : tuple of FaultSpec
        Further faults
    progress : callable, optional
        Is told the share that is done, 0 to 1
    step_over : bool
        False ticks through the idle hours as well
    weather : Weather, optional
        In place of one drawn from the site and the seed
    first_ms : int
        What the board's millisecond counter shows at the start
    board : AnyBoard, optional
        In place of one made from the settings
    fast : bool
        Pass steady minutes and quiet hours in one go (glide.py); with a board of its own, and
        not where somebody handles the site
    tap : callable, optional
        Is given the tick, clock, counts and pin level of every control step
    hands : Hands, optional
        People who handle the site meanwhile

    Raises
    ------
    SettingsError
        When the settings cannot be used
    """
    site = replace(site, faults=site.faults + faults)
    run = _Run(site, settings, nights, seed, weather, hands, fast)
    if isinstance(run.plant, GlidingPlant):
        run.glide_on(run.plant, StridingBoard(Settings(settings), first_ms))
    else:
        run.board = board or Board(Settings(settings), first_ms)
    run.go(step_over, progress, tap)
    return run.week(settings)


class _Run:
    """One replay under way."""

    def __init__(
        self,
        site: Site,
        settings: dict[str, int],
        nights: int,
        seed: int,
        weather: Weather | None,
        hands: Hands | None,
        fast: bool,
    ) -> None:
        self.site = site
        self.nights = nights
        self.seed = seed
        self.start_day = start_day_of(site)
        self.weather = weather or draw_weather(
            site.weather, nights + 1, seed, site.water.altitude_m
        )
        air_c, sun_mj = self.weather.air_c, self.weather.solar_mj_m2
        edges = [edge - NOON_S for edge in self.weather.rain_edges_s()]
        self.hands = hands
        self.plant = (HandledPlant if hands else GlidingPlant if fast else Plant)(
            site,
            seed,
            start_s=NOON_S,
            start_day=self.start_day,
            air_c=lambda t_s: air_c(t_s + NOON_S),
            sun_mj=lambda from_s, to_s: sun_mj(from_s + NOON_S, to_s + NOON_S),
            rain_s=[
                (max(start, 0), end)
                for start, end in zip(edges[::2], edges[1::2], strict=True)
                if end > 0
            ],
            rain_mm=lambda from_s, to_s: self.weather.rain_mm(from_s + NOON_S, to_s + NOON_S),
        )
        if hands and isinstance(self.plant, HandledPlant):
            hands.join(self.plant)
        self.garden = Garden(site, self.weather, NOON_S, self._showers(), coarse=fast)
        self.board: AnyBoard
        self._glide: Glide | None = None
        self.rows: list[tuple[float, ...]] = []
        self.truth: list[NightTruth] = []
        self._sprinkled_m3 = 0.0
        self._fine = 0
        self._due_n = 0
        """Until then a board naps, which has no part in what a fast replay samples."""
        self._habit = Habit(site.home, NOON_S)

    def glide_on(self, plant: GlidingPlant, board: StridingBoard) -> None:
        """Go fast, with this board."""
        self.board = board
        self._glide = Glide(plant, board)

    def _showers(self) -> list[tuple[float, float, float]]:
        """What the rain faults let fall on the plot: start, end [s] and rate [mm/h]."""
        last_s = self.nights * DAY_S
        return [
            (start_s + NOON_S, min(end_s, last_s) + NOON_S, rate_mm_h)
            for start_s, end_s, rate_mm_h in self.plant.timeline.showers
        ]

    def go(
        self,
        step_over: bool,
        progress: Callable[[float], None] | None,
        tap: Callable[[int, tuple[int, int, bool], list[int], int], None] | None,
    ) -> None:
        """The loop. Local names, since it turns some hundred thousand times."""
        plant, board, glide = self.plant, self.board, self._glide
        read, drive, clock_reading = plant.read, plant.drive, plant.clock.reading
        step, act = board.step, self.hands.act if self.hands else None
        end = self.nights * NIGHT_TICKS + _AFTER_TICKS
        level = 0
        powered = True
        sample_n = 0
        n = 0
        acts_n = end
        while n < end:
            if act is not None:
                acts_n = act(n)
            before = level
            if n >= self._due_n:
                counts = read(n)
                if plant.board_powered:
                    if not powered:
                        board.power_back()
                    clock = clock_reading(n)
                    level = step(n, clock, counts)
                    if level != before:
                        drive(n, level)
                    if board.clock_set is not None:
                        plant.clock.set_to(n, *board.clock_set)
                    if tap is not None:
                        tap(n, clock, counts, level)
                    powered = True
                else:
                    powered, level = False, 0
            if n >= sample_n or level != before:
                sample_n = self._sample(n, level, level != before)
                if progress is not None:
                    progress(n / end)
            if level or not step_over:
                if glide is not None and n >= glide.next_n and level == before:
                    n = glide.run_on(n)
                n += 1
                continue
            n = max(n + 1, min(self._rests_until(n, powered), sample_n, acts_n, end))
        if progress is not None:
            progress(1.0)

    def _rests_until(self, n: int, powered: bool) -> int:
        """When the board looks again, or something happens to the plant."""
        glide, board = self._glide, self.board
        if glide is None:
            naps = board.nap_ticks() if powered else board.dark(n)
            return min(n + naps, self.plant.next_event_tick())
        if not powered:
            self._due_n = min(n + board.dark(n), self.plant.next_event_tick())
        elif n >= self._due_n:
            self._due_n = n + glide.nap_ticks(n)
        return self._due_n

    def _sample(self, n: int, level: int, switched: bool) -> int:
        """Write the trace, water the garden; returns the tick of the next sample."""
        if self._habit.looks(n):
            self._look(n)
        truth = self.plant.truth(n)
        t_s = n / TICKS_PER_S
        litres = (truth.sprinkled_m3 - self._sprinkled_m3) * 1000.0
        self._sprinkled_m3 = truth.sprinkled_m3
        if self._glide is None:
            self.garden.water(litres, truth.throw_m, truth.nozzle_pa)
        else:
            over_s = t_s - self.rows[-1][0] if self.rows else 0.0
            self.garden.water_long(litres, truth.throw_m, truth.nozzle_pa, over_s)
        self.garden.live(t_s + NOON_S)
        self.rows.append(
            (
                t_s,
                truth.pressure_pa,
                truth.board_v,
                truth.current_a,
                truth.flow_m3_s,
                truth.charge_ah,
                float(level == self.plant.whole),
                truth.source_m3,
                float(self.plant.motor_hot),
                float(self.plant.rig.suction.source_gone),
            )
        )
        if n and n % NIGHT_TICKS == 0:
            self.truth.append(self.garden.end_night())
        if switched and self._glide is None:
            self._fine = _FINE_SAMPLES
        if self._fine:
            self._fine -= 1
            return n + _FINE_TICKS
        if level:
            return n + _PUMPING_TICKS
        next_n = n - n % _RESTING_TICKS + _RESTING_TICKS
        return next_n if self._glide is None else max(next_n, self._dry_until(n))

    def _dry_until(self, n: int) -> int:
        """Until when a plot at rest stays dry, nobody comes and nothing happens to the site."""
        if not self.plant.idle:
            return n
        t_s, come_n = n / TICKS_PER_S + NOON_S, self._habit.next_n
        come_n = min(come_n + -come_n % _RESTING_TICKS, self.plant.timeline.next_stir_n(n))
        for ticks in _DRY_TICKS:
            until_n = n - n % ticks + ticks
            until_s = until_n / TICKS_PER_S + NOON_S
            if until_n <= come_n and self.garden.falls_mm(t_s, until_s) <= 0.0:
                return until_n
        return n

    def _look(self, n: int) -> None:
        """Somebody looks at the board: takes the battery home, clears what has locked it."""
        away = self.plant.timeline.battery_away(n)
        self._due_n = min(self._due_n, n + 1)
        if self._habit.goes_home(lambda: self.board.log) and not away:
            self.plant.take_home(n)
        if self._habit.clears and isinstance(self.board, Board) and self.plant.board_powered:
            self.board.clear()

    def _trace(self) -> Trace:
        """What was sampled, and the soil's course between its own steps."""
        rows = np.array(self.rows).T
        soil_s, mean_mm, low_mm = np.array(self.garden.course).T
        at_s = rows[0] + NOON_S
        lacks = [np.interp(at_s, soil_s, mm) for mm in (mean_mm, low_mm)]
        return Trace(*np.vstack([rows[:6], *lacks, rows[6:]]))

    def week(self, settings: dict[str, int]) -> Week:
        """What came of it."""
        felt = [n for _, n in self.plant.felt]
        soil = self.garden.soil()
        return Week(
            site=self.site,
            seed=self.seed,
            nights=self.nights,
            start_day=self.start_day,
            settings=settings,
            log=tuple(self.board.log),
            trace=self._trace(),
            truth=tuple(self.truth),
            soil=soil,
            accounts=accounts_of(self.plant, soil),
            faults=tuple(
                FeltFault(spec, felt_n is not None, find(spec.name).sentence)
                for spec, felt_n in zip(self.site.faults, felt, strict=True)
            ),
            control_steps=self.board.steps,
            battery_back_s=tuple(
                trip.end_n / TICKS_PER_S
                for trip in sorted(self.plant.timeline.trips, key=lambda trip: trip.end_n)
                if trip.end_n < self.nights * NIGHT_TICKS
            ),
        )
