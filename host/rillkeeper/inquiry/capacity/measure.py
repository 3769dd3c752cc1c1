r"""The capacity of a battery out of a counted discharge.

**To the end.** A full battery carries a load until its posts are at the end voltage. What it gave
in :math:`t` hours is brought to the 20 h rate with the kinetic model of its chemistry, and to 25 C
with the size correction :math:`k` of its temperature:

.. math:: C_{20} = k(T) \, I \, t \, \frac{q(20\,h)}{q(t)}

This is a capacity: it asks nothing of voltages in between, and any wear shows in it.

**Between two rests.** A discharge :math:`Q` takes the rested voltage from :math:`U_1` to
:math:`U_2`. The table of the chemistry turns both into shares of charge:

.. math:: C_{20} = \frac{Q}{s(U_1) - s(U_2)}

It is kind to a lead battery, which is never emptied, and it leans on the table: a battery that
has lost plates and not acid rests higher when it is used than the table says, and comes out too
large; one with little acid, as a sealed one may have, comes out too small. On the flat part of a
lithium battery it tells next to nothing, and is refused. The spreads say so.

Good for 0 to 40 C and discharges of one to a hundred hours.

Examples
--------
Peukert's law with an exponent of 1.2 lets a battery of 100 Ah carry 8 A for 11.38 h:

>>> from rillsim.supply.chemistry import FLOODED
>>> found = to_the_end(FLOODED, 8.0, 11.3785, 25.0)
>>> round(found.ah), round(found.spread_ah)
(98, 5)

References
----------
.. [1] IEEE Std 450: a lead-acid battery is tested by a discharge at a constant current to
   1.75 V a cell; what it gave is corrected for temperature (from memory).
.. [2] Peukert, W. (1897). Elektrotechnische Zeitschrift 20, 287-288.
"""

from dataclasses import dataclass
from math import hypot, inf

from rillkeeper.errors import RillkeeperError
from rillsim.supply.chemistry import Chemistry, interpolate, size_correction
from rillsim.supply.kibam import capacity_ah

END_V = {"flooded": 10.5, "agm": 10.5, "lfp": 10.0}
"""Under load: 1.75 V a lead cell [1]_; 2.5 V a lithium cell, where its own protection has not cut
it off before (common practice, no source)."""
RATED_H = 20.0
HOURS_LEAST, HOURS_MOST = 1.0, 100.0
LOAD_SPREAD = 0.04
"""Of a current read twice with a common meter, at the beginning and at the end."""
RATE_SPREAD = 0.03
"""Of the way to the 20 h rate and to 25 C: the wells fit Peukert's law within so much."""
READING_V = 0.005
"""A reading of a meter with two decimals."""
TABLE_V = 0.012
"""One battery's rested voltage beside the table's, after what both rests share."""
SLOPE_SPREAD = {"flooded": 0.08, "agm": 0.20, "lfp": 0.30}
"""Of the table's slope. Common practice, no source; a porous-electrode model of a sealed battery
(PyBaMM's set Sulzer2019) has one that is twice as steep as that of the flooded table."""
TOO_WIDE = 0.30
"""A spread, as a share, from which on nothing was measured."""
SPREADS = 2.0
"""To either side in the site file: 19 of 20 lie inside."""
LEAST_SHARE = 0.4
"""The site file takes no battery that gives less of its rating (`site.checks.WORN_OUT`)."""


class NothingMeasured(RillkeeperError):
    """The readings do not tell a capacity; the text says why, and what would."""


@dataclass(frozen=True)
class Capacity:
    """What a full battery was found to give in 20 h at 25 C."""

    ah: float
    spread_ah: float
    """One standard deviation."""
    how: str
    """As a sentence: from what it was reckoned."""

    def ends_ah(self, rated_ah: float) -> tuple[float, float]:
        """The range for the site file: within what it takes for a battery of this rating."""
        low = self.ah - SPREADS * self.spread_ah
        high = self.ah + SPREADS * self.spread_ah
        least = LEAST_SHARE * rated_ah
        return min(max(low, least), rated_ah), min(max(high, least), rated_ah)


def to_the_end(kind: Chemistry, current_a: float, hours: float, temperature_c: float) -> Capacity:
    """The capacity of a battery that carried a current from full to its end voltage.

    Raises NothingMeasured for a discharge that was too quick or too slow to be brought to 20 h.
    """
    if not HOURS_LEAST <= hours <= HOURS_MOST:
        raise NothingMeasured(
            f"a discharge of {hours:.3g} h is not brought to one of 20 h; choose a load that "
            f"empties the battery in {HOURS_LEAST:.0f} to {HOURS_MOST:.0f} h, best in 10 to 20"
        )
    gave_ah = current_a * hours
    shares = [capacity_ah(1.0, rate_h, kind.share, kind.rate_per_h) for rate_h in (RATED_H, hours)]
    cold = size_correction(kind, temperature_c)
    ah = cold * gave_ah * shares[0] / shares[1]
    how = f"{current_a:.1f} A for {hours:.1f} h to the end, {gave_ah:.1f} Ah"
    how += f" at {temperature_c:.0f} C"
    return Capacity(ah, ah * hypot(LOAD_SPREAD, RATE_SPREAD), how)


def from_rests(
    kind: Chemistry,
    full_v: float,
    used_v: float,
    drawn_ah: float,
    drawn_spread: float = LOAD_SPREAD,
) -> Capacity:
    """The capacity from a discharge between two rested voltages, the first of a full battery.

    The first voltage is taken for the full one of this battery: what its acid or the meter puts
    on top of the table's is on top of the second, too.

    Raises NothingMeasured where the voltages do not tell it.
    """
    offset_v = full_v - kind.rest_v[-1][1]
    share = share_of(kind, used_v - offset_v)
    drop = 1.0 - share
    if used_v >= full_v or drop <= 0.0:
        raise NothingMeasured(
            f"it rests at {used_v:.2f} V after the discharge, not below the {full_v:.2f} V from "
            "before it: draw more, and let it rest overnight both times"
        )
    wrong = share_spread(kind, share) * 2.0**0.5 / drop
    spread = hypot(hypot(wrong, drawn_spread), SLOPE_SPREAD[kind.name])
    if spread > TOO_WIDE or share <= 0.0:
        raise NothingMeasured(
            f"from {full_v:.2f} V down to {used_v:.2f} V says too little about this battery"
            + (": it was drawn beyond its table" if share <= 0.0 else "")
            + "; test it to the end with a lamp"
        )
    ah = drawn_ah / drop
    how = f"{drawn_ah:.1f} Ah from {full_v:.2f} V down to {used_v:.2f} V, rested"
    return Capacity(ah, ah * spread, how)


def share_of(kind: Chemistry, rested_v: float) -> float:
    """Share of its charge that belongs to a rested voltage, 0 to 1.

    >>> from rillsim.supply.chemistry import FLOODED
    >>> round(share_of(FLOODED, 12.345), 3)
    0.625
    """
    return interpolate([(volt, share) for share, volt in kind.rest_v], rested_v)


def share_spread(kind: Chemistry, share: float) -> float:
    """How wrong a share is by one reading and one battery's own voltage."""
    step = 0.05
    low, high = max(0.0, share - step), min(1.0, share + step)
    slope_v = (interpolate(kind.rest_v, high) - interpolate(kind.rest_v, low)) / (high - low)
    return hypot(READING_V, TABLE_V) / slope_v if slope_v > 0.0 else inf
