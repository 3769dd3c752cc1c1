"""What the plot gets: reach, rate, evenness, and the minutes that crop and weather ask for.

The minutes are those of the driest quarter, the quarter of the plot that the sprinkler gives
least, as the trade reckons them: need over mean rate and uniformity (DU).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.garden.crops import find_soil
from rillsim.garden.need import reserve_days, usual_day
from rillsim.garden.plot import SprayPlot
from rillsim.garden.spray import air_loss
from rillsim.garden.uniformity import christiansen_cu, du_low_quarter
from rillsim.garden.weather import WIND_SWING
from rillsim.site import Site

ENOUGH_SHARE = 0.5
"""A place counts as watered when it gets at least half of the mean."""
_WEST_DEG = 270.0


@dataclass(frozen=True)
class Watering:
    """The plot's side of the sizing, battery half used."""

    reach: float
    """Share of the plot within the throw and the arc."""
    enough: float
    """Share of the plot that gets at least half of the mean."""
    rate_mm_h: float
    """Mean over the plot."""
    peak_mm_h: float
    """Where it falls thickest."""
    infiltration_mm_h: float
    """What the soil takes in for long."""
    cu: float
    du: float
    """Calm night."""
    windy_cu: float
    windy_du: float
    """With the usual wind of an evening, from the west."""
    landed: float
    """Share of the pumped water that comes down on the plot."""
    wet_area_m2: float
    et0_mm: float
    need_mm: float
    """What crop and wet ground use on a usual day without rain."""
    need_s: float
    need_m3: float
    """Pumping and water for that need, mean over the plot."""
    need_low_s: float
    need_low_m3: float
    """The same for the driest quarter; infinite where it gets nothing."""
    set_s: float
    """Pumping that the site's sets ask for, a night."""
    set_mm: float
    """Mean over the plot."""
    set_low_mm: float
    """On the driest quarter."""
    days_between: float
    """How long the soil's readily available water lasts."""


def watering_of(work: WorkingSite) -> Watering:
    """What the plot of a site gets."""
    site, point = work.site, work.middle.point
    day = usual_day(site)
    need_mm = day.need_mm
    flow = point.flow_m3_s
    wet_m2 = work.wet_area_m2() if flow > 0.0 else float("inf")
    calm = spray_map(work)
    windy = spray_map(work, site.weather.wind_m_s * (1.0 - WIND_SWING))
    litres_h = 3.6e6 * flow
    low = du_low_quarter(windy) / 100.0
    need_m3 = need_mm * wet_m2 / 1e3
    need_low_m3 = need_m3 / low if low > 0.0 else float("inf")
    set_mm = 1e3 * flow * work.night_s() / wet_m2 if flow > 0.0 else 0.0
    return Watering(
        reach=reach_share(site, point.throw_m),
        enough=float(np.mean(calm >= ENOUGH_SHARE * calm.mean())) if calm.any() else 0.0,
        rate_mm_h=litres_h / wet_m2,
        peak_mm_h=float(calm.max()) * litres_h,
        infiltration_mm_h=find_soil(site.plot.soil).infiltration_mm_h,
        cu=christiansen_cu(calm),
        du=du_low_quarter(calm),
        windy_cu=christiansen_cu(windy),
        windy_du=100.0 * low,
        landed=site.plot.width_m * site.plot.depth_m / wet_m2,
        wet_area_m2=wet_m2,
        et0_mm=day.reference_mm,
        need_mm=need_mm,
        need_s=need_m3 / flow if flow > 0.0 else float("inf"),
        need_m3=need_m3,
        need_low_s=need_low_m3 / flow if flow > 0.0 else float("inf"),
        need_low_m3=need_low_m3,
        set_s=work.night_s(),
        set_mm=set_mm,
        set_low_mm=set_mm * low,
        days_between=reserve_days(site),
    )


def usual_map(site: Site) -> NDArray[np.float64]:
    """How a usual night's water lies on the plot, as a share of its mean, cell by cell [-].

    Even where the model has none come down: nothing better is known then.
    """
    spread = spray_map(WorkingSite(site), site.weather.wind_m_s * (1.0 - WIND_SWING))
    return spread / spread.mean() if spread.any() else np.ones_like(spread)


def spray_map(work: WorkingSite, wind_m_s: float = 0.0) -> NDArray[np.float64]:
    """Depth in each cell for a litre that is pumped, rows from the south [mm]."""
    site, point = work.site, work.middle.point
    spray = SprayPlot(site.plot, site.sprinkler)
    if point.flow_m3_s > 0.0:
        lost = air_loss(wind_m_s, site.weather.humidity_max)
        spray.add(1.0, point.throw_m, wind_m_s, _WEST_DEG, point.nozzle_pa, lost)
    return spray.depth_mm


def reach_share(site: Site, throw_m: float) -> float:
    """Share of the plot that lies within a throw and within the sprinkler's arc."""
    sprinkler = site.sprinkler
    spray = SprayPlot(site.plot, sprinkler)
    east = (np.arange(spray.columns) + 0.5) * spray.cell_x_m - sprinkler.x_m
    north = (np.arange(spray.rows) + 0.5) * spray.cell_y_m - sprinkler.y_m
    within = np.hypot(east[np.newaxis, :], north[:, np.newaxis]) <= throw_m
    bearing = np.degrees(np.arctan2(east[np.newaxis, :], north[:, np.newaxis]))
    off = (bearing - sprinkler.facing_deg + 180.0) % 360.0 - 180.0
    return float(np.mean(within & (np.abs(off) <= sprinkler.arc_deg / 2.0)))
