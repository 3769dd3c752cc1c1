"""What a plot needs on a usual day, and the root zone that it has.

A plot that is watered every night has a wet surface every morning: its need is what crop and wet
ground use together, FAO-56 chapter 7.
"""

from dataclasses import dataclass, replace

import numpy as np

from rillsim.garden.crops import Soil, find_crop, find_soil
from rillsim.garden.dual import DualKc, dual_kc, evaporated_mm, total_evaporable_mm
from rillsim.garden.fao56 import reference_day_mm
from rillsim.garden.soil import RootZone, depletion_fraction
from rillsim.site import Site

DAY_S = 86400.0
DAYS_MAX = 100
"""A reserve that lasts longer is not reckoned on."""


@dataclass(frozen=True)
class UsualDay:
    """An average day of a site without rain, after a night that wetted all of the surface."""

    reference_mm: float
    """ETo."""
    kc: DualKc
    need_mm: float
    """What the crop uses with water at will, and the ground between."""


def usual_day(site: Site) -> UsualDay:
    """The usual day of a site, by its weather, crop and soil."""
    weather, soil = site.weather, find_soil(site.plot.soil)
    reference_mm = reference_day_mm(
        weather.latitude_deg,
        site.water.altitude_m,
        min(weather.day_of_year, 365),
        (weather.t_max_c, weather.t_min_c),
        (weather.humidity_max, weather.humidity_min),
        weather.wind_m_s,
        weather.sunshine,
    )
    kc = dual_kc(
        find_crop(site.plot.crop), site.plot.stage, weather.wind_m_s, weather.humidity_min
    )
    return UsualDay(reference_mm, kc, need_of(kc, reference_mm, soil))


def need_of(kc: DualKc, reference_mm: float, soil: Soil) -> float:
    """What crop and ground use on a day after a night that wetted all of the surface [mm].

    >>> round(need_of(DualKc(0.9, 1.2, 0.32), 5.0, find_soil("loam")), 9)
    6.0
    """
    most_mm = total_evaporable_mm(soil.field_capacity, soil.wilting_point)
    surface_mm = evaporated_mm(kc, reference_mm, np.zeros(1), soil.evaporable_mm, most_mm)
    return kc.basal * reference_mm + float(surface_mm[0])


def root_zone_of(site: Site, shape: tuple[int, ...] = (1,)) -> RootZone:
    """Root zone of a site's plot; its depletion fraction is that of the usual day's need.

    FAO-56 chapter 8 allows one value of p for a season in place of one a day.
    """
    plot = site.plot
    table = find_crop(plot.crop).depletion_fraction
    fraction = depletion_fraction(table, usual_day(site).need_mm)
    return RootZone(find_soil(plot.soil), plot.root_m, fraction, plot.deficit_mm, shape)


def reserve_days(site: Site) -> float:
    """How long soil that is full of water lasts until the crop suffers, on usual days [days]."""
    day = usual_day(site)
    zone = root_zone_of(replace(site, plot=replace(site.plot, deficit_mm=0.0)))
    for days in range(DAYS_MAX):
        before_mm = float(zone.deficit_mm[0])
        zone.step(DAY_S, reference_mm=day.reference_mm, kc=day.kc)
        after_mm = float(zone.deficit_mm[0])
        if after_mm >= zone.readily_mm:
            return days + (zone.readily_mm - before_mm) / (after_mm - before_mm)
    return float(DAYS_MAX)
