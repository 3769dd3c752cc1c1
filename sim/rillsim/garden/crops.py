"""What grows on the plot and what it stands in.

Crops: basal crop coefficients of FAO-56 table 17 and greatest heights of its table 12 (sub-humid
climate, wind 2 m/s), range of the greatest rooting depth and depletion fraction p of its table
22. Soils: water held between field capacity and wilting point, water that the bare surface gives
up freely, and the rate at which a wet soil still takes water in.
"""

from dataclasses import dataclass
from difflib import get_close_matches

STAGES = ("ini", "mid", "end")
"""Just sown or planted; ground covered; ripening (FAO-56 chapter 6)."""
HEIGHT_INI_M = 0.1
"""Of a crop in its first weeks: common practice, no source."""


@dataclass(frozen=True)
class Crop:
    """A row of FAO-56 tables 17, 12 and 22."""

    name: str
    kcb_ini: float
    kcb_mid: float
    kcb_end: float
    height_m: float
    """When it is full grown."""
    root_min_m: float
    root_max_m: float
    depletion_fraction: float
    """Share of the available water that the crop uses before it suffers, at ETc = 5 mm/day."""

    def basal(self, stage: str) -> float:
        """Basal crop coefficient Kcb of a stage, the ground dry: "ini", "mid" or "end" [-]."""
        _check_stage(stage)
        return {"ini": self.kcb_ini, "mid": self.kcb_mid, "end": self.kcb_end}[stage]

    def height_at(self, stage: str) -> float:
        """Height at a stage [m]."""
        _check_stage(stage)
        return min(HEIGHT_INI_M, self.height_m) if stage == "ini" else self.height_m


@dataclass(frozen=True)
class Soil:
    """Water contents are volume of water over volume of soil."""

    name: str
    field_capacity: float
    wilting_point: float
    evaporable_mm: float
    """REW: what its bare wet surface gives up as fast as sun and wind will have it."""
    infiltration_mm_h: float
    """Basic rate: what the soil takes in once it is wet."""
    surface_mm: float
    """Water that stays in the hollows of level ground before any runs away."""


_CROP_ROWS = (
    #    name        Kcb ini   mid   end  height m  root m from to  p
    Crop("broccoli", 0.15, 0.95, 0.85, 0.3, 0.4, 0.6, 0.45),
    Crop("cabbage", 0.15, 0.95, 0.85, 0.4, 0.5, 0.8, 0.45),
    Crop("carrot", 0.15, 0.95, 0.85, 0.3, 0.5, 1.0, 0.35),
    Crop("garlic", 0.15, 0.90, 0.60, 0.3, 0.3, 0.5, 0.30),
    Crop("lettuce", 0.15, 0.90, 0.90, 0.3, 0.3, 0.5, 0.30),
    Crop("onion", 0.15, 0.95, 0.65, 0.4, 0.3, 0.6, 0.30),
    Crop("spinach", 0.15, 0.90, 0.85, 0.3, 0.3, 0.5, 0.20),
    Crop("radish", 0.15, 0.85, 0.75, 0.3, 0.3, 0.5, 0.30),
    Crop("tomato", 0.15, 1.10, 0.70, 0.6, 0.7, 1.5, 0.40),
    Crop("cucumber", 0.15, 0.95, 0.70, 0.3, 0.7, 1.2, 0.50),
    Crop("courgette", 0.15, 0.90, 0.70, 0.3, 0.6, 1.0, 0.50),
    Crop("potato", 0.15, 1.10, 0.65, 0.6, 0.4, 0.6, 0.35),
    Crop("green bean", 0.15, 1.00, 0.80, 0.4, 0.5, 0.7, 0.45),
    Crop("strawberry", 0.30, 0.80, 0.70, 0.2, 0.2, 0.3, 0.20),
    Crop("turf", 0.85, 0.90, 0.90, 0.1, 0.5, 1.0, 0.40),
)

# Field capacity, wilting point and REW: middle of the ranges of FAO-56 table 19, from memory;
# clay loam is not in it and is from Saxton and Rawls (2006), Soil Sci. Soc. Am. J. 70, 1569,
# from memory, its REW that of silty clay loam. Infiltration: middle of the ranges of FAO
# Irrigation Water Management, training manual 5, annex 2 (sandy loam 20-30, loam 10-20, clay
# loam 5-10, clay 1-5 mm/h); sand passes 30, which is taken for both sands. Hollows: Hicks
# (1944), Trans. ASCE 109 (sand 0.20 in, loam 0.15 in, clay 0.10 in), from memory.
_SOIL_ROWS = (
    #    name            FC     WP    REW mm  mm/h  hollows mm
    Soil("sand", 0.120, 0.045, 4.5, 30.0, 5.1),
    Soil("loamy sand", 0.150, 0.065, 6.0, 30.0, 5.1),
    Soil("sandy loam", 0.230, 0.110, 8.0, 25.0, 3.8),
    Soil("loam", 0.250, 0.120, 9.0, 15.0, 3.8),
    Soil("clay loam", 0.360, 0.220, 9.5, 7.5, 2.5),
    Soil("clay", 0.360, 0.220, 10.0, 3.0, 2.5),
)

CROPS = {crop.name: crop for crop in _CROP_ROWS}
SOILS = {soil.name: soil for soil in _SOIL_ROWS}


def _check_stage(stage: str) -> None:
    if stage not in STAGES:
        raise ValueError(f"stage {stage!r} is not one of {', '.join(STAGES)}")


def _unknown(kind: str, name: str, known: list[str]) -> ValueError:
    near = get_close_matches(name, known, n=1)
    offer = f"did you mean {near[0]!r}? " if near else ""
    return ValueError(f"no {kind} is called {name!r}: {offer}known are {', '.join(known)}")


def find_crop(name: str) -> Crop:
    """The crop of that name.

    >>> find_crop("lettuce").basal("mid")
    0.9
    """
    if name not in CROPS:
        raise _unknown("crop", name, list(CROPS))
    return CROPS[name]


def find_soil(name: str) -> Soil:
    """The soil of that name.

    >>> find_soil("loam").infiltration_mm_h
    15.0
    """
    if name not in SOILS:
        raise _unknown("soil", name, list(SOILS))
    return SOILS[name]
