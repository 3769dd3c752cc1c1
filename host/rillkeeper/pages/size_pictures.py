"""The pictures of a sizing: pump against lines, the two staircases, nights on a charge."""

from matplotlib.axes import Axes

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.curves import Curves, curves_of
from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import Picture, is_narrow, page_figure, picture_of, room, wrapped

_CURVES_HEIGHT_IN = 3.3
_DASHES = {"full": "-", "half used": (0, (6, 2)), "used": (0, (2, 2))}


def curves(work: Workings, shown: Shown, width_in: float) -> Picture:
    """Pump curves against the curve of the lines."""
    found = curves_of(WorkingSite(work.site))
    with page_figure(width_in, _CURVES_HEIGHT_IN) as figure:
        axes = figure.subplots()
        room(figure, 0.5, 0.11, 0.1, 0.55 if is_narrow(figure) else 0.4)
        axes.grid(True)
        axes.set_axisbelow(True)
        flow = [shown.number(float(value), "flow") for value in found.line_flow_m3_s]
        rise = [shown.number(float(value), "pressure") for value in found.line_rise_pa]
        axes.plot(flow, rise, color=pictures.WATER, lw=1.6)
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
            color=pictures.WATER,
        )
        axes.set_ylabel(f"pressure that the pump adds, {shown.unit('pressure')}")
        point = work.points.half
        words = (
            "Pump curves for a full, half used and used battery against the curve of the lines; "
            f"they cross at {shown.text(point.flow_m3_s, 'flow')} and "
            f"{shown.text(point.pump_pa - point.inlet_pa, 'pressure')}."
        )
        return picture_of(figure, "curves", words)


def _pumps(axes: Axes, found: Curves, shown: Shown) -> None:
    for pump in found.pumps:
        flow = [shown.number(float(value), "flow") for value in pump.flow_m3_s]
        rise = [shown.number(float(value), "pressure") for value in pump.rise_pa]
        axes.plot(
            flow,
            rise,
            color=pictures.INK,
            ls=_DASHES[pump.name],
            label=f"pump, battery {pump.name}",
        )
        if pump.at[0] > 0.0:
            at = shown.number(pump.at[0], "flow"), shown.number(pump.at[1], "pressure")
            axes.plot(*at, "o", ms=5, mfc=pictures.PAPER, mec=pictures.INK, mew=1.2, zorder=4)
    axes.legend(
        loc="upper left",
        bbox_to_anchor=(0.0, 0.86),
        frameon=True,
        framealpha=1.0,
        edgecolor=pictures.PAPER,
        handlelength=3.2,
    )


def _limits(axes: Axes, found: Curves, shown: Shown, most: float) -> None:
    """The pump's rating across, and the suction's limit down."""
    rating = shown.number(found.rating_pa, "pressure")
    axes.axhline(rating, color=pictures.STOP, lw=0.9)
    axes.annotate(
        "rating of the pump",
        (0.0, rating),
        xytext=(4, 3),
        textcoords="offset points",
        color=pictures.STOP,
    )
    limit = shown.number(found.suction_limit_m3_s, "flow")
    right = axes.get_xlim()[1]
    if limit < right:
        axes.axvspan(limit, right, color=pictures.SOIL_FILL, zorder=0)
        axes.axvline(limit, color=pictures.WARNING, lw=1.0)
        axes.annotate(
            "NPSH limit",
            (limit, 0.945 * most),
            xytext=(4 if limit < 0.8 * right else -4, 0),
            textcoords="offset points",
            ha="left" if limit < 0.8 * right else "right",
            color=pictures.WARNING,
        )
    else:  # Said below the axis, where no curve runs.
        where = shown.text(found.suction_limit_m3_s, "flow")
        flow = axes.get_xlabel()
        told = f"{flow}; the NPSH limit, at {where}, is to the right of here"
        axes.set_xlabel(wrapped(axes, told))


_STAIRS_HEIGHT_IN = 2.75
_LABEL_DEG, _STEEP_DEG = 22.0, 55.0


def head_stairs(work: Workings, shown: Shown, width_in: float) -> Picture:
    """Metres or feet of water, step by step."""
    unit = shown.unit("length")
    steps = work.heads.steps
    after = [shown.number(step.after_m, "length") for step in steps]
    with page_figure(width_in, _STAIRS_HEIGHT_IN) as figure:
        axes = figure.subplots()
        room(figure, 0.5, 0.11, 0.11, 0.95 if is_narrow(figure) else 0.69)
        before = 0.0
        for place, (step, level) in enumerate(zip(steps, after, strict=True)):
            colour = pictures.CHARGE_FILL if step.gain_m > 0.0 else pictures.WATER_FILL
            _bar(axes, place, before, level, colour)
            text = f"{shown.number(step.gain_m, 'length'):+.1f}"
            _label(axes, place, max(before, level), text)
            before = level
        axes.axhline(0.0, color=pictures.FAINT, lw=0.6)
        _dress(axes, [step.name for step in steps], f"pressure head, {unit} of water")
        low, high = min([0.0, *after]), max(after)
        axes.set_ylim(low - 0.08 * (high - low), high + 0.12 * (high - low))
        words = (
            "Staircase of head: " + "; ".join(f"{s.name} {s.gain_m:+.2f} m" for s in steps) + "."
        )
        return picture_of(figure, "heads", words)


