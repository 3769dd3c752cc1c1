"""The operating point as the board can see it: pressure learned tonight and on other nights.

Pressure follows the battery's voltage, so what is learned is brought to the voltage that the
sizing calls normal, and what is expected is brought from there to the voltage of the moment.
"""

from .facts import LINE
from .ticks import const

BASE_NIGHTS = 3
"""Nights whose mean is the base that drift is measured from; then it is kept."""

_LEARN_FROM_S = const(30)
_LEARN_FOR_S = const(30)
_FLOW_ML_MIN_MAX = const(500000)
"""More than any 12 V pump gives: sums of it stay in 31 bits."""


class Operating:
    """``expected_pa`` is what the pressure should be at this voltage; what is learned are facts.

    ``tonight_pa`` is the normalised pressure learned in this night's first run, or 0;
    ``drift_permille`` is how far it is from ``base_pa``.
    """

    def __init__(self, settings, facts) -> None:
        self.settings = settings
        self.facts = facts
        self.static_pa = settings.static_pa
        self.flow_root = self._root = root(settings.normal_pa - settings.static_pa)
        self.expected_pa = settings.normal_pa
        self._seconds = 0
        self._sum_pa = 0

    def start(self) -> None:
        """A run begins: pressure has just been made."""
        self._seconds = 0
        self._sum_pa = 0

    def second(self, pressure_pa: int, battery_mv: int) -> bool:
        """One second of running; True when tonight's pressure has just been learned."""
        away_pa = self._shift_pa(battery_mv)
        facts = self.facts
        self.expected_pa = (facts.tonight_pa or facts.base_pa or self.settings.normal_pa) + away_pa
        self._seconds += 1
        if facts.tonight_pa or self._seconds <= _LEARN_FROM_S:
            return False
        self._sum_pa += pressure_pa - away_pa
        if self._seconds < _LEARN_FROM_S + _LEARN_FOR_S:
            return False
        self._learn(self._sum_pa // _LEARN_FOR_S)
        return True

    def _learn(self, pressure_pa: int) -> None:
        facts = self.facts
        facts.tonight_pa = max(pressure_pa, 1)
        if facts.base_nights < BASE_NIGHTS:
            facts.base_nights += 1
            facts.base_pa += (pressure_pa - facts.base_pa) // facts.base_nights
        else:
            facts.drift_permille = share_permille(abs(pressure_pa - facts.base_pa), facts.base_pa)

    def flow_ml_min(self, pressure_pa: int) -> int:
        """Flow through line and nozzle: it goes with the root of the pressure."""
        net_pa = pressure_pa - self.static_pa
        if net_pa <= 0:
            return 0
        self._root = root(net_pa, self._root)
        flow = self.settings.flow_ml_min * self._root // self.flow_root
        return min(flow, _FLOW_ML_MIN_MAX)

    def new_line(self) -> None:
        """Nozzle, hose or lift are others: what is normal is to be learned from here on."""
        self.facts.end(LINE)
        self.start()

    def _shift_pa(self, battery_mv: int) -> int:
        if not self.settings.battery_fitted:
            return 0
        away_mv = battery_mv - self.settings.normal_mv
        return self.settings.pressure_pa_per_v // 10 * away_mv // 100


def share_permille(part: int, whole: int) -> int:
    """part / whole in thousandths, without leaving 31 bits up to 1.6 MPa."""
    whole >>= 3
    return (part >> 3) * 1000 // whole if whole > 0 else 0


def root(number: int, near: int = 1) -> int:
    """The whole part of the square root, by Newton's method; soonest from a number near it.

    The first step, from wherever it is, is never below the root; from there it goes down to it.
    """
    if number < 1:
        return 0
    guess = (near + number // near) >> 1
    better = (guess + number // guess) >> 1
    while better < guess:
        guess = better
        better = (guess + number // guess) >> 1
    return guess
