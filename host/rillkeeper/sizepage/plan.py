"""The plot from above: how hard it rains where, and how far the spray throws."""

from typing import Any

import numpy as np
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.patches import Circle, Rectangle, Wedge
from matplotlib.ticker import MaxNLocator

from rillkeeper.page import palette
from rillkeeper.page.drawing import picture, svg_of
from rillkeeper.shown import Shown
from rillkeeper.sizing.workings import Workings

WIDTH_IN, HEIGHT_IN = 4.3, 3.85
_STEPS = 8


def plan(work: Workings, shown: Shown) -> str:
    """The picture as SVG."""
    site = work.site

    def far(value_m: float) -> float:
        return shown.number(value_m, "length")

    width, height = far(site.plot.width_m), far(site.plot.depth_m)
    x, y = far(site.sprinkler.x_m), far(site.sprinkler.y_m)
    depth = shown.number(1e-3, "water depth") * work.depth_mm_h
    throw = far(work.points.half.throw_m)
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
        axes.add_patch(Rectangle((0, 0), width, height, fill=False, ec=palette.INK, lw=1.0))
        line: dict[str, Any] = {"fill": False, "ec": palette.INK, "lw": 0.8, "ls": (0, (5, 3))}
        if site.sprinkler.arc_deg < 360.0:
            middle, half = 90.0 - site.sprinkler.facing_deg, site.sprinkler.arc_deg / 2.0
            axes.add_patch(Wedge((x, y), throw, middle - half, middle + half, **line))
        else:
            axes.add_patch(Circle((x, y), throw, **line))
        axes.plot(
            [x], [y], "o", mfc=palette.PAPER, mec=palette.INK, mew=1.2, ms=6, linestyle="none"
        )
        edge = far(0.3)
        axes.set_xlim(min(0.0, x - throw) - edge, max(width, x + throw) + edge)
        axes.set_ylim(min(0.0, y - throw) - edge, max(height, y + throw) + edge)
        axes.set_aspect("equal")
        axes.set_xlabel(f"from west to east, {shown.unit('length')}")
        axes.set_ylabel(f"from south to north, {shown.unit('length')}")
        bar = figure.colorbar(filled, ax=axes, shrink=0.72, aspect=26, pad=0.03)
        bar.outline.set_linewidth(0.5)
        bar.set_label(f"depth in an hour, {shown.unit('water depth')}")
        words = (
            f"The plot from above with the sprinkler, its throw of "
            f"{shown.text(work.points.half.throw_m, 'length')}, and the depth of an hour."
        )
        return svg_of(figure, "plan", words)
