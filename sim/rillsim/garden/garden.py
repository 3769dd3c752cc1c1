"""The garden of a replay: what the sprinkler's litres and the weather do to the plot."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillsim.garden.crops import find_crop, find_soil
from rillsim.garden.plot import SprayPlot
from rillsim.garden.soil import RootZone, depletion_fraction
from rillsim.garden.weather import HOUR_S, Weather
from rillsim.site import Site


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
    """What the crop used."""
    rain_mm: float
    deficit_mm: float
    """Missing from the root zone when the night ends."""
    depth_map_mm: NDArray[np.float64]
    """Rows from the south, columns from the west."""


class Garden:
    """Plot, soil and crop under one weather; seconds are the weather's.

    ``showers`` are spells of rain beyond the weather's own: start, end and rate [s, s, mm/h].
    """

    def __init__(
        self,
        site: Site,
        weather: Weather,
        start_s: float,
        showers: Sequence[tuple[float, float, float]] = (),
    ) -> None:
        plot = site.plot
        crop = find_crop(plot.crop)
        self.weather = weather
        self.showers = tuple(showers)
        self.spray = SprayPlot(plot, site.sprinkler)
        self.kc = crop.coefficient(plot.stage)
        demand = self.kc * max(weather.reference_mm)
        fraction = depletion_fraction(crop.depletion_fraction, demand)
        self.zone = RootZone(find_soil(plot.soil), plot.root_m, fraction, plot.deficit_mm)
        self._now_s = start_s
        self._landed_mm = 0.0
        self._litres = 0.0
        self._night = 1
        self._used_mm = 0.0
        self._rain_mm = 0.0

    def water(self, litres: float, throw_m: float, nozzle_pa: float) -> None:
        """The sprinkler has just given this much at this throw."""
        if litres <= 0.0:
            return
        now_s = self._now_s
        weather = self.weather
        self._litres += litres
        self.spray.add_in_air(
            litres,
            throw_m,
            weather.wind_m_s(now_s),
            weather.wind_from_deg(now_s),
            weather.humidity(now_s),
            nozzle_pa,
        )

    def live(self, until_s: float) -> None:
        """Let rain, spray and sun work up to a second, in steps of at most an hour."""
        while self._now_s < until_s:
            next_hour = (self._now_s // HOUR_S + 1.0) * HOUR_S
            self._step(min(until_s, next_hour))

    def _step(self, until_s: float) -> None:
        landed_mm = self.spray.mean_mm
        rain_mm = self.weather.rain_mm(self._now_s, until_s) + sum(
            rate_mm_h * max(0.0, min(until_s, end_s) - max(self._now_s, start_s)) / HOUR_S
            for start_s, end_s, rate_mm_h in self.showers
        )
        self.zone.step(
            until_s - self._now_s,
            rain_mm,
            landed_mm - self._landed_mm,
            self.kc * self.weather.evaporation_mm(self._now_s, until_s),
        )
        self._landed_mm = landed_mm
        self._now_s = until_s

    def end_night(self) -> NightTruth:
        """Close the night's account and begin the next."""
        sums = self.zone.sums
        given = self._litres > 0.0 and self.spray.mean_mm > 0.0
        truth = NightTruth(
            night=self._night,
            litres=self._litres,
            plot_mm=self.spray.mean_mm,
            cu=self.spray.cu_percent if given else float("nan"),
            du=self.spray.du_percent if given else float("nan"),
            et_mm=sums.used_mm - self._used_mm,
            rain_mm=sums.rain_mm - self._rain_mm,
            deficit_mm=self.zone.deficit_mm,
            depth_map_mm=self.spray.depth_mm.copy(),
        )
        self._night += 1
        self._used_mm = sums.used_mm
        self._rain_mm = sums.rain_mm
        self._litres = 0.0
        self._landed_mm = 0.0
        self.spray.clear()
        return truth
