"""What sets one battery chemistry apart: tables and constants of a 12 V battery.

Values without a named source are marked "common practice, no source" or "from memory".

References
----------
.. [1] Battery Council International, open-circuit voltage against state of charge of a rested
   flooded 12 V battery at 80 F (26.7 C), full at specific gravity 1.265.
.. [2] Prada, E. et al. (2013). J. Electrochem. Soc. 160(4) A616; parameter set Prada2013 of
   PyBaMM 26.10.1.1 (single particle model, C/50, cut-off 2.0 V).
.. [3] IEEE Std 485, table 1: size correction for cell temperature, from memory.
.. [4] Manwell, J. F. and McGowan, J. G. (1993). Solar Energy 50(5), 399-405.
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
# 1 h to the 20 h rate, within 3 %. Resistance and its changes: common practice, no source.
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
)

# Wells: k' is set between the quick recovery of the full porous-electrode model of PyBaMM with
# the set Sulzer2019 (2.7 per hour) and the slow one that Peukert's law alone would ask for;
# c is then the best fit to an exponent of 1.1 from the 1 h to the 20 h rate, within 4 %.
# Resistance, full and half empty, follows the sag and the recovery of the same model.
# Rested voltage some 0.1 V over flooded, for stronger acid: common practice, no source.
AGM = Chemistry(
    name="agm",
    cells=6,
    rest_v=((0.0, 11.92), (0.25, 12.12), (0.5, 12.36), (0.75, 12.60), (1.0, 12.80)),
    table_hours=20.0,
    share=0.605,
    rate_per_h=1.00,
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
)

# One cell of Prada2013 against the fraction discharged at C/50.
_PRADA_CELL_V: Table = (
    (0.00, 3.5962),
    (0.02, 3.3480),
    (0.05, 3.3144),
    (0.10, 3.3123),
    (0.15, 3.3114),
    (0.20, 3.3076),
    (0.25, 3.2898),
    (0.30, 3.2720),
    (0.35, 3.2683),
    (0.40, 3.2672),
    (0.45, 3.2661),
    (0.50, 3.2643),
    (0.55, 3.2603),
    (0.60, 3.2505),
    (0.65, 3.2301),
    (0.70, 3.2036),
    (0.75, 3.1835),
    (0.80, 3.1661),
    (0.85, 3.1050),
    (0.90, 2.9750),
    (0.95, 2.7821),
    (1.00, 2.0000),
)

# The wells pass exactly through the charge that Prada2013 delivers at 0.1 C, 0.5 C and 1 C.
# Resistance includes a protection board: common practice, no source.
LFP = Chemistry(
    name="lfp",
    cells=4,
    rest_v=tuple((1.0 - gone, 4.0 * volt) for gone, volt in reversed(_PRADA_CELL_V)),
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
