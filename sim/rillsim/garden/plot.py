"""Depth on the plot from the litres of one sprinkler, cell by cell.

A map is the depth that one litre leaves. Pumping is gathered into bins of throw, wind and
pressure as it happens, which costs a dictionary entry; the map of a bin is drawn once, when the
depths are first asked for, and what is in a bin is added to the depths whenever they are.
"""

from functools import lru_cache
from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillsim.garden.spray import air_loss, drift_xy_m, pattern_share_m2, ring_share
from rillsim.garden.uniformity import christiansen_cu, du_low_quarter
from rillsim.site import PlotSpec, SprinklerSpec

Floats = NDArray[np.float64]

CELL_M = 0.25
FINE = 2
"""Each cell is sampled FINE x FINE times..."""
FINE_THROW_M = 10.0
"""...where the throw is short enough for an edge to matter."""
THROW_BIN_M = 0.1
WIND_BIN_M_S = 0.25
DIRECTION_BIN_DEG = 15.0
RING_BINS = 10
KEPT_CELLS = 4_000_000
"""Maps are kept up to so many cells in all, 32 MB."""
SIDE_MAX_M = 200.0
"""Longest side of a plot that one sprinkler is drawn on."""


class Bin(NamedTuple):
    """Whole numbers of throw, wind, direction and ring share: the key of a map."""

    throw: int
    wind: int
    direction: int
    ring: int


class SprayPlot:
    """The plot's cells and what falls on them.

    Parameters
    ----------
    plot : PlotSpec
        South-west corner at the origin, x east, y north
    sprinkler : SprinklerSpec
        Place, arc and pattern
    cell_m : float
        Side of a cell, made to fit the plot [m]

    Examples
    --------
    >>> spray = SprayPlot(PlotSpec(), SprinklerSpec(x_m=5.35, y_m=6.1))
    >>> spray.add(100.0, throw_m=5.0)
    >>> round(spray.mean_mm, 2), round(spray.litres_on_plot, 6)
    (0.77, 100.0)
    """

    def __init__(self, plot: PlotSpec, sprinkler: SprinklerSpec, cell_m: float = CELL_M) -> None:
        for name, side_m in (("width", plot.width_m), ("depth", plot.depth_m)):
            if not 0.0 < side_m <= SIDE_MAX_M:
                raise ValueError(
                    f"plot {name} {side_m:g} m: give more than 0 and at most {SIDE_MAX_M:g} m"
                )
        if not 0.0 < sprinkler.arc_deg <= 360.0:
            raise ValueError(f"arc {sprinkler.arc_deg:g} degrees: give more than 0, at most 360")
        pattern_share_m2(sprinkler.pattern, np.zeros(1), 1.0)  # Refuses an unknown pattern.
        self.plot = plot
        self.sprinkler = sprinkler
        self.columns = max(1, ceil(plot.width_m / cell_m))
        self.rows = max(1, ceil(plot.depth_m / cell_m))
        self.cell_x_m = plot.width_m / self.columns
        self.cell_y_m = plot.depth_m / self.rows
        self._maps = _maps_of(plot, sprinkler, cell_m)
        self.clear()

    def clear(self) -> None:
        """Forget the water."""
        self._fresh: dict[Bin, float] = {}
        self._depth_mm: Floats = np.zeros((self.rows, self.columns))
        self._depth_mm.setflags(write=False)
        self.litres_pumped = 0.0
        self.litres_lost = 0.0

    @property
    def area_m2(self) -> float:
        """Area of the plot [m2]."""
        return self.plot.width_m * self.plot.depth_m

    def add(
        self,
        litres: float,
        throw_m: float,
        wind_m_s: float = 0.0,
        wind_from_deg: float = 0.0,
        pressure_pa: float = 1.0e6,
        lost_share: float = 0.0,
    ) -> None:
        """Let so many litres leave the sprinkler; ``lost_share`` of them never lands."""
        lost = litres * lost_share
        self.litres_pumped += litres
        self.litres_lost += lost
        key = bin_of(throw_m, wind_m_s, wind_from_deg, pressure_pa)
        self._fresh[key] = self._fresh.get(key, 0.0) + litres - lost

    def add_in_air(
        self,
        litres: float,
        throw_m: float,
        wind_m_s: float,
        wind_from_deg: float,
        humidity: float,
        pressure_pa: float,
    ) -> None:
        """The same with the loss that wind and dryness of the air bring."""
        loss = air_loss(wind_m_s, humidity)
        self.add(litres, throw_m, wind_m_s, wind_from_deg, pressure_pa, loss)

    def depth_per_litre_mm(self, key: Bin) -> Floats:
        """Map of a bin: depth in each cell for a litre that lands [mm], rows from the south."""
        found = self._maps.get(key)
        if found is None:
            if len(self._maps) * self.rows * self.columns > KEPT_CELLS:
                self._maps.clear()
            found = self._maps[key] = self._draw(key)
            found.setflags(write=False)
        return found

    @property
    def depth_mm(self) -> Floats:
        """Depth in each cell so far [mm], rows from the south, columns from the west."""
        if self._fresh:
            total = self._depth_mm.copy()
            for key, litres in self._fresh.items():
                total += litres * self.depth_per_litre_mm(key)
            total.setflags(write=False)
            self._depth_mm = total
            self._fresh = {}
        return self._depth_mm

    @property
    def mean_mm(self) -> float:
        """Mean depth over the plot [mm]."""
        return float(self.depth_mm.mean())

    @property
    def litres_on_plot(self) -> float:
        """Water that came down inside [L]."""
        return self.mean_mm * self.area_m2

    @property
    def cu_percent(self) -> float:
        """Christiansen's uniformity over the whole plot [%]."""
        return christiansen_cu(self.depth_mm)

    @property
    def du_percent(self) -> float:
        """Uniformity of the driest quarter of the plot [%]."""
        return du_low_quarter(self.depth_mm)

    def covered(self, share_of_mean: float = 0.0) -> float:
        """Share of the plot that got more than this share of the mean depth [-]."""
        return float(np.mean(self.depth_mm > share_of_mean * self.mean_mm))

    def _draw(self, key: Bin) -> Floats:
        """One litre over the whole wetted area, of which the plot's cells are kept.

        The lattice of the cells goes on past the plot's edges as far as the spray does, and
        the litre is made whole on it, so that nothing is gained or lost at an edge.
        """
        depth = np.zeros((self.rows, self.columns))
        throw_m = max(1, key.throw) * THROW_BIN_M
        wind_m_s, from_deg = key.wind * WIND_BIN_M_S, key.direction * DIRECTION_BIN_DEG
        east_m, north_m = drift_xy_m(wind_m_s, from_deg, throw_m)
        fine = FINE if throw_m < FINE_THROW_M else 1
        first_x, x = _lattice(self.sprinkler.x_m + east_m, throw_m, self.cell_x_m, fine)
        first_y, y = _lattice(self.sprinkler.y_m + north_m, throw_m, self.cell_y_m, fine)
        share = self._share(x, y, throw_m, key.ring / RING_BINS)
        if not share.any():  # Too small for the lattice: all of it lies at the sprinkler.
            share[np.argmin(np.abs(y)), np.argmin(np.abs(x))] = 1.0
        rows, columns = share.shape[0] // fine, share.shape[1] // fine
        cells = share.reshape(rows, fine, columns, fine).sum(axis=(1, 3))
        cells /= cells.sum() * self.cell_x_m * self.cell_y_m
        row, column = max(0, first_y), max(0, first_x)
        top, right = max(0, self.rows - first_y), max(0, self.columns - first_x)
        kept = cells[row - first_y : top, column - first_x : right]
        if kept.size:
            depth[row : row + kept.shape[0], column : column + kept.shape[1]] = kept
        return depth

    def _share(self, x: Floats, y: Floats, throw_m: float, ring: float) -> Floats:
        """Pattern at every sample, x and y from the sprinkler [1/m2]."""
        radius = np.sqrt(x[np.newaxis, :] ** 2 + y[:, np.newaxis] ** 2)
        share = np.zeros_like(radius)
        if ring < 1.0:
            share += (1.0 - ring) * pattern_share_m2(self.sprinkler.pattern, radius, throw_m)
        if ring > 0.0:
            share += ring * pattern_share_m2("doughnut", radius, throw_m)
        if self.sprinkler.arc_deg < 360.0:
            bearing = np.degrees(np.arctan2(x[np.newaxis, :], y[:, np.newaxis]))
            off = (bearing - self.sprinkler.facing_deg + 180.0) % 360.0 - 180.0
            share[np.abs(off) > self.sprinkler.arc_deg / 2.0] = 0.0
        return share


