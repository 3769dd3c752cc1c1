"""The garden of a replay: what the sprinkler's litres and the weather do to the plot.

The plot is judged as the trade does, by its low quarter: the quarter of its ground that lacks
most water. Means stand beside it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillsim.garden.crops import find_crop
from rillsim.garden.dual import DualKc, dual_kc
from rillsim.garden.need import root_zone_of
from rillsim.garden.plot import SprayPlot
from rillsim.garden.uniformity import low_quarter_mean, low_quarter_weights
from rillsim.garden.weather import HOUR_S, Day, Weather
from rillsim.site import Site

Floats = NDArray[np.float64]

STEP_S = 60.0
"""While water falls the soil is looked at once a minute at most; within it that falls evenly."""
PIECE_S = 180.0
"""So long at most all that falls is taken to fly equally far."""
STEADY = 0.1
"""A throw that has changed by less than this share of it has changed evenly."""
DRY_STEP_S = 3 * 3600
COURSE_S = 6 * 3600
"""Of a fast replay: where nothing falls, its hours in one step come to the same to a hundredth of
a millimetre."""


@dataclass(frozen=True)
class NightTruth:
    """One night, noon to noon, as the garden had it; depths are means over the plot."""

    night: int
    litres: float
    """Through the sprinkler; a burst hose's water is not in it."""
    plot_mm: float
    cu: float
    """Christiansen's uniformity [%]; not a number where nothing was given."""
    du: float
    """Of the driest quarter [%]."""
    et_mm: float
    """What crop and bare ground used."""
    rain_mm: float
    runoff_mm: float
    drained_mm: float
    deficit_mm: float
    """Missing from the root zone when the night ends."""
    deficit_low_mm: float
    """The same on the driest quarter: the ground that lacks most then."""
    stress_low: float
    """Share of its demand that the crop got there, Ks over the night and the day before it."""
    stressed: float
    """Share of the plot that lacks more than its easy water when the night ends."""
    depth_map_mm: Floats
    """Rows from the south, columns from the west."""


@dataclass(frozen=True)
class SoilAccount:
    """Where the water of a piece of the plot came from and went to, in all [mm]."""

    spray_mm: float
    rain_mm: float
    crop_mm: float
    surface_mm: float
    """Given off by the bare ground."""
    runoff_mm: float
    drained_mm: float
    standing_mm: float
    """In the hollows at the end."""
    stored_mm: float
    """More in the root zone than at the start; below zero where there is less."""


@dataclass(frozen=True)
class SoilTruth:
    """The plot's soil over a whole replay."""

    mean: SoilAccount
    driest: SoilAccount
    """Of the quarter of the ground that lacks most at the end."""
    readily_mm: float
    """Deficit from which the crop suffers."""
    demand_mm: float
    """What the crop would have used with water at will."""
    need_map_mm: Floats
    """What the crop would have used with water at will, and the bare ground did, by cell."""
    on_plot_l: float
    air_l: float
    """Lost before it landed."""
    beside_l: float
    """Landed beside the plot."""
    back_l: float
    """Drawn back through the nozzle by the hose when the pump stopped."""


class _Sums(NamedTuple):
    """What has gone through the soil so far; crop by cell, the rest means of the plot [mm]."""

    crop_mm: Floats
    demand_mm: float
    rain_mm: float
    used_mm: float
    runoff_mm: float
    drained_mm: float


