"""Root zone of the plot, a bucket a cell: what goes in, runs off, drains, and is used.

Depletion is the water that is missing from field capacity. Rain and spray first meet the
surface: what the soil cannot take at once stands in the hollows, and what they cannot hold
runs off the plot. What passes field capacity drains below the roots. The crop takes its basal
coefficient times the reference, and less once the easy water is gone; the bare ground between
dries by itself (`dual`), out of the same root zone.

Every step is solved in closed form for rates that are constant within it: an hour in one step
or in a thousand ends in the same place. Only where ground that lacks water is being watered, or
a thirsty crop stands on a wet surface, does the step count, and an hour is short enough. The
balance closes to rounding always, in each cell.

Left out: water that runs from one cell to the next, and what shallow roots take out of the layer
that dries (FAO-56 chapter 7 leaves it out as well).

Reference
---------
FAO-56 chapter 7: eq. 77 and 79 (the surface); chapter 8: eq. 82 (TAW), 83 (RAW), 84 (Ks) and 85
(the balance). The inputs of its examples are quoted from memory.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillsim.garden.crops import Soil
from rillsim.garden.dual import DualKc, drawn_mm, evaporated_mm, total_evaporable_mm

Floats = NDArray[np.float64]

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


def stress_coefficient(depletion_mm: Floats, total_mm: float, readily_mm: float) -> Floats:
    """Share of its demand that the crop still gets, Ks [-] (eq. 84).

    1 up to RAW, then down in a straight line to 0 at TAW. FAO-56 example 37 (TAW 110,
    RAW 63, depletion 65.9 mm) has 0.94.

    >>> stress_coefficient(np.array([50.0, 65.9, 110.0]), 110.0, 63.0).round(2).tolist()
    [1.0, 0.94, 0.0]
    """
    return np.clip((total_mm - depletion_mm) / (total_mm - readily_mm), 0.0, 1.0)


@dataclass
class SoilWater:
    """Sums since the start [mm], by cell; rain and demand are the same on all."""

    spray_mm: Floats
    crop_mm: Floats
    """What the crop used."""
    surface_mm: Floats
    """What the bare ground gave off."""
    runoff_mm: Floats
    drained_mm: Floats
    rain_mm: float = 0.0
    demand_mm: float = 0.0
    """What the crop would have used with water at will."""

    @property
    def used_mm(self) -> Floats:
        """What crop and bare ground used together."""
        return self.crop_mm + self.surface_mm


class RootZone:
    """The buckets.

    Parameters
    ----------
    soil : Soil
        What the roots stand in
    root_m : float
        Depth of the roots [m]
    fraction : float
        Depletion fraction p, 0 to 1 [-]
    deficit_mm : float
        Water missing at the start, 0 to TAW [mm]; the surface lacks it first
    shape : tuple of int
        Of the cells

    Examples
    --------
    >>> from rillsim.garden.crops import find_soil
    >>> zone = RootZone(find_soil("loam"), root_m=0.4, fraction=0.3, deficit_mm=10.0)
    >>> zone.step(3600.0, spray_mm=5.0, reference_mm=0.2, kc=DualKc(0.9, 1.2, 0.3))
    >>> zone.deficit_mm.round(2).tolist()
    [5.24]
    """

    def __init__(
        self,
        soil: Soil,
        root_m: float,
        fraction: float,
        deficit_mm: float,
        shape: tuple[int, ...] = (1,),
    ) -> None:
        if not root_m > 0.0:
            raise ValueError(f"root depth {root_m:g} m: give a depth above 0 m")
        if not 0.0 < fraction < 1.0:
            raise ValueError(f"depletion fraction {fraction:g}: give a share between 0 and 1")
        self.soil = soil
        self.total_mm = total_available_mm(soil.field_capacity, soil.wilting_point, root_m)
        self.readily_mm = readily_available_mm(fraction, self.total_mm)
        self.evaporable_mm = total_evaporable_mm(soil.field_capacity, soil.wilting_point)
        if not 0.0 <= deficit_mm <= self.total_mm:
            raise ValueError(
                f"{deficit_mm:g} mm are missing at the start, but {root_m:g} m of {soil.name} "
                f"hold {self.total_mm:.1f} mm for the crop: give 0 to {self.total_mm:.1f} mm"
            )
        self.start_mm = deficit_mm
        self.deficit_mm = np.full(shape, deficit_mm)
        self.dried_mm = np.minimum(self.deficit_mm, self.evaporable_mm)
        """What the bare ground has given up since it was last wet, De."""
        self.standing_mm = np.zeros(shape)
        self.stands = False
        """Whether water stands in any cell."""
        self.sums = SoilWater(*np.zeros((5, *shape)))

    @property
    def stress(self) -> Floats:
        """Ks of each cell now: 1 is a crop that has all it can use."""
        return stress_coefficient(self.deficit_mm, self.total_mm, self.readily_mm)

    def step(
        self,
        step_s: float,
        rain_mm: float = 0.0,
        spray_mm: Floats | float = 0.0,
        reference_mm: float = 0.0,
        kc: DualKc | None = None,
    ) -> None:
        """Live through ``step_s`` seconds in which these depths fall and are asked for evenly.

        ``reference_mm`` is the step's ETo and ``kc`` what of it crop and bare ground ask for;
        without, nothing is used. Water in the hollows keeps soaking in afterwards, which is what
        a pause between two runs is for.
        """
        if step_s < 0.0 or rain_mm < 0.0 or np.min(spray_mm) < 0.0 or reference_mm < 0.0:
            raise ValueError(
                f"a step of {step_s:g} s with {rain_mm:g} mm rain, {np.min(spray_mm):g} mm spray "
                f"and {reference_mm:g} mm reference: none may be below 0"
            )
        wetted = self.stands or rain_mm > 0.0 or bool(np.any(spray_mm))
        if wetted:
            self._soak(step_s, rain_mm, spray_mm)
        if kc is not None and reference_mm > 0.0:
            self._use(reference_mm, kc)
        if wetted:
            self._drain()

    def _soak(self, step_s: float, rain_mm: float, spray_mm: Floats | float) -> None:
        """Let water enter the soil; the rest stands or runs off.

        Standing water is a straight line in time, so its highest value is at the end.
        """
        sums = self.sums
        sums.rain_mm += rain_mm
        sums.spray_mm += spray_mm
        offered_mm = self.standing_mm + rain_mm + spray_mm
        soaked_mm = np.minimum(offered_mm, self.soil.infiltration_mm_h * step_s / HOUR_S)
        left_mm = offered_mm - soaked_mm
        self.standing_mm = np.minimum(left_mm, self.soil.surface_mm)
        self.stands = bool(self.standing_mm.any())
        sums.runoff_mm += left_mm - self.standing_mm
        self.deficit_mm -= soaked_mm
        self.dried_mm -= soaked_mm

    def _use(self, reference_mm: float, kc: DualKc) -> None:
        """What bare ground and crop take: the ground by its own dryness, the crop by the roots'.

        The crop meets the root zone as it is when half of the step's evaporation has gone.
        """
        room_mm = self.total_mm - self.deficit_mm
        wet_mm = evaporated_mm(
            kc, reference_mm, self.dried_mm, self.soil.evaporable_mm, self.evaporable_mm
        )
        surface_mm = np.minimum(wet_mm, room_mm)
        demand_mm = kc.basal * reference_mm
        midway_mm = self.deficit_mm + surface_mm / 2.0
        asked_mm = drawn_mm(demand_mm, midway_mm, self.readily_mm, self.total_mm)
        crop_mm = np.minimum(asked_mm, room_mm - surface_mm)
        self.dried_mm += surface_mm / kc.exposed
        self.deficit_mm += surface_mm + crop_mm
        sums = self.sums
        sums.demand_mm += demand_mm
        sums.surface_mm += surface_mm
        sums.crop_mm += crop_mm

    def _drain(self) -> None:
        """What is above field capacity passes below the roots, and below the surface."""
        self.sums.drained_mm -= np.minimum(self.deficit_mm, 0.0)
        np.maximum(self.deficit_mm, 0.0, out=self.deficit_mm)
        np.maximum(self.dried_mm, 0.0, out=self.dried_mm)
