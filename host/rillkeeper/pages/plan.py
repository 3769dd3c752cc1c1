"""Plans of a plot from above: depth of water by place, sprinkler and throw."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle, Wedge
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.morning.report.report import Report
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import Picture, page_figure, picture_of
from rillsim.garden.uniformity import christiansen_cu, du_low_quarter, low_quarter_weights
from rillsim.site import Site
from rillsim.water.sprinkler import Sprinkler


def _finish(
    figure: Figure,
    axes: Axes,
    filled: ScalarMappable,
    site: Site,
    shown: Shown,
    throw_m: float,
    depth_label: str,
) -> None:
    """Finish a plan whose depths are drawn; a throw of 0 is not drawn."""

    def far(value_m: float) -> float:
        return shown.number(value_m, "length")

    width, height = far(site.plot.width_m), far(site.plot.depth_m)
    x, y, throw = far(site.sprinkler.x_m), far(site.sprinkler.y_m), far(throw_m)
    axes.add_patch(Rectangle((0, 0), width, height, fill=False, ec=pictures.INK, lw=1.0))
    line: dict[str, Any] = {"fill": False, "ec": pictures.INK, "lw": 0.8, "ls": (0, (5, 3))}
    if throw > 0.0 and site.sprinkler.arc_deg < 360.0:
        middle, half = 90.0 - site.sprinkler.facing_deg, site.sprinkler.arc_deg / 2.0
        axes.add_patch(Wedge((x, y), throw, middle - half, middle + half, **line))
    elif throw > 0.0:
        axes.add_patch(Circle((x, y), throw, **line))
    axes.plot([x], [y], "o", mfc=pictures.PAPER, mec=pictures.INK, mew=1.2, ms=6, linestyle="none")
    axes.plot([x], [y], marker=".", color=pictures.INK, markersize=3)
    edge = far(0.3)
    axes.set_xlim(min(0.0, x - throw) - edge, max(width, x + throw) + edge)
    axes.set_ylim(min(0.0, y - throw) - edge, max(height, y + throw) + edge)
    axes.set_aspect("equal")
    axes.set_xlabel(f"from west to east, {shown.unit('length')}")
    axes.set_ylabel(f"from south to north, {shown.unit('length')}")
    bar = figure.colorbar(filled, ax=axes, shrink=0.72, aspect=26, pad=0.03)
    bar.outline.set_linewidth(0.5)
    bar.set_label(f"{depth_label}, {shown.unit('water depth')}")


WIDTH_IN, HEIGHT_IN = 4.3, 3.85
_LEVELS = 8
_TOP_QUANTILE = 0.99
_STAND_M = 0.6
"""No lines so near the sprinkler's stand: its mark covers what a start dribbles there."""
ENOUGH_SHARE = 0.5
"""A place counts as covered when it got at least half of the mean."""


@dataclass(frozen=True)
class Spread:
    """How the water of the whole report lies on the plot."""

    depth_mm: NDArray[np.float64]
    mean_mm: float
    driest_mm: float
    """Mean of the driest quarter."""
    cu: float
    du: float
    covered: float
    """Share of the plot that got at least half of the mean."""
    landed: float
    """Share of the sprinkler's water that came down on the plot."""
    throw_m: float
    need_mm: NDArray[np.float64]
    """What crop and ground asked of the sprinkler: their use at will less the rain."""
    fed: float
    """Share of the plot that got as much from it, or more."""
    crop_got: float
    """Share of its demand that the crop got on the driest quarter."""
    runoff_mm: float
    drained_mm: float
    """Of rain and gift, mean over the plot: off it, and below the roots."""

    @property
    def needed_mm(self) -> float:
        """Mean of what was asked of the sprinkler."""
        return float(self.need_mm.mean())


def spread_of(report: Report) -> Spread | None:
    """The figures of the plot; None where a log alone cannot tell, or nothing was given."""
    site = report.site
    if site is None or not report.truth or report.soil is None:
        return None
    depth_mm = np.sum([night.depth_map_mm for night in report.truth], axis=0)
    mean_mm = float(depth_mm.mean())
    litres = sum(night.litres for night in report.truth)
    if mean_mm <= 0.0 or litres <= 0.0:
        return None
    du = du_low_quarter(depth_mm)
    rain_mm = sum(night.rain_mm for night in report.truth)
    need_mm = np.maximum(0.0, report.soil.need_map_mm - rain_mm)
    return Spread(
        depth_mm=depth_mm,
        mean_mm=mean_mm,
        driest_mm=mean_mm * du / 100.0,
        cu=christiansen_cu(depth_mm),
        du=du,
        covered=float(np.mean(depth_mm >= ENOUGH_SHARE * mean_mm)),
        landed=mean_mm * site.plot.width_m * site.plot.depth_m / litres,
        throw_m=throw_m(report, site),
        need_mm=need_mm,
        fed=float(np.mean(depth_mm >= need_mm)),
        crop_got=report.soil.driest.crop_mm / max(report.soil.demand_mm, 1e-9),
        runoff_mm=report.soil.mean.runoff_mm,
        drained_mm=report.soil.mean.drained_mm,
    )


def throw_m(report: Report, site: Site) -> float:
    """Throw in still air at the mean flow that the board reckoned [m]."""
    flows = [night.flow_ml_min for night in report.nights if night.flow_ml_min]
    if not flows:
        return 0.0
    sprinkler = Sprinkler(site.sprinkler)
    return sprinkler.throw_m(sprinkler.pressure_pa(sum(flows) / len(flows) / 6e7))