class Garden:
    """Plot, soil and crop under one weather; seconds are the weather's.

    ``showers`` are spells of rain beyond the weather's own: start, end and rate [s, s, mm/h];
    a ``coarse`` one notes the soil's course less often, and goes over dry hours by threes.
    """

    def __init__(
        self,
        site: Site,
        weather: Weather,
        start_s: float,
        showers: Sequence[tuple[float, float, float]] = (),
        coarse: bool = False,
    ) -> None:
        self.weather = weather
        self.showers = tuple(showers)
        self.spray = SprayPlot(site.plot, site.sprinkler)
        self.zone = root_zone_of(site, (self.spray.rows, self.spray.columns))
        self._crop, self._stage = find_crop(site.plot.crop), site.plot.stage
        self._kc: dict[Day, DualKc] = {}
        self._seen_s = self._now_s = start_s
        self._landed_mm = self.spray.depth_mm
        self._litres = self._air_l = self._pumped_l = self._back_l = 0.0
        self._throw_m = 0.0
        self._wet = False
        """Whether water has fallen since the soil's second, or stands."""
        self.course: list[tuple[float, float, float]] = [(start_s, *self.deficits_mm)]
        """Seconds with the plot's mean deficit and that of its driest quarter, step by step."""
        self._course_s = COURSE_S if coarse else 0.0
        self._dry_step_s = DRY_STEP_S if coarse else HOUR_S
        self._night = 1
        self._before = self._sums()

    def water(self, litres: float, throw_m: float, nozzle_pa: float, after_s: float = 0.0) -> None:
        """The sprinkler has given this much at this throw, in the wind of ``after_s`` from the
        second up to which the garden has lived."""
        if litres <= 0.0:
            self._back_l -= litres
            return
        now_s = self._seen_s
        if not self._wet:
            self._advance(now_s)
            self._wet = True
        weather = self.weather
        now_s += after_s
        self._litres += litres
        self.spray.add_in_air(
            litres,
            throw_m,
            weather.wind_m_s(now_s),
            weather.wind_from_deg(now_s),
            weather.humidity(now_s),
            nozzle_pa,
        )

    def water_long(self, litres: float, throw_m: float, nozzle_pa: float, over_s: float) -> None:
        """The same for so long a time, in which the throw has come evenly to what it is now."""
        before_m, self._throw_m = self._throw_m, throw_m
        gone_m = before_m - throw_m if abs(before_m - throw_m) < STEADY * before_m else 0.0
        pieces = 1 + int(over_s / PIECE_S)
        for piece in range(pieces):
            share = (piece + 0.5) / pieces
            still_m = throw_m + (1.0 - share) * gone_m
            self.water(litres / pieces, still_m, nozzle_pa, share * over_s)

    def live(self, until_s: float) -> None:
        """Let rain, spray and sun work up to a second.

        The soil goes on by whole hours while nothing falls, else by a minute at least; what is
        less waits for the next call.
        """
        seen_s, self._seen_s = self._seen_s, until_s
        if not self._wet and self.falls_mm(seen_s, until_s) > 0.0:
            self._advance(seen_s)
            self._wet = True
        whole_s = until_s // self._dry_step_s * self._dry_step_s
        if self._wet and until_s >= self._now_s + STEP_S:
            self._advance(until_s)
        elif whole_s > self._now_s:
            self._advance(whole_s)

    @property
    def deficits_mm(self) -> tuple[float, float]:
        """What the root zone lacks: mean of the plot, and of its driest quarter [mm]."""
        deficit_mm = self.zone.deficit_mm
        return float(deficit_mm.mean()), -low_quarter_mean(-deficit_mm)

    def _advance(self, until_s: float) -> None:
        """Take the soil up to a second, within each hour by itself."""
        while self._now_s < until_s:
            step_s = HOUR_S if self._wet else self._dry_step_s
            self._step(min(until_s, (self._now_s // step_s + 1.0) * step_s))
            self._wet = self.zone.stands
            if self._now_s >= self.course[-1][0] + self._course_s:
                self.course.append((self._now_s, *self.deficits_mm))

    def _step(self, until_s: float) -> None:
        landed_mm = self.spray.depth_mm
        fresh_mm = 0.0 if landed_mm is self._landed_mm else landed_mm - self._landed_mm
        self.zone.step(
            until_s - self._now_s,
            self.falls_mm(self._now_s, until_s),
            fresh_mm,
            self.weather.evaporation_mm(self._now_s, until_s),
            self._kc_of(self.weather.day_at(self._now_s)),
        )
        self._landed_mm = landed_mm
        self._now_s = until_s

    def falls_mm(self, start_s: float, end_s: float) -> float:
        """The weather's rain and the showers between two seconds."""
        return self.weather.rain_mm(start_s, end_s) + sum(
            rate_mm_h * max(0.0, min(end_s, stop_s) - max(start_s, begin_s)) / HOUR_S
            for begin_s, stop_s, rate_mm_h in self.showers
        )

    def _kc_of(self, day: Day) -> DualKc:
        """The crop's coefficients in a day's wind and dryness."""
        if day not in self._kc:
            self._kc[day] = dual_kc(self._crop, self._stage, day.wind_m_s, day.humidity_min)
        return self._kc[day]

    def _sums(self) -> _Sums:
        sums = self.zone.sums
        return _Sums(
            sums.crop_mm.copy(),
            sums.demand_mm,
            sums.rain_mm,
            float(sums.used_mm.mean()),
            float(sums.runoff_mm.mean()),
            float(sums.drained_mm.mean()),
        )

    def end_night(self) -> NightTruth:
        """Close the night's account and begin the next."""
        spray = self.spray
        now, before = self._sums(), self._before
        demand_mm = now.demand_mm - before.demand_mm
        given = self._litres > 0.0 and spray.mean_mm > 0.0
        mean_mm, low_mm = self.deficits_mm
        driest = low_quarter_weights(-self.zone.deficit_mm)
        crop_low_mm = float((driest * (now.crop_mm - before.crop_mm)).sum())
        truth = NightTruth(
            night=self._night,
            litres=self._litres,
            plot_mm=spray.mean_mm,
            cu=spray.cu_percent if given else float("nan"),
            du=spray.du_percent if given else float("nan"),
            et_mm=now.used_mm - before.used_mm,
            rain_mm=now.rain_mm - before.rain_mm,
            runoff_mm=now.runoff_mm - before.runoff_mm,
            drained_mm=now.drained_mm - before.drained_mm,
            deficit_mm=mean_mm,
            deficit_low_mm=low_mm,
            stress_low=crop_low_mm / demand_mm if demand_mm > 0.0 else 1.0,
            stressed=float(np.mean(self.zone.stress < 1.0)),
            depth_map_mm=spray.depth_mm.copy(),
        )
        self._night += 1
        self._before = now
        self._pumped_l += spray.litres_pumped
        self._air_l += spray.litres_lost
        self._litres = 0.0
        spray.clear()
        self._landed_mm = spray.depth_mm
        return truth

    def soil(self) -> SoilTruth:
        """The account of the whole time so far."""
        zone = self.zone
        even = np.full_like(zone.deficit_mm, 1.0 / zone.deficit_mm.size)
        on_plot_l = float(zone.sums.spray_mm.mean()) * self.spray.area_m2
        pumped_l = self._pumped_l + self.spray.litres_pumped
        air_l = self._air_l + self.spray.litres_lost
        return SoilTruth(
            mean=self._account(even),
            driest=self._account(low_quarter_weights(-zone.deficit_mm)),
            readily_mm=zone.readily_mm,
            demand_mm=zone.sums.demand_mm,
            need_map_mm=zone.sums.surface_mm + zone.sums.demand_mm,
            on_plot_l=on_plot_l,
            air_l=air_l,
            beside_l=pumped_l - air_l - on_plot_l,
            back_l=self._back_l,
        )

    def _account(self, weights: Floats) -> SoilAccount:
        zone, sums = self.zone, self.zone.sums

        def over(cells_mm: Floats) -> float:
            return float((weights * cells_mm).sum())

        return SoilAccount(
            spray_mm=over(sums.spray_mm),
            rain_mm=sums.rain_mm,
            crop_mm=over(sums.crop_mm),
            surface_mm=over(sums.surface_mm),
            runoff_mm=over(sums.runoff_mm),
            drained_mm=over(sums.drained_mm),
            standing_mm=over(zone.standing_mm),
            stored_mm=zone.start_mm - over(zone.deficit_mm),
        )
