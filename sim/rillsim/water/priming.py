"""Water in the suction line: full, draining past the foot valve, or being primed.

Two ways for a pump to lose its water: air above the column, drawn in or let in while the line
drained (the pump must evacuate it again), and a source below the strainer, where the water
already in the line is pumped out first.
"""

from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.suction import Suction

OPEN_END_M2 = 2e-5
"""Opening of a line without a foot valve, where air has to bubble past the water. Common
practice, no source."""

_LOST_SHARE = 0.02
"""With less water than this in each stroke the pump has lost its prime."""
_GULP_SHARE = 0.1
"""With less water than this left in the line of a dry source the pump runs dry; more than it
draws in one tick."""
_SLIPPED = 1e-3
"""Part of the line that is air at the moment the prime is lost."""


class SuctionLine:
    """How much water stands in the suction line, as a function of what the pump does."""

    def __init__(self, suction: Suction, dry_lift_m: float) -> None:
        self.suction = suction
        self.volume_m3 = suction.volume_m3
        self.dry_lift_m = dry_lift_m
        self.leak_m2 = 0.0
        self.source_gone = False
        self.air_hole_m2 = 0.0
        self._open_end = suction.spec.foot_valve == "none"

    def is_dry(self, filled_m3: float) -> bool:
        """True where the pump finds air at its inlet."""
        if self.source_gone:
            return filled_m3 < _GULP_SHARE * self.volume_m3
        return filled_m3 < self.volume_m3

    def rest(self, filled_m3: float, lift_m: float, duration_s: float) -> float:
        """Water left after a rest of any length, in closed form."""
        leak = self.leak_m2 + (OPEN_END_M2 if self._open_end else 0.0)
        if leak <= 0.0:
            return filled_m3
        return self.suction.drained_m3(filled_m3, lift_m, leak, duration_s)

    def prime(self, filled_m3: float, displaced_m3_s: float, lift_m: float, dt_s: float) -> float:
        """Water in the line after the pump ran ``dt_s`` on air; midpoint rule."""
        if self.source_gone or displaced_m3_s <= 0.0:
            return filled_m3
        half = filled_m3 + 0.5 * dt_s * self._rate(filled_m3, displaced_m3_s, lift_m)
        half = min(max(half, 0.0), self.volume_m3)
        filled = filled_m3 + dt_s * self._rate(half, displaced_m3_s, lift_m)
        return min(max(filled, 0.0), self.volume_m3)

    def pumped(self, filled_m3: float, drawn_m3: float, water_share: float) -> float:
        """Water in the line after the pump drew water from it."""
        if self.source_gone:
            return filled_m3 - drawn_m3
        if water_share < _LOST_SHARE:
            return (1.0 - _SLIPPED) * self.volume_m3
        return filled_m3

    def _rate(self, filled_m3: float, displaced_m3_s: float, lift_m: float) -> float:
        share = filled_m3 / self.volume_m3
        weight = self.suction.water.density_kg_m3 * GRAVITY_M_S2
        leak = 0.0
        if self.air_hole_m2:
            leak = self.suction.air_leak_m3_s(self.air_hole_m2, -weight * lift_m * share)
        return self.suction.prime_rate_m3_s(
            filled_m3, displaced_m3_s, lift_m, self.dry_lift_m, leak
        )
