"""What sets one battery chemistry apart: tables and constants of a 12 V battery.

Values without a named source are marked "common practice, no source" or "from memory".

References
----------
.. [1] Battery Council International, open-circuit voltage against state of charge of a rested
   flooded 12 V battery at 80 F (26.7 C), full at specific gravity 1.265.
.. [2] Prada, E. et al. (2013). J. Electrochem. Soc. 160(4) A616; parameter set Prada2013 of
   PyBaMM 26.10.1.1 (charge delivered at three rates).
.. [3] IEEE Std 485, table 1: size correction for cell temperature, from memory.
.. [4] Manwell, J. F. and McGowan, J. G. (1993). Solar Energy 50(5), 399-405.
.. [5] Naumann, M. (2018). Techno-economic evaluation of stationary lithium-ion energy storage
   systems. Thesis, Technical University of Munich; measured open-circuit voltage of a 3 Ah
   LiFePO4 cell, published with SimSES 1.3.12 (Moeller et al., J. Energy Storage 49, 103743).
.. [6] Sulzer, V. et al. (2019). J. Electrochem. Soc. 166 A2363; parameter set Sulzer2019 of
   PyBaMM 26.10.1.1, model Full.
"""

from collections.abc import Sequence
from dataclasses import dataclass

Table = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Chemistry:
    """Constants of one chemistry, for a 12 V battery."""

    name: str
    cells: int
    rest_v: Table
    """Rested voltage against the share of charge left, rising."""
    table_hours: float
    """The share is of the charge that the battery gives at this rate; empty is 0."""
    share: float
    """Kinetic model: c, share of the charge in the near well [4]_."""
    rate_per_h: float
    """Kinetic model: k' [4]_."""
    knee_v: float
    """Drop of the voltage when the near well has run empty, against ``rest_v``."""
    cold: Table
    """Size correction against temperature [C]: a battery gives 1 / correction of its rating."""
    ohm_ah: float
    """Resistance times rated charge, new, full, 25 C."""
    ohm_per_k: float
    """Relative rise of the resistance for each kelvin below 25 C."""
    ohm_empty: float
    """Relative rise of the resistance when empty."""
    ohm_aged: float
    """Relative rise of the resistance at the end of life."""
    polarisation: float
    """Resistance of the RC pair over the ohmic resistance."""
    polarisation_s: float
    """Time constant of the RC pair."""
    charge_efficiency: float
    """Ampere-hours kept of those put in."""
    charge_v: float
    """Voltage limit of a fitting charger."""
    self_discharge_per_month: float
    """Share of the rating lost in 30 days at 25 C; doubles every 10 K."""
    surface_v: float
    """Most that a charger leaves on top of the rested voltage (``surface.py``)."""
    surface_h: float
    """Time in which it decays to 1/e at rest."""
    surface_share: float
    """Share of the rating that takes it down to 1/e when it is drawn."""
    charge_above_c: float
    """A colder battery must not be charged, and its protection does not let it."""


# IEEE Std 485 table 1; the two points above 25 C are from memory too.
_COLD_LEAD: Table = (
    (-3.9, 1.52),
    (4.4, 1.30),
    (10.0, 1.19),
    (15.6, 1.11),
    (25.0, 1.00),
    (32.2, 0.94),
)
# Common practice, no source: lithium iron phosphate gives some 80 % at -10 C, 90 % at 0 C.
_COLD_LFP: Table = ((-10.0, 1.25), (0.0, 1.11), (10.0, 1.04), (25.0, 1.00))

# Wells: least squares of the kinetic capacity to Peukert's law with an exponent of 1.2 from the
# 1 h to the 20 h rate, within 3 %. Resistance and its changes: common practice, no source. Surface
# charge of all three: `surface.py`.
FLOODED = Chemistry(
    name="flooded",
    cells=6,
    rest_v=((0.0, 11.89), (0.25, 12.06), (0.5, 12.24), (0.75, 12.45), (1.0, 12.65)),
    table_hours=20.0,
    share=0.488,
    rate_per_h=0.500,
    knee_v=1.25,
    cold=_COLD_LEAD,
    ohm_ah=0.60,
    ohm_per_k=0.010,
    ohm_empty=1.0,
    ohm_aged=1.0,
    polarisation=0.2,
    polarisation_s=60.0,
    charge_efficiency=0.87,
    charge_v=14.4,
    self_discharge_per_month=0.05,
    surface_v=0.5,
    surface_h=2.0,
    surface_share=0.0065,
    charge_above_c=-40.0,
)