def volt_stairs(work: Workings, width_in: float) -> Picture:
    """Volts loaded, with the idle voltage above that hides the loss."""
    found = work.volts
    names = ["battery at rest", *(step.name for step in found.steps)]
    levels = [found.rest_v, *(step.loaded_v for step in found.steps)]
    with page_figure(width_in, _STAIRS_HEIGHT_IN) as figure:
        axes = figure.subplots()
        room(figure, 0.5, 0.11, 0.11, 0.95 if is_narrow(figure) else 0.69)
        axes.step(range(len(levels)), levels, where="mid", color=pictures.VOLTS, lw=1.8)
        axes.plot(
            [-0.5, len(levels) - 0.5],
            [found.rest_v, found.rest_v],
            color=pictures.FAINT,
            ls=(0, (4, 3)),
        )
        span = max(found.rest_v - levels[-1], 0.2)
        for place, (level, step) in enumerate(zip(levels[1:], found.steps, strict=True), 1):
            axes.annotate(
                f"-{step.drop_v:.2f}",
                (place, level),
                xytext=(0, -9),
                textcoords="offset points",
                ha="center",
                color=pictures.VOLTS,
            )
        axes.annotate(
            "pump off: a meter reads this everywhere",
            (len(levels) - 0.5, found.rest_v),
            xytext=(0, 3),
            textcoords="offset points",
            ha="right",
            color=pictures.FAINT,
        )
        _dress(axes, names, "V")
        axes.set_ylim(levels[-1] - 0.25 * span, found.rest_v + 0.2 * span)
        words = (
            f"Staircase of volts from {found.rest_v:.2f} V at rest to {found.motor_v:.2f} V "
            "at the motor while the pump runs; with the pump off nothing is lost."
        )
        return picture_of(figure, "volts", words)


def _bar(axes: Axes, place: int, before: float, after: float, colour: str) -> None:
    axes.bar(
        place, after - before, bottom=before, width=0.62, color=colour, ec=pictures.INK, lw=0.7
    )
    axes.plot([place + 0.31, place + 0.69], [after, after], color=pictures.INK, lw=0.6)


def _label(axes: Axes, place: int, top: float, text: str) -> None:
    axes.annotate(text, (place, top), xytext=(0, 2), textcoords="offset points", ha="center")


def _dress(axes: Axes, names: list[str], label: str) -> None:
    axes.grid(axis="y")
    axes.set_axisbelow(True)
    steep = _STEEP_DEG if pictures.picture_in(axes) < pictures.FULL_IN else _LABEL_DEG
    axes.set_xticks(range(len(names)), names, rotation=steep, ha="right")
    axes.set_xlim(-0.6, len(names) - 0.4)
    axes.set_ylabel(label)


ROW_IN = 0.25
AROUND_IN = 0.6
"""For a bar, and for the axis and the room above."""


def charge(work: Workings, shown: Shown, width_in: float) -> Picture:
    """Nights on a charge, a bar a case."""
    found = work.nights
    names = [
        f"{case.name}, {shown.text(case.temperature_c, 'temperature')}" for case in found.cases
    ]
    nights = [case.nights for case in found.cases]
    height_in = AROUND_IN + ROW_IN * len(nights)
    with page_figure(width_in, height_in) as figure:
        axes = figure.subplots()
        room(figure, 1.74, 0.2, 0.22, 0.37)
        places = range(len(names))
        fills = [pictures.CHARGE, *([pictures.CHARGE_FILL] * (len(names) - 1))]
        axes.barh(places, nights, height=0.62, color=fills, ec=pictures.INK, lw=0.7)
        for place, value in zip(places, nights, strict=True):
            axes.annotate(
                f"{value:.1f}",
                (value, place),
                xytext=(4, 0),
                textcoords="offset points",
                va="center",
                bbox={"boxstyle": "square,pad=0.1", "fc": pictures.PAPER, "ec": "none"},
                zorder=4,
            )
        axes.axvline(found.wanted, color=pictures.STOP, lw=1.0)
        axes.annotate(
            "wanted",
            (found.wanted, -0.5),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            color=pictures.STOP,
        )
        axes.set_yticks(places, names)
        axes.invert_yaxis()
        axes.set_xlim(0.0, 1.12 * max([*nights, float(found.wanted)]))
        axes.set_xlabel(f"nights, {100.0 * found.depth:.0f} % of the charge used")
        axes.grid(axis="x")
        axes.set_axisbelow(True)
        told = "; ".join(f"{n}: {v:.1f}" for n, v in zip(names, nights, strict=True))
        return picture_of(figure, "charge", f"Nights on a charge, {found.wanted} wanted: {told}.")
