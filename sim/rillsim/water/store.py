r"""A cistern, a spring, a pond of its own size: how much water is left, and how far it has sunk.

.. math:: V = V_0 + \int (Q_{in} + c A_r r) \, dt - V_{over} - V_{taken}, \qquad
    h = (V_0 - V) \frac{d}{V_0}

V is what stands above the strainer, d its depth at first (``cover``): the walls are upright. Q_in
is what a spring or stream yields, A_r the roof that drains into it, r the rain. What does not go
in runs over. Evaporation and seepage belong into ``fall``, which goes on beside it. The last of
it may be overdrawn by one step of the plant, three litres at the most.

References
----------
.. [1] A tank's balance of volume. Run-off of a roof: common practice for tiles and metal, 0.8 to
   0.9, no source.
"""

from collections.abc import Callable
from math import inf

from rillsim import ledger
from rillsim.site import Site, WaterSource

RUN_OFF = 0.8
"""Share of the rain on a roof that reaches the cistern."""

RainMm = Callable[[float, float], float]
"""Rain [mm] between two seconds from the start of the replay."""


def dry_sky(from_s: float, to_s: float) -> float:
    """No rain."""
    return 0.0


class Store:
    """The water of one site; without a ``stored`` volume it never ends."""

    __slots__ = ("_spec", "_whole_m3")

    def __init__(self, spec: WaterSource) -> None:
        self._spec = spec
        self._whole_m3 = max(spec.full_m3, spec.stored_m3)

    @property
    def ends(self) -> bool:
        """Whether it can be emptied."""
        return self._spec.stored_m3 > 0.0

    def left_m3(self, totals: ledger.Totals) -> float:
        """Water above the strainer, endless where no volume is given [m3]."""
        if not self.ends:
            return inf
        came = totals[ledger.INFLOW] - totals[ledger.OVERFLOW]
        return self._spec.stored_m3 + came - totals[ledger.TAKEN] + totals[ledger.RETURNED]

    def sunk_m(self, totals: ledger.Totals) -> float:
        """How far the level stands below its first, above zero or below it [m]."""
        if not self.ends:
            return 0.0
        gone_m3 = self._spec.stored_m3 - self.left_m3(totals)
        return gone_m3 * self._spec.cover_m / self._spec.stored_m3

    def fill(self, totals: ledger.Totals, rain_mm: float, duration_s: float) -> None:
        """Book what has come in in some time, and what ran over."""
        came = inflow_m3(self._spec, rain_mm, duration_s)
        totals[ledger.INFLOW] += came
        totals[ledger.OVERFLOW] += max(0.0, self.left_m3(totals) - self._whole_m3)


def inflow_m3(spec: WaterSource, rain_mm: float, duration_s: float) -> float:
    """What roof and spring give in a time [m3].

    >>> round(inflow_m3(WaterSource(roof_m2=50.0), 10.0, 3600.0), 3)
    0.4
    """
    return spec.inflow_m3_s * duration_s + RUN_OFF * spec.roof_m2 * rain_mm * 1e-3


def nights_until_empty(site: Site, night_m3: float, rain_mm_day: float = 0.0) -> float:
    """The first night that finds too little water; endless where none does within a year.

    Every night takes the same, and every day brings the spring's yield and the same rain, and
    lets it fall by itself as the site says.

    Examples
    --------
    A cube of 1 m3 and 240 L a night: the fifth night finds 40 L.

    >>> nights_until_empty(Site(water=WaterSource(stored_m3=1.0)), 0.24)
    5
    """
    spec = site.water
    left = spec.stored_m3
    if left <= 0.0 or night_m3 <= 0.0:
        return inf
    whole = max(spec.full_m3, left)
    day_m3 = inflow_m3(spec, rain_mm_day, 86400.0)
    day_m3 -= spec.fall_m_per_day * left / spec.cover_m if spec.cover_m > 0.0 else 0.0
    for night in range(1, 366):
        left -= night_m3
        if left < 0.0:
            return night
        left = min(whole, left + day_m3)
    return inf