# Wells: best fit to the ampere-hours that the full porous-electrode model gives from C/20 to 2C,
# within 1.2 % [6]_: 0.95 of the 20 h charge at C/5, 0.81 at 1C. Resistance, full and half empty,
# follows the sag and the recovery of the same model.
# Rested voltage some 0.1 V over flooded, for stronger acid: common practice, no source.
AGM = Chemistry(
    name="agm",
    cells=6,
    rest_v=((0.0, 11.92), (0.25, 12.12), (0.5, 12.36), (0.75, 12.60), (1.0, 12.80)),
    table_hours=20.0,
    share=0.568,
    rate_per_h=2.72,
    knee_v=1.25,
    cold=_COLD_LEAD,
    ohm_ah=0.50,
    ohm_per_k=0.010,
    ohm_empty=2.0,
    ohm_aged=1.0,
    polarisation=0.1,
    polarisation_s=60.0,
    charge_efficiency=0.95,
    charge_v=14.4,
    self_discharge_per_month=0.02,
    surface_v=0.5,
    surface_h=2.0,
    surface_share=0.0065,
    charge_above_c=-40.0,
)

# A cell rested, against the share of charge left [5]_. The measured curve climbs from 3.37 V at
# 99 % to the charger's 3.60 V: that is what a charger leaves, decays in hours, and is the surface
# term's. The rested curve ends at the foot of that climb.
_RESTED_CELL_V: Table = (
    (0.00, 2.0000),
    (0.01, 2.7508),
    (0.02, 2.8729),
    (0.05, 3.0502),
    (0.10, 3.1894),
    (0.15, 3.2109),
    (0.20, 3.2307),
    (0.25, 3.2514),
    (0.30, 3.2672),
    (0.35, 3.2798),
    (0.40, 3.2897),
    (0.45, 3.2972),
    (0.50, 3.2994),
    (0.55, 3.3012),
    (0.60, 3.3031),
    (0.65, 3.3054),
    (0.70, 3.3087),
    (0.75, 3.3140),
    (0.80, 3.3248),
    (0.85, 3.3391),
    (0.90, 3.3417),
    (0.95, 3.3440),
    (0.98, 3.3479),
    (1.00, 3.3686),
)

# The wells pass exactly through the charge that Prada2013 delivers at 0.1 C, 0.5 C and 1 C.
# Resistance includes a protection board: common practice, no source.
LFP = Chemistry(
    name="lfp",
    cells=4,
    rest_v=tuple((left, 4.0 * volt) for left, volt in _RESTED_CELL_V),
    table_hours=50.0,
    share=0.535,
    rate_per_h=5.43,
    knee_v=0.0,
    cold=_COLD_LFP,
    ohm_ah=0.60,
    ohm_per_k=0.015,
    ohm_empty=0.3,
    ohm_aged=0.5,
    polarisation=0.4,
    polarisation_s=30.0,
    charge_efficiency=0.99,
    charge_v=14.4,
    self_discharge_per_month=0.02,
    surface_v=0.4,
    surface_h=1.0,
    surface_share=0.003,
    charge_above_c=0.0,
)

CHEMISTRY = {one.name: one for one in (FLOODED, AGM, LFP)}


def interpolate(table: Sequence[tuple[float, float]], x: float) -> float:
    """Straight lines between the points of a rising table; flat outside it.

    Examples
    --------
    >>> round(interpolate(FLOODED.rest_v, 0.625), 3)
    12.345
    """
    if x <= table[0][0]:
        return table[0][1]
    for (x0, y0), (x1, y1) in zip(table, table[1:], strict=False):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return table[-1][1]


def size_correction(chemistry: Chemistry, temperature_c: float) -> float:
    """How many times the rated charge is needed at this temperature [3]_.

    Examples
    --------
    >>> size_correction(FLOODED, 10.0)
    1.19
    """
    return interpolate(chemistry.cold, temperature_c)
