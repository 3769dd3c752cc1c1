"""The plot from above: how hard it rains where, and how far the spray throws."""

import numpy as np
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.ticker import MaxNLocator

from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import picture, svg_of
from rillkeeper.pages.plan_frame import draw_frame

WIDTH_IN, HEIGHT_IN = 4.3, 3.85
_STEPS = 8


def plan(work: Workings, shown: Shown) -> str:
    """The picture as SVG."""
    site = work.site

    def far(value_m: float) -> float:
        return shown.number(value_m, "length")

    width, height = far(site.plot.width_m), far(site.plot.depth_m)
    depth = shown.number(1e-3, "water depth") * work.depth_mm_h
    throw_m = work.points.half.throw_m
    with picture(WIDTH_IN, HEIGHT_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.1, right=0.93, top=0.985, bottom=0.1)
        rows, columns = depth.shape
        colours = LinearSegmentedColormap.from_list("depths", palette.DEPTHS)
        top = max(float(depth.max()), 1e-9)
        levels = MaxNLocator(_STEPS, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, top)
        east = np.concatenate(([0.0], (np.arange(columns) + 0.5) * width / columns, [width]))
        north = np.concatenate(([0.0], (np.arange(rows) + 0.5) * height / rows, [height]))
        filled = axes.contourf(east, north, np.pad(depth, 1, mode="edge"), levels, cmap=colours)
        draw_frame(figure, axes, filled, site, shown, throw_m, "depth in an hour")
        words = (
            f"The plot from above with the sprinkler, its throw of "
            f"{shown.text(throw_m, 'length')}, and the depth of an hour."
        )
        return svg_of(figure, "plan", words)
