r"""How warm a pump's winding gets: two masses, from the duty rating of the pump's sheet.

All that the motor loses, :math:`P` (winding, friction), warms the winding and, behind it, the
case. Seen from the winding, two masses are two first-order rises; a share of the whole thermal
resistance :math:`R` answers within minutes, the rest within the hour:

.. math:: T = T_{air} + P R \left( s (1 - e^{-t/\tau_w}) + (1 - s)(1 - e^{-t/\tau_c}) \right)

:math:`R` follows from the rating: at the sheet's highest current and 40 C the winding of a pump
that is rated for so many minutes on and off may just reach what its insulation stands, at the end
of each turn and for ever. Continuous duty is the same without a pause. A sheet without a rating
gives no temperature. The time constants are those of the class and from memory, so that the
figure is good to some 15 K between 0 and 45 C; a motor in the sun or boxed in gets warmer.

The motor's own thermal cut-out opens above what the insulation stands and closes once the winding
is :data:`CLOSES_K` cooler: within its rating it never opens.

Examples
--------
A pump for 15 min on and 30 min off, at three quarters of its highest loss and 25 C, after an
hour's run and after four of a quarter of an hour with the pauses of the rating:

>>> from rillsim.site import PumpSheet
>>> sheet = PumpSheet(duty="intermittent", duty_on_s=900.0, duty_off_s=1800.0)
>>> share = 0.75 * rated_loss_w(sheet)
>>> round(highest_c(sheet, [(3600.0, 0.0)], share, 25.0))
116
>>> round(highest_c(sheet, [(900.0, 1800.0)] * 4, share, 25.0))
92

References
----------
.. [1] IEC 60085, thermal classes of insulation: class B, 130 C.
.. [2] IEC 60034-1, rated ambient of 40 C; duty types S1 (continuous) and S3 (intermittent).
"""

from collections.abc import Iterable
from math import exp
from typing import NamedTuple

from rillsim.site import PumpSheet
from rillsim.water.pump import fit_pump

INSULATION_C = 130.0
RATED_AIR_C = 40.0
CLOSES_K = 40.0
"""Bimetal discs close so much below where they open: common practice, no source."""
_PARTS = ((0.3, 150.0), (0.7, 2400.0))
"""Share of the rise and its time constant [s]: winding in the case, case in the air. From memory,
small brushed motors of some two kilograms."""


def rated_loss_w(sheet: PumpSheet) -> float:
    """What the motor loses at the sheet's shut-off pressure and rated voltage, [W]."""
    balance = fit_pump(sheet).powers(sheet.rated_v, 0.0, sheet.shutoff_pa)
    return balance.winding + balance.friction + balance.viscous


def kelvin_per_watt(sheet: PumpSheet) -> float | None:
    """Rise of the winding after a long time for each watt lost; None without a duty rating."""
    if sheet.duty == "not given":
        return None
    reached = 1.0
    if sheet.duty == "intermittent":
        turn_s = sheet.duty_on_s + sheet.duty_off_s
        reached = sum(
            share * (1.0 - exp(-sheet.duty_on_s / tau_s)) / (1.0 - exp(-turn_s / tau_s))
            for share, tau_s in _PARTS
        )
    return (INSULATION_C - RATED_AIR_C) / (rated_loss_w(sheet) * reached)


def highest_c(
    sheet: PumpSheet, runs: Iterable[tuple[float, float]], loss_w: float, air_c: float
) -> float | None:
    """Highest temperature of the winding, [C]; None without a duty rating.

    ``runs`` holds seconds of pumping and of the pause behind them, from cold.
    """
    per_w = kelvin_per_watt(sheet)
    if per_w is None:
        return None
    rises = [0.0 for _ in _PARTS]
    highest_k = 0.0
    for on_s, off_s in runs:
        for place, (share, tau_s) in enumerate(_PARTS):
            full_k = share * per_w * loss_w
            rises[place] = full_k + (rises[place] - full_k) * exp(-on_s / tau_s)
        highest_k = max(highest_k, sum(rises))
        rises = [
            rise * exp(-off_s / tau_s) for rise, (_, tau_s) in zip(rises, _PARTS, strict=True)
        ]
    return air_c + highest_k


class Rises(NamedTuple):
    """How far the winding is above its case, and the case above the air [K]."""

    winding_k: float
    case_k: float


COLD = Rises(0.0, 0.0)


class Winding:
    """The winding of one pump, led along with what its motor loses."""

    def __init__(self, sheet: PumpSheet) -> None:
        self.per_w = kelvin_per_watt(sheet) or 0.0
        """None of its figures is known without a duty rating."""

    def after(self, rises: Rises, loss_w: float, dt_s: float) -> Rises:
        """The same after some time at a steady loss; exact.

        >>> winding = Winding(PumpSheet(duty="continuous"))
        >>> loss_w = rated_loss_w(PumpSheet())
        >>> round(40.0 + sum(winding.after(COLD, loss_w, 8 * 3600.0)))
        130
        """
        if not loss_w and rises is COLD:
            return COLD
        (winding_share, winding_s), (case_share, case_s) = _PARTS
        full_k = self.per_w * loss_w
        winding_k, case_k = winding_share * full_k, case_share * full_k
        return Rises(
            winding_k + (rises.winding_k - winding_k) * exp(-dt_s / winding_s),
            case_k + (rises.case_k - case_k) * exp(-dt_s / case_s),
        )

    def cuts_out(self, rises: Rises, air_c: float, is_open: bool) -> bool:
        """Whether the thermal cut-out is open now, as it was open before or not."""
        limit_c = INSULATION_C - CLOSES_K if is_open else INSULATION_C
        return self.per_w > 0.0 and air_c + rises.winding_k + rises.case_k > limit_c
