"""The plot seen from above: where the week's water fell."""

from dataclasses import dataclass

import numpy as np
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from rillkeeper.morning.report.report import Report
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import picture, svg_of
from rillkeeper.pages.plan_frame import draw_frame
from rillsim.garden.uniformity import christiansen_cu, du_low_quarter
from rillsim.site import Site
from rillsim.water.sprinkler import Sprinkler

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


def spread_of(report: Report) -> Spread | None:
    """The figures of the plot; None where a log alone cannot tell, or nothing was given."""
    site = report.site
    if site is None or not report.truth:
        return None
    depth_mm = np.sum([night.depth_map_mm for night in report.truth], axis=0)
    mean_mm = float(depth_mm.mean())
    litres = sum(night.litres for night in report.truth)
    if mean_mm <= 0.0 or litres <= 0.0:
        return None
    du = du_low_quarter(depth_mm)
    return Spread(
        depth_mm=depth_mm,
        mean_mm=mean_mm,
        driest_mm=mean_mm * du / 100.0,
        cu=christiansen_cu(depth_mm),
        du=du,
        covered=float(np.mean(depth_mm >= ENOUGH_SHARE * mean_mm)),
        landed=mean_mm * site.plot.width_m * site.plot.depth_m / litres,
        throw_m=throw_m(report, site),
    )


def throw_m(report: Report, site: Site) -> float:
    """Throw in still air at the mean flow that the board reckoned [m]."""
    flows = [night.flow_ml_min for night in report.nights if night.flow_ml_min]
    if not flows:
        return 0.0
    sprinkler = Sprinkler(site.sprinkler)
    return sprinkler.throw_m(sprinkler.pressure_pa(sum(flows) / len(flows) / 6e7))


def plan_view(report: Report, spread: Spread) -> str:
    """The picture as SVG."""
    site = report.site
    assert site is not None
    shown = report.shown

    def far(value_m: float) -> float:
        return shown.number(value_m, "length")

    width, height = far(site.plot.width_m), far(site.plot.depth_m)
    x, y = far(site.sprinkler.x_m), far(site.sprinkler.y_m)
    depth = shown.number(1e-3, "water depth") * spread.depth_mm
    with picture(WIDTH_IN, HEIGHT_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.1, right=0.93, top=0.985, bottom=0.1)
        rows, columns = depth.shape
        east = (np.arange(columns) + 0.5) * width / columns
        north = (np.arange(rows) + 0.5) * height / rows
        levels = _levels(depth)
        colours = LinearSegmentedColormap.from_list("depths", palette.DEPTHS)
        filled = axes.contourf(
            *_to_edges(east, north, depth, width, height), levels, cmap=colours, extend="max"
        )
        away = np.hypot(east[np.newaxis, :] - x, north[:, np.newaxis] - y) > far(_STAND_M)
        drawn = np.ma.array(depth, mask=~away)
        lines = axes.contour(east, north, drawn, levels[1:], colors=palette.INK, linewidths=0.35)
        axes.clabel(lines, levels[2::2], fontsize=5.5, fmt="%g", inline_spacing=2)
        label = "depth in the whole report"
        draw_frame(figure, axes, filled, site, shown, spread.throw_m, label)
        words = (
            f"The plot from above, {shown.text(site.plot.width_m, 'length')} by "
            f"{shown.text(site.plot.depth_m, 'length')}: depth of water applied, mean "
            f"{shown.text(spread.mean_mm * 1e-3, 'water depth')}, with sprinkler and throw."
        )
        return svg_of(figure, "plan", words)


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
