"""Plans of a plot from above: depth of water by place, sprinkler and throw."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import LinearSegmentedColormap, to_hex
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle, Wedge
from matplotlib.patheffects import withStroke
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown, day_text
from rillkeeper.morning.report.report import Report
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import Picture, page_figure, picture_of, room
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
    axes.plot([x], [y], "o", mfc=pictures.MAP_PAPER, mec=pictures.MAP_INK, mew=1.2, ms=6)
    axes.plot([x], [y], marker=".", color=pictures.MAP_INK, markersize=3)
    edge = far(0.3)
    axes.set_xlim(min(0.0, x - throw) - edge, max(width, x + throw) + edge)
    axes.set_ylim(min(0.0, y - throw) - edge, max(height, y + throw) + edge)
    axes.set_aspect("equal")
    axes.set_xlabel(f"from west to east, {shown.unit('length')}")
    axes.set_ylabel(f"from south to north, {shown.unit('length')}")
    bar = figure.colorbar(filled, ax=axes, shrink=0.72, aspect=26, pad=0.03)
    bar.outline.set_linewidth(0.5)
    bar.set_label(f"{depth_label}, {shown.unit('water depth')}")


WIDTH_IN, HEIGHT_IN = 4.2, 3.8
_LEVELS = len(pictures.DEPTHS)
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
        edged = _to_edges(east, north, depth, width, height)
        filled = axes.contourf(*edged, levels, colors=_colours(levels), extend="max")
        away = np.hypot(east[np.newaxis, :] - x, north[:, np.newaxis] - y) > far(_STAND_M)
        drawn = np.ma.array(depth, mask=~away)
        lines = axes.contour(
            east, north, drawn, levels[1:], colors=pictures.MAP_INK, linewidths=0.5
        )
        lines.set_path_effects([withStroke(linewidth=1.3, foreground=pictures.MAP_PAPER)])
        for text in axes.clabel(lines, levels[1:], fontsize=6.5, fmt="%g", inline_spacing=2):
            text.set_path_effects([withStroke(linewidth=2.0, foreground=pictures.MAP_PAPER)])
        _draw_fed(axes, east, north, spread.depth_mm - spread.need_mm)
        label = "depth in the whole report"
        _finish(figure, axes, filled, site, shown, spread.throw_m, label)
        words = (
            f"The plot from above, {shown.text(site.plot.width_m, 'length')} by "
            f"{shown.text(site.plot.depth_m, 'length')}: depth of water applied, mean "
            f"{shown.text(spread.mean_mm * 1e-3, 'water depth')}, with sprinkler and throw. The "
            f"gift meets the need of {shown.text(spread.needed_mm * 1e-3, 'water depth')} on "
            f"{100.0 * spread.fed:.0f} % of it, up to the heavy line. Driest is the "
            f"{least_corner(spread.depth_mm)}."
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
        line = axes.contour(east, north, over, [0.0], colors=pictures.MAP_INK, linewidths=1.8)
        line.set_path_effects([withStroke(linewidth=3.2, foreground=pictures.MAP_PAPER)])
    driest = low_quarter_weights(over) > 0.0
    hatched = axes.contourf(
        east, north, driest.astype(float), [0.5, 1.5], colors="none", hatches=["....."]
    )
    hatched.set_edgecolor(pictures.MAP_INK)
    hatched.set_linewidth(0.0)


def _levels(depth: NDArray[np.float64]) -> NDArray[np.float64]:
    """Round steps up to nearly the deepest place: a start's dribble at the stand goes beyond."""
    top = max(float(np.quantile(depth, _TOP_QUANTILE)), 1e-9)
    steps = MaxNLocator(_LEVELS - 1, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, top)
    return np.asarray(steps, dtype=np.float64)


def _colours(levels: NDArray[np.float64]) -> list[str]:
    """One a step, and one for what goes beyond, over the whole range from light to dark."""
    shades = LinearSegmentedColormap.from_list("depths", pictures.DEPTHS)
    return [to_hex(shades(value)) for value in np.linspace(0.0, 1.0, len(levels))]


