"""What the plot gets: reach, rate, evenness, and the minutes that crop and weather ask for."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.garden.crops import find_crop, find_soil
from rillsim.garden.fao56 import reference_day_mm
from rillsim.garden.plot import SprayPlot
from rillsim.garden.soil import depletion_fraction, readily_available_mm, total_available_mm
from rillsim.garden.spray import air_loss
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
    """Of the crop on a usual day without rain."""
    need_s: float
    need_m3: float
    """Pumping and water for that need."""
    set_s: float
    """Pumping that the site's sets ask for, a night."""
    set_mm: float
    days_between: float
    """How long the soil's readily available water lasts."""


def watering_of(work: WorkingSite) -> Watering:
    """What the plot of a site gets."""
    site, point = work.site, work.middle.point
    crop, soil = find_crop(site.plot.crop), find_soil(site.plot.soil)
    et0_mm = _reference_mm(site)
    need_mm = crop.coefficient(site.plot.stage) * et0_mm
    fraction = depletion_fraction(crop.depletion_fraction, need_mm)
    held_mm = total_available_mm(soil.field_capacity, soil.wilting_point, site.plot.root_m)
    flow = point.flow_m3_s
    wet_m2 = work.wet_area_m2() if flow > 0.0 else float("inf")
    calm = spray_map(work)
    windy = spray_map(work, site.weather.wind_m_s * (1.0 - WIND_SWING))
    litres_h = 3.6e6 * flow
    return Watering(
        reach=reach_share(site, point.throw_m),
        enough=float(np.mean(calm >= ENOUGH_SHARE * calm.mean())) if calm.any() else 0.0,
        rate_mm_h=litres_h / wet_m2,
        peak_mm_h=float(calm.max()) * litres_h,
        infiltration_mm_h=soil.infiltration_mm_h,
        cu=_figure(calm, "cu"),
        du=_figure(calm, "du"),
        windy_cu=_figure(windy, "cu"),
        windy_du=_figure(windy, "du"),
        landed=site.plot.width_m * site.plot.depth_m / wet_m2,
        wet_area_m2=wet_m2,
        et0_mm=et0_mm,
        need_mm=need_mm,
        need_s=need_mm * wet_m2 / 1e3 / flow if flow > 0.0 else float("inf"),
        need_m3=need_mm * wet_m2 / 1e3,
        set_s=work.night_s(),
        set_mm=1e3 * flow * work.night_s() / wet_m2 if flow > 0.0 else 0.0,
        days_between=readily_available_mm(fraction, held_mm) / need_mm if need_mm else 0.0,
    )


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


def _reference_mm(site: Site) -> float:
    """Reference evapotranspiration of the site's average day [mm]."""
    weather = site.weather
    return reference_day_mm(
        weather.latitude_deg,
        site.water.altitude_m,
        min(weather.day_of_year, 365),
        (weather.t_max_c, weather.t_min_c),
        (weather.humidity_max, weather.humidity_min),
        weather.wind_m_s,
        weather.sunshine,
    )


def _figure(depth_mm: NDArray[np.float64], which: str) -> float:
    from rillsim.garden.uniformity import christiansen_cu, du_low_quarter

    return christiansen_cu(depth_mm) if which == "cu" else du_low_quarter(depth_mm)
