"""Rested voltage of a battery against the share of its charge left, quick to look up."""

from functools import cache

from rillsim.supply.chemistry import Chemistry, interpolate

_PER_UNIT = 100
_LOW = -60
_HIGH = 101
_DEAD_CELL_V = 20.0
"""Volts that an overdrawn cell loses per unit of its battery's charge: steep, but smooth."""


@cache
def _table(chemistry: Chemistry) -> tuple[float, ...]:
    """Rested voltage at each hundredth of charge, [V]: one for all batteries of a kind."""
    nodes = chemistry.rest_v
    slope = 0.0
    if chemistry.knee_v:
        slope = (nodes[1][1] - nodes[0][1]) / (nodes[1][0] - nodes[0][0])
    shares = [hundredth / _PER_UNIT for hundredth in range(_LOW, _HIGH + 1)]
    return tuple(interpolate(nodes, share) + min(0.0, share) * slope for share in shares)


class RestCurve:
    """Straight lines between hundredths of charge, which hold every point of the table.

    Below empty a lead-acid curve goes on with the slope of its foot: the charge that is there
    beyond the 20 h rating still counts when it is drawn more slowly.
    """

    __slots__ = ("_cells", "_table")

    def __init__(self, chemistry: Chemistry) -> None:
        self._cells = chemistry.cells
        self._table = _table(chemistry)

    def volt(self, share: float) -> float:
        """Rested voltage, [V].

        Examples
        --------
        >>> from rillsim.supply.chemistry import FLOODED
        >>> round(RestCurve(FLOODED).volt(0.75), 3)
        12.45
        """
        place = share * _PER_UNIT - _LOW
        if place <= 0.0:
            return self._table[0]
        cell = int(place)
        if cell >= _HIGH - _LOW:
            return self._table[-1]
        low = self._table[cell]
        return low + (place - cell) * (self._table[cell + 1] - low)

    def volt_with_weak_cell(self, share: float, lost: float) -> float:
        """Rested voltage where one cell has lost a part of its capacity, [V].

        All cells give the same charge, so the weak one is empty first; its voltage then falls
        away while the others hold.

        Examples
        --------
        >>> from rillsim.supply.chemistry import FLOODED
        >>> curve = RestCurve(FLOODED)
        >>> round(curve.volt(0.5) - curve.volt_with_weak_cell(0.5, 0.7), 2)
        2.04
        """
        sound_v = self.volt(share) / self._cells
        weak_v = self.volt(1.0 - (1.0 - share) / (1.0 - lost)) / self._cells
        if share < lost:
            weak_v = max(0.0, weak_v - _DEAD_CELL_V * (lost - share))
        return sound_v * (self._cells - 1) + weak_v