_NIGHT_IN, _NIGHT_TITLE_IN = 0.98, 0.36


def plan_by_night(report: Report, width_in: float) -> Picture:
    """The plot from above, a small map for each night that brought water."""
    site = report.site
    assert site is not None
    nights = [one for one in report.truth if one.plot_mm > 0.0]
    levels = _levels(np.array([night.depth_map_mm for night in nights]))
    columns = max(1, int(width_in / _NIGHT_IN))
    rows = -(-len(nights) // columns)
    side_in = width_in / columns
    height_in = side_in * site.plot.depth_m / site.plot.width_m + _NIGHT_TITLE_IN
    told = []
    with page_figure(width_in, rows * height_in) as figure:
        grid = figure.subplots(rows, columns, squeeze=False).ravel()
        room(figure, 0.03, 0.03, 0.2, 0.16, wspace=0.1, hspace=0.5)
        for axes, night in zip(grid, nights, strict=False):
            _small_map(axes, night.depth_map_mm, levels)
            day = day_text(report.start_day + night.night - 1)
            mean = report.shown.text(night.plot_mm * 1e-3, "water depth")
            axes.set_title(day, fontsize=6.5, pad=3.0)
            axes.set_xlabel(mean, fontsize=6.5, labelpad=2.0, color=pictures.INK)
            told.append(f"{day} {mean}, least in the {least_corner(night.depth_map_mm)}")
        for spare in grid[len(nights) :]:
            spare.axis("off")
        words = f"The plot from above, night by night, mean depth: {'; '.join(told)}."
        return picture_of(figure, "by-night", words)


def _small_map(axes: Axes, depth_mm: NDArray[np.float64], levels: NDArray[np.float64]) -> None:
    axes.contourf(depth_mm, levels, colors=_colours(levels), extend="max")
    axes.contour(depth_mm, levels[1:], colors=pictures.MAP_INK, linewidths=0.3)
    axes.set_xticks([])
    axes.set_yticks([])
    axes.set_aspect("equal")
    for side in ("left", "right", "top", "bottom"):
        axes.spines[side].set(visible=True, color=pictures.INK)


def least_corner(depth: NDArray[np.float64]) -> str:
    """Which quarter of the plot, by the compass, got least.

    >>> least_corner(np.array([[1.0, 2.0], [3.0, 4.0]]))
    'south-west'
    """
    rows, columns = depth.shape
    south, west = slice(0, rows // 2), slice(0, columns // 2)
    north, east = slice(rows // 2, None), slice(columns // 2, None)
    corners = {
        "south-west": depth[south, west].mean(),
        "south-east": depth[south, east].mean(),
        "north-west": depth[north, west].mean(),
        "north-east": depth[north, east].mean(),
    }
    return min(corners, key=lambda name: float(corners[name]))


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
        levels = _levels(depth)
        east = np.concatenate(([0.0], (np.arange(columns) + 0.5) * width / columns, [width]))
        north = np.concatenate(([0.0], (np.arange(rows) + 0.5) * height / rows, [height]))
        padded = np.pad(depth, 1, mode="edge")
        filled = axes.contourf(east, north, padded, levels, colors=_colours(levels), extend="max")
        found = work.watering
        east, north = east[1:-1], north[1:-1]
        _draw_fed(axes, east, north, work.depth_mm_h * found.set_s / 3600.0 - found.need_mm)
        _finish(figure, axes, filled, site, shown, throw_m, "depth in an hour")
        words = (
            f"The plot from above with the sprinkler, its throw of "
            f"{shown.text(throw_m, 'length')}, and the depth of an hour; the heavy line is where "
            "a night's sets give what crop and wet ground use on a usual day. Driest is the "
            f"{least_corner(work.depth_mm_h)}."
        )
        return picture_of(figure, "plan", words)