@lru_cache(maxsize=4)
def _maps_of(plot: PlotSpec, sprinkler: SprinklerSpec, cell_m: float) -> dict[Bin, Floats]:
    """The maps of one sprinkler on one plot: all seasons of a site draw the same."""
    return {}


def bin_of(throw_m: float, wind_m_s: float, wind_from_deg: float, pressure_pa: float) -> Bin:
    """The bin of a moment of pumping. Calm has no direction.

    >>> bin_of(7.03, 1.1, 100.0, 250e3)
    Bin(throw=70, wind=4, direction=7, ring=0)
    """
    wind = round(wind_m_s / WIND_BIN_M_S)
    turns = round(360.0 / DIRECTION_BIN_DEG)
    direction = round(wind_from_deg / DIRECTION_BIN_DEG) % turns if wind else 0
    ring = round(ring_share(pressure_pa) * RING_BINS)
    return Bin(max(0, round(throw_m / THROW_BIN_M)), wind, direction, ring)


def _lattice(centre_m: float, throw_m: float, cell_m: float, fine: int) -> tuple[int, Floats]:
    """First cell that the spray reaches and the samples from there on, from the centre."""
    first, last = floor((centre_m - throw_m) / cell_m), floor((centre_m + throw_m) / cell_m)
    samples = np.arange((last - first + 1) * fine) + 0.5
    return first, (first + samples / fine) * cell_m - centre_m
