"""What every plan of a plot shares: its edge, sprinkler and throw, axes, and scale of depth."""

from typing import Any

from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle, Wedge

from rillkeeper.display_units import Shown
from rillkeeper.pages import palette
from rillsim.site import Site


def draw_frame(
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
    axes.add_patch(Rectangle((0, 0), width, height, fill=False, ec=palette.INK, lw=1.0))
    line: dict[str, Any] = {"fill": False, "ec": palette.INK, "lw": 0.8, "ls": (0, (5, 3))}
    if throw > 0.0 and site.sprinkler.arc_deg < 360.0:
        middle, half = 90.0 - site.sprinkler.facing_deg, site.sprinkler.arc_deg / 2.0
        axes.add_patch(Wedge((x, y), throw, middle - half, middle + half, **line))
    elif throw > 0.0:
        axes.add_patch(Circle((x, y), throw, **line))
    axes.plot([x], [y], "o", mfc=palette.PAPER, mec=palette.INK, mew=1.2, ms=6, linestyle="none")
    axes.plot([x], [y], marker=".", color=palette.INK, markersize=3)
    edge = far(0.3)
    axes.set_xlim(min(0.0, x - throw) - edge, max(width, x + throw) + edge)
    axes.set_ylim(min(0.0, y - throw) - edge, max(height, y + throw) + edge)
    axes.set_aspect("equal")
    axes.set_xlabel(f"from west to east, {shown.unit('length')}")
    axes.set_ylabel(f"from south to north, {shown.unit('length')}")
    bar = figure.colorbar(filled, ax=axes, shrink=0.72, aspect=26, pad=0.03)
    bar.outline.set_linewidth(0.5)
    bar.set_label(f"{depth_label}, {shown.unit('water depth')}")
