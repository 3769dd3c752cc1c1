"""Water given against water used, night by night, and what the soil is still short of.

The weather of a date stands beside the night that begins on it: the crop uses water by day, and
the night's set makes that good. A day that is not in the weather table is not known, and from
there on neither is the water in the soil.

A log has one depth for the plot. How it lies on it is the site's usual night: so the soil is
reckoned cell by cell, as in a replay, and judged by its driest quarter.

Reference
---------
FAO-56 chapters 7 and 8: ETc = (Ks Kcb + Ke) ETo (eq. 80), and the water balance of the root zone
(eq. 85).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.design.size.watering import usual_map
from rillkeeper.display_units import counted, day_text
from rillkeeper.morning.weather.reader import Days
from rillkeeper.morning.weather.reference import Reference, climate_of, reference_of
from rillkeeper.runlog.nights import Night
from rillsim.garden.crops import find_crop
from rillsim.garden.dual import DualKc, dual_kc
from rillsim.garden.need import need_of, root_zone_of
from rillsim.garden.soil import RootZone
from rillsim.garden.uniformity import low_quarter_mean
from rillsim.site import Site

_DAY_S = 86400.0


@dataclass(frozen=True)
class DayBalance:
    """A date and the night that begins on it; None is not known."""

    day: int
    reference: Reference | None
    rain_mm: float | None
    given_mm: float | None
    used_mm: float | None
    """What crop and ground used."""
    wanted_mm: float | None
    """What they would have used with water at will and the ground wet, Kc ETo."""
    surplus_mm: float | None
    """Given and rain less used, since the first night."""
    deficit_mm: float | None
    """What the root zone is short of when the night is over, mean of the plot."""
    deficit_low_mm: float | None
    """The same on the driest quarter: the ground that lacks most then."""
    drained_mm: float | None
    """What ran off or passed below the roots."""


@dataclass(frozen=True)
class Balance:
    """All nights of a report."""

    days: tuple[DayBalance, ...]
    kcb: float
    """Of table 17."""
    crop: str
    stress_mm: float
    """Deficit from which the crop suffers."""

    def of(self, day: int) -> DayBalance | None:
        """That of a night."""
        return next((one for one in self.days if one.day == day), None)

    @property
    def known(self) -> list[DayBalance]:
        """Days of which the crop's use is known."""
        return [one for one in self.days if one.wanted_mm is not None]

    @property
    def notes(self) -> list[str]:
        """How the numbers came about and what is missing, in sentences."""
        methods = Counter(one.reference.method for one in self.days if one.reference)
        filled = Counter(
            what for one in self.days if one.reference for what in one.reference.filled
        )
        found = []
        if methods:
            ways = "; ".join(f"{way} on {counted(n, 'day')}" for way, n in methods.items())
            found.append(
                f"Reference evapotranspiration: {ways}. Crop coefficient {self.kcb:g} "
                f"({self.crop}; FAO-56 table 17, dual), and what the wet ground gives off besides."
            )
        if filled:
            ways = "; ".join(f"{what} on {counted(n, 'day')}" for what, n in filled.items())
            found.append(
                f"Not in the weather table and worked out by the rules of FAO-56: {ways}."
            )
        missing = [day_text(one.day) for one in self.days if one.wanted_mm is None]
        if missing:
            found.append(
                f"What crop and ground used is not known on {', '.join(missing)}: the weather "
                "table has no temperatures and no ET0 there. From then on the soil's water is "
                "not known."
            )
        dry = [
            day_text(one.day)
            for one in self.days
            if one.wanted_mm is not None and one.rain_mm is None
        ]
        if dry:
            found.append(f"Rain is not in the weather table on {', '.join(dry)}: none is counted.")
        return found


def balance_of(site: Site, nights: Sequence[Night], days: Days) -> Balance:
    """Hold the nights of a board against the weather.

    Parameters
    ----------
    site : Site
        Its plot, crop and soil, and the place on earth
    nights : sequence of Night
        As the report has them; what they gave is the board's own reckoning
    days : dict
        The weather, by day number
    """
    crop, stage = find_crop(site.plot.crop), site.plot.stage
    spread = usual_map(site)
    zone = root_zone_of(site, spread.shape)
    rows: list[DayBalance] = []
    surplus_mm: float | None = 0.0
    whole = True
    for night in nights:
        day = days.get(night.day, {})
        reference = reference_of(day, night.day, site.weather.latitude_deg, site.water.altitude_m)
        kc = dual_kc(crop, stage, *climate_of(day))
        given_mm = None if night.depth_um is None else night.depth_um / 1000.0
        rain_mm = day.get("rain")
        if reference is None or given_mm is None:
            whole, surplus_mm = False, None
        wanted_mm = need_of(kc, reference.mm, zone.soil) if reference else None
        used_mm = drained_mm = None
        if whole and reference is not None and given_mm is not None:
            given = given_mm * spread
            used_mm, drained_mm = _live(zone, night, rain_mm or 0.0, given, reference.mm, kc)
            assert surplus_mm is not None
            surplus_mm += given_mm + (rain_mm or 0.0) - used_mm
        rows.append(
            DayBalance(
                day=night.day,
                reference=reference,
                rain_mm=rain_mm,
                given_mm=given_mm,
                used_mm=used_mm if whole else wanted_mm,
                wanted_mm=wanted_mm,
                surplus_mm=surplus_mm,
                deficit_mm=float(zone.deficit_mm.mean()) if whole else None,
                deficit_low_mm=-low_quarter_mean(-zone.deficit_mm) if whole else None,
                drained_mm=drained_mm,
            )
        )
    return Balance(tuple(rows), crop.basal(stage), f"{crop.name}, {stage}", zone.readily_mm)


def _live(
    zone: RootZone,
    night: Night,
    rain_mm: float,
    given_mm: NDArray[np.float64],
    reference_mm: float,
    kc: DualKc,
) -> tuple[float, float]:
    """The day, then its night's water; means of what was used, and of what was lost."""
    sums = zone.sums

    def lost_mm() -> float:
        return float(sums.drained_mm.mean() + sums.runoff_mm.mean())

    used_before_mm, lost_before_mm = float(sums.used_mm.mean()), lost_mm()
    run_s = min(float(night.run_s or 0), _DAY_S / 2.0)
    zone.step(_DAY_S - run_s, rain_mm=rain_mm, reference_mm=reference_mm, kc=kc)
    zone.step(max(run_s, 1.0), spray_mm=given_mm)
    zone.step(_DAY_S / 24.0)  # What stands in the hollows soaks in.
    return float(sums.used_mm.mean()) - used_before_mm, lost_mm() - lost_before_mm
