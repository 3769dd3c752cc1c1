"""Root zone of the plot as a bucket: what goes in, what runs off, what drains, what is used.

Depletion is the water that is missing from field capacity. Rain and spray first meet the
surface: what the soil cannot take at once stands in the hollows, and what they cannot hold
runs off. What passes field capacity drains below the roots. The crop takes its coefficient
times the reference, and less once the easy water is gone.

Every step is solved in closed form for rates that are constant within it: an hour in one step
or in a thousand ends in the same place. Only where a thirsty crop is being watered does the
step count: its water is there from the step's start. The balance closes to rounding always.

Reference
---------
FAO-56 chapter 8: eq. 82 (TAW), 83 (RAW), 84 (Ks) and 85 (the balance). The inputs of its
examples are quoted from memory.
"""

from dataclasses import dataclass
from math import exp

from rillsim.garden.crops import Soil, find_crop, find_soil
from rillsim.site import PlotSpec

HOUR_S = 3600.0


def total_available_mm(field_capacity: float, wilting_point: float, root_m: float) -> float:
    """Water that a root zone holds for the crop, TAW = 1000 (fc - wp) Zr [mm] (eq. 82).

    FAO-56 example 36 (loamy sand, onion) has 36.

    >>> round(total_available_mm(0.15, 0.06, 0.4), 9)
    36.0
    """
    return 1000.0 * (field_capacity - wilting_point) * root_m


def readily_available_mm(depletion_fraction: float, total_mm: float) -> float:
    """Part of it that the crop takes without suffering, RAW = p TAW [mm] (eq. 83).

    >>> round(readily_available_mm(0.30, 36.0), 9)
    10.8
    """
    return depletion_fraction * total_mm


def depletion_fraction(at_5_mm: float, crop_mm_day: float) -> float:
    """Depletion fraction for the day's demand, p = p5 + 0.04 (5 - ETc) in 0.1 to 0.8 [-].

    FAO-56 table 22, footnote 2.

    >>> depletion_fraction(0.30, 5.0)
    0.3
    """
    return min(0.8, max(0.1, at_5_mm + 0.04 * (5.0 - crop_mm_day)))


def stress_coefficient(depletion_mm: float, total_mm: float, readily_mm: float) -> float:
    """Share of its demand that the crop still gets, Ks [-] (eq. 84).

    1 up to RAW, then down in a straight line to 0 at TAW. FAO-56 example 37 (TAW 110,
    RAW 63, depletion 65.9 mm) has 0.94.

    >>> round(stress_coefficient(65.9, 110.0, 63.0), 2)
    0.94
    """
    if depletion_mm <= readily_mm:
        return 1.0
    return max(0.0, (total_mm - depletion_mm) / (total_mm - readily_mm))


@dataclass
class SoilWater:
    """Sums since the start [mm over the plot]."""

    rain_mm: float = 0.0
    spray_mm: float = 0.0
    used_mm: float = 0.0
    runoff_mm: float = 0.0
    drained_mm: float = 0.0
    demand_mm: float = 0.0
    """What the crop would have used with water at will."""


class RootZone:
    """The bucket.

    Parameters
    ----------
    soil : Soil
        What the roots stand in
    root_m : float
        Depth of the roots [m]
    fraction : float
        Depletion fraction p, 0 to 1 [-]
    deficit_mm : float
        Water missing at the start, 0 to TAW [mm]

    Examples
    --------
    >>> from rillsim.garden.crops import find_soil
    >>> zone = RootZone(find_soil("loam"), root_m=0.4, fraction=0.3, deficit_mm=10.0)
    >>> zone.step(3600.0, spray_mm=5.0, demand_mm=0.2)
    >>> round(zone.deficit_mm, 3)
    5.2
    """

    def __init__(self, soil: Soil, root_m: float, fraction: float, deficit_mm: float) -> None:
        if not root_m > 0.0:
            raise ValueError(f"root depth {root_m:g} m: give a depth above 0 m")
        if not 0.0 < fraction < 1.0:
            raise ValueError(f"depletion fraction {fraction:g}: give a share between 0 and 1")
        self.soil = soil
        self.total_mm = total_available_mm(soil.field_capacity, soil.wilting_point, root_m)
        self.readily_mm = readily_available_mm(fraction, self.total_mm)
        if not 0.0 <= deficit_mm <= self.total_mm:
            raise ValueError(
                f"{deficit_mm:g} mm are missing at the start, but {root_m:g} m of {soil.name} "
                f"hold {self.total_mm:.1f} mm for the crop: give 0 to {self.total_mm:.1f} mm"
            )
        self.deficit_mm = deficit_mm
        self.standing_mm = 0.0
        self.sums = SoilWater()

    @classmethod
    def of_plot(cls, plot: PlotSpec, crop_mm_day: float = 5.0) -> "RootZone":
        """Root zone of a plot, with the depletion fraction of its crop at this demand."""
        fraction = depletion_fraction(find_crop(plot.crop).depletion_fraction, crop_mm_day)
        return cls(find_soil(plot.soil), plot.root_m, fraction, plot.deficit_mm)

    @property
    def stress(self) -> float:
        """Ks now: 1 is a crop that has all it can use."""
        return stress_coefficient(self.deficit_mm, self.total_mm, self.readily_mm)

    def step(
        self, step_s: float, rain_mm: float = 0.0, spray_mm: float = 0.0, demand_mm: float = 0.0
    ) -> None:
        """Live through ``step_s`` seconds in which these depths fall and are asked for evenly.

        ``demand_mm`` is Kc ETo of the step. Water in the hollows keeps soaking in afterwards,
        which is what a pause between two runs is for.
        """
        if step_s < 0.0 or rain_mm < 0.0 or spray_mm < 0.0 or demand_mm < 0.0:
            raise ValueError(
                f"a step of {step_s:g} s with {rain_mm:g} mm rain, {spray_mm:g} mm spray and "
                f"{demand_mm:g} mm demand: none may be below 0"
            )
        sums = self.sums
        sums.rain_mm += rain_mm
        sums.spray_mm += spray_mm
        sums.demand_mm += demand_mm
        soaked_mm = self._soak(step_s, rain_mm + spray_mm)
        self.deficit_mm -= soaked_mm
        used_mm = self._use(demand_mm)
        self.deficit_mm += used_mm
        sums.used_mm += used_mm
        if self.deficit_mm < 0.0:
            sums.drained_mm -= self.deficit_mm
            self.deficit_mm = 0.0

    def _soak(self, step_s: float, fallen_mm: float) -> float:
        """Depth that enters the soil; the rest stands or runs off.

        Standing water is a straight line in time, so its highest value is at the end.
        """
        takes_mm = self.soil.infiltration_mm_h * step_s / HOUR_S
        offered_mm = self.standing_mm + fallen_mm
        soaked_mm = min(offered_mm, takes_mm)
        left_mm = offered_mm - soaked_mm
        self.standing_mm = min(left_mm, self.soil.surface_mm)
        self.sums.runoff_mm += left_mm - self.standing_mm
        return soaked_mm

    def _use(self, demand_mm: float) -> float:
        """What the crop takes: all it asks for up to RAW, then an exponential towards TAW."""
        easy_mm = self.readily_mm - self.deficit_mm
        if demand_mm <= easy_mm:
            return demand_mm
        taken_mm = max(0.0, easy_mm)
        span_mm = self.total_mm - self.readily_mm
        left_mm = self.total_mm - self.deficit_mm - taken_mm
        return taken_mm + left_mm * (1.0 - exp(-(demand_mm - taken_mm) / span_mm))