def applied_plan(report: Report, spread: Spread) -> Picture:
    """The picture, ready for the page."""
    site = report.site
    assert site is not None
    shown = report.shown

    def far(value_m: float) -> float:
        return shown.number(value_m, "length")

    width, height = far(site.plot.width_m), far(site.plot.depth_m)
    x, y = far(site.sprinkler.x_m), far(site.sprinkler.y_m)
    depth = shown.number(1e-3, "water depth") * spread.depth_mm
    with page_figure(WIDTH_IN, HEIGHT_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.1, right=0.93, top=0.985, bottom=0.1)
        rows, columns = depth.shape
        east = (np.arange(columns) + 0.5) * width / columns
        north = (np.arange(rows) + 0.5) * height / rows
        levels = _levels(depth)
        colours = LinearSegmentedColormap.from_list("depths", pictures.DEPTHS)
        filled = axes.contourf(
            *_to_edges(east, north, depth, width, height), levels, cmap=colours, extend="max"
        )
        away = np.hypot(east[np.newaxis, :] - x, north[:, np.newaxis] - y) > far(_STAND_M)
        drawn = np.ma.array(depth, mask=~away)
        lines = axes.contour(east, north, drawn, levels[1:], colors=pictures.INK, linewidths=0.35)
        axes.clabel(lines, levels[2::2], fontsize=5.5, fmt="%g", inline_spacing=2)
        _draw_fed(axes, east, north, spread.depth_mm - spread.need_mm)
        label = "depth in the whole report"
        _finish(figure, axes, filled, site, shown, spread.throw_m, label)
        words = (
            f"The plot from above, {shown.text(site.plot.width_m, 'length')} by "
            f"{shown.text(site.plot.depth_m, 'length')}: depth of water applied, mean "
            f"{shown.text(spread.mean_mm * 1e-3, 'water depth')}, with sprinkler and throw. The "
            f"gift meets the need of {shown.text(spread.needed_mm * 1e-3, 'water depth')} on "
            f"{100.0 * spread.fed:.0f} % of it, up to the heavy line; dotted is the driest "
            "quarter."
        )
        return picture_of(figure, "plan", words)


def _draw_fed(
    axes: Axes,
    east: NDArray[np.float64],
    north: NDArray[np.float64],
    over: NDArray[np.float64],
) -> None:
    """The line where the gift is just what is needed, and the driest quarter."""
    if over.min() == over.max():  # An even gift, or none: no quarter is the driest.
        return
    if over.min() < 0.0 < over.max():
        axes.contour(east, north, over, [0.0], colors=pictures.INK, linewidths=1.5)
    driest = low_quarter_weights(over) > 0.0
    hatched = axes.contourf(
        east, north, driest.astype(float), [0.5, 1.5], colors="none", hatches=["....."]
    )
    hatched.set_edgecolor(pictures.FAINT)
    hatched.set_linewidth(0.0)


def _levels(depth: NDArray[np.float64]) -> NDArray[np.float64]:
    """Round steps up to nearly the deepest place: a start's dribble at the stand goes beyond."""
    top = float(np.quantile(depth, _TOP_QUANTILE))
    steps = MaxNLocator(_LEVELS, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, top)
    return np.asarray(steps, dtype=np.float64)


def _to_edges(
    east: NDArray[np.float64],
    north: NDArray[np.float64],
    depth: NDArray[np.float64],
    width: float,
    height: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """The map of the cells' middles drawn out to the plot's edge, so that no rim stays bare."""
    return (
        np.concatenate(([0.0], east, [width])),
        np.concatenate(([0.0], north, [height])),
        np.pad(depth, 1, mode="edge"),
    )


def hourly_plan(work: Workings, shown: Shown) -> Picture:
    """The picture, ready for the page."""
    site = work.site

    def far(value_m: float) -> float:
        return shown.number(value_m, "length")

    width, height = far(site.plot.width_m), far(site.plot.depth_m)
    depth = shown.number(1e-3, "water depth") * work.depth_mm_h
    throw_m = work.points.half.throw_m
    with page_figure(WIDTH_IN, HEIGHT_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.1, right=0.93, top=0.985, bottom=0.1)
        rows, columns = depth.shape
        colours = LinearSegmentedColormap.from_list("depths", pictures.DEPTHS)
        top = max(float(depth.max()), 1e-9)
        levels = MaxNLocator(_LEVELS, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, top)
        east = np.concatenate(([0.0], (np.arange(columns) + 0.5) * width / columns, [width]))
        north = np.concatenate(([0.0], (np.arange(rows) + 0.5) * height / rows, [height]))
        filled = axes.contourf(east, north, np.pad(depth, 1, mode="edge"), levels, cmap=colours)
        found = work.watering
        east, north = east[1:-1], north[1:-1]
        _draw_fed(axes, east, north, work.depth_mm_h * found.set_s / 3600.0 - found.need_mm)
        _finish(figure, axes, filled, site, shown, throw_m, "depth in an hour")
        words = (
            f"The plot from above with the sprinkler, its throw of "
            f"{shown.text(throw_m, 'length')}, and the depth of an hour; the heavy line is where "
            "a night's sets give what crop and wet ground use on a usual day, dotted the driest "
            "quarter."
        )
        return picture_of(figure, "plan", words)
