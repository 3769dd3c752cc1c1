"""The picture of pump curve against line curve."""

from matplotlib.axes import Axes

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.curves import Curves, curves_of
from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import FULL_IN, picture, svg_of

HEIGHT_IN = 3.3
_DASHES = {"full": "-", "half used": (0, (6, 2)), "used": (0, (2, 2))}


def curves(work: Workings, shown: Shown) -> str:
    """The picture as SVG."""
    found = curves_of(WorkingSite(work.site))
    with picture(FULL_IN, HEIGHT_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.075, right=0.985, top=0.97, bottom=0.12)
        axes.grid(True)
        axes.set_axisbelow(True)
        flow = [shown.number(float(value), "flow") for value in found.line_flow_m3_s]
        rise = [shown.number(float(value), "pressure") for value in found.line_rise_pa]
        axes.plot(flow, rise, color=palette.WATER, lw=1.6)
        _pumps(axes, found, shown)
        most = shown.number(found.rating_pa, "pressure") * 1.12
        axes.set_xlim(0.0, flow[-1])
        axes.set_ylim(min(0.0, min(rise)), most)
        axes.set_xlabel(f"flow, {shown.unit('flow')}")
        _limits(axes, found, shown, most)
        inside = [place for place, value in enumerate(rise) if value < 0.8 * most]
        place = inside[-1] if inside else 0
        axes.annotate(
            "lines and nozzle",
            (flow[place], rise[place]),
            xytext=(-6, 4),
            textcoords="offset points",
            ha="right",
            color=palette.WATER,
        )
        axes.set_ylabel(f"pressure that the pump adds, {shown.unit('pressure')}")
        point = work.points.half
        words = (
            "Pump curves for a full, half used and used battery against the curve of the lines; "
            f"they cross at {shown.text(point.flow_m3_s, 'flow')} and "
            f"{shown.text(point.pump_pa - point.inlet_pa, 'pressure')}."
        )
        return svg_of(figure, "curves", words)


def _pumps(axes: Axes, found: Curves, shown: Shown) -> None:
    for pump in found.pumps:
        flow = [shown.number(float(value), "flow") for value in pump.flow_m3_s]
        rise = [shown.number(float(value), "pressure") for value in pump.rise_pa]
        axes.plot(
            flow,
            rise,
            color=palette.INK,
            ls=_DASHES[pump.name],
            label=f"pump, battery {pump.name}",
        )
        if pump.at[0] > 0.0:
            at = shown.number(pump.at[0], "flow"), shown.number(pump.at[1], "pressure")
            axes.plot(*at, "o", ms=5, mfc=palette.PAPER, mec=palette.INK, mew=1.2, zorder=4)
    axes.legend(
        loc="upper left",
        bbox_to_anchor=(0.0, 0.86),
        frameon=True,
        framealpha=1.0,
        edgecolor=palette.PAPER,
        handlelength=3.2,
    )


def _limits(axes: Axes, found: Curves, shown: Shown, most: float) -> None:
    """The pump's rating across, and the suction's limit down."""
    rating = shown.number(found.rating_pa, "pressure")
    axes.axhline(rating, color=palette.STOP, lw=0.9)
    axes.annotate(
        "rating of the pump",
        (0.0, rating),
        xytext=(4, 3),
        textcoords="offset points",
        color=palette.STOP,
    )
    limit = shown.number(found.suction_limit_m3_s, "flow")
    right = axes.get_xlim()[1]
    if limit < right:
        axes.axvspan(limit, right, color=palette.SOIL_FILL, zorder=0)
        axes.axvline(limit, color=palette.WARNING, lw=1.0)
        axes.annotate(
            "NPSH limit",
            (limit, 0.945 * most),
            xytext=(4 if limit < 0.8 * right else -4, 0),
            textcoords="offset points",
            ha="left" if limit < 0.8 * right else "right",
            color=palette.WARNING,
        )
    else:  # Said below the axis, where no curve runs.
        where = shown.text(found.suction_limit_m3_s, "flow")
        flow = axes.get_xlabel()
        axes.set_xlabel(f"{flow}; the NPSH limit, at {where}, is to the right of here")
