"""Generic parts of the trade to choose from: sizes only, no makers.

The cost ranks are our own assumption: 1 is the cheapest change of the list, and a rank says
nothing but which of two changes is likely to cost less.
"""

from dataclasses import dataclass

INCH_M = 25.4e-3

SUCTION_BORES_M = (0.5 * INCH_M, 16e-3, 0.75 * INCH_M, 25.4e-3, 32e-3)
"""Reinforced suction hose as it is sold."""
HOSE_BORES_M = (0.5 * INCH_M, 0.625 * INCH_M, 0.75 * INCH_M, 25.4e-3)
"""Garden hose as it is sold: 1/2, 5/8, 3/4 and 1 in."""
CABLE_AREAS_M2 = (1.5e-6, 2.5e-6, 4.0e-6, 6.0e-6, 10.0e-6, 16.0e-6)
"""Nominal areas of IEC 60228."""
BATTERY_AH = (20.0, 35.0, 45.0, 60.0, 80.0, 100.0, 120.0, 150.0, 200.0)
NOZZLES_M = (2.5e-3, 3.0e-3, 3.5e-3, 4.0e-3, 4.5e-3, 5.0e-3, 5.5e-3, 6.0e-3, 6.5e-3, 7.0e-3)
"""Bores of sprinkler nozzles by the half millimetre."""


@dataclass(frozen=True)
class Family:
    """One kind of part: the key of the site file that it sets, its sizes, and its cost."""

    key: str
    noun: str
    sizes: tuple[float, ...]
    """In the field's own unit."""
    rank: int
    """Relative cost of one change of this kind: our own assumption."""


FAMILIES = (
    Family("sprinkler.nozzle_bore", "nozzle", NOZZLES_M, 1),
    Family("suction.bore", "suction line", SUCTION_BORES_M, 2),
    Family("cable.section", "cable", CABLE_AREAS_M2, 3),
    Family("line.bore", "hose", HOSE_BORES_M, 4),
    Family("battery.capacity", "battery", BATTERY_AH, 6),
)
