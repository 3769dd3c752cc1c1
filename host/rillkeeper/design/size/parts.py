"""Generic parts of the trade to choose from: sizes only, no makers.

The cost ranks are our own assumption: 1 is the cheapest change of the list, and a rank says
nothing but which of two changes is likely to cost less.
"""

from dataclasses import dataclass

from rillsim.site import PumpSheet
from rillsim.supply.cable import awg_area_m2
from rillsim.supply.wiring import FUSE_RATINGS_A

INCH_M = 25.4e-3

SUCTION_BORES_M = (0.5 * INCH_M, 16e-3, 0.75 * INCH_M, 25.4e-3, 32e-3)
"""Reinforced suction hose as it is sold."""
SUCTION_BORES_US_M = tuple(inch * INCH_M for inch in (0.5, 0.625, 0.75, 1.0, 1.25))
HOSE_BORES_M = (0.5 * INCH_M, 0.625 * INCH_M, 0.75 * INCH_M, 25.4e-3)
"""Garden hose as it is sold: 1/2, 5/8, 3/4 and 1 in."""
CABLE_AREAS_M2 = (1.5e-6, 2.5e-6, 4.0e-6, 6.0e-6, 10.0e-6, 16.0e-6)
"""Nominal areas of IEC 60228."""
CABLE_AREAS_US_M2 = tuple(awg_area_m2(gauge) for gauge in (16, 14, 12, 10, 8, 6))
CABLE_LENGTHS_M = (0.5, 1.0, 1.5, 2.0, 3.0, 5.0)
CABLE_LENGTHS_US_M = tuple(0.3048 * feet for feet in (2.0, 3.0, 5.0, 7.0, 10.0, 15.0))
"""One way: the battery stands beside the pump, or near it."""
BATTERY_AH = (20.0, 35.0, 45.0, 60.0, 80.0, 100.0, 120.0, 150.0, 200.0)
NOZZLES_M = (2.5e-3, 3.0e-3, 3.5e-3, 4.0e-3, 4.5e-3, 5.0e-3, 5.5e-3, 6.0e-3, 6.5e-3, 7.0e-3)
"""Bores of sprinkler nozzles by the half millimetre..."""
NOZZLES_US_M = tuple(n / 64.0 * INCH_M for n in range(6, 19))
"""...and by the sixty-fourth of an inch."""


GAL_MIN_M3_S = 3.785411784e-3 / 60.0
PSI_PA = 6894.757
PUMPS = (
    PumpSheet(
        open_flow_m3_s=3.0 * GAL_MIN_M3_S,
        open_current_a=4.5,
        shutoff_pa=55.0 * PSI_PA,
        max_pressure_pa=55.0 * PSI_PA,
        max_current_a=9.5,
    ),
    PumpSheet(),
)
"""The two usual classes of 12 V diaphragm pumps, 3 and 5.5 US gal/min (common practice)."""
PUMP_RANK = 8.0
"""Relative cost of another pump: our own assumption."""


@dataclass(frozen=True)
class Part:
    """One kind of part: the key of the site file that it sets, its sizes, and its cost."""

    key: str
    noun: str
    sizes: tuple[float, ...]
    """In the field's own unit."""
    rank: float
    """Relative cost of one change of this kind: our own assumption."""
    goes: str = "up"
    """Only larger sizes are worth trying ("up"), only smaller ("down"), or "both"."""
    sizes_us: tuple[float, ...] = ()
    """Where American shops have other sizes."""

    def sold(self, system: str) -> tuple[float, ...]:
        """The sizes of the shops where a site's units are used."""
        return self.sizes_us if system == "us" and self.sizes_us else self.sizes


PER_STEP = 0.1
"""What each size farther from the fitted one adds to a rank: our own assumption."""

PARTS = (
    Part("cable.length", "cable cut to", CABLE_LENGTHS_M, 0.5, "down", CABLE_LENGTHS_US_M),
    Part("sprinkler.nozzle_bore", "nozzle of", NOZZLES_M, 1.0, "both", NOZZLES_US_M),
    Part("suction.bore", "suction line of", SUCTION_BORES_M, 2.0, "up", SUCTION_BORES_US_M),
    Part("cable.section", "cable of", CABLE_AREAS_M2, 3.0, "up", CABLE_AREAS_US_M2),
    Part("line.bore", "hose of", HOSE_BORES_M, 4.0),
)
"""What is searched."""

BATTERY = Part("battery.capacity", "battery of", BATTERY_AH, 6.0)
FUSE_KEY = "cable.fuse"
FOLLOWING = (Part(FUSE_KEY, "fuse of", FUSE_RATINGS_A, 0.2, "both"), BATTERY)
"""What follows from the rest."""

COST_CLASSES = ((0.0, "nothing to buy"), (2.5, "small"), (5.5, "middling"))
"""What a sum of ranks comes to in words; LARGEST_COST beyond: our own assumption."""
LARGEST_COST = "large"


def cost_class(rank: float) -> str:
    """The sum of the ranks of some changes in words.

    Examples
    --------
    >>> cost_class(0.0), cost_class(1.1), cost_class(6.3)
    ('nothing to buy', 'small', 'large')
    """
    return next((words for most, words in COST_CLASSES if rank <= most), LARGEST_COST)
