"""The week at a glance: pressure, volts, charge, nights left and soil water over one time."""

from matplotlib.axes import Axes

from rillkeeper.display_units import day_text
from rillkeeper.morning.nightsleft import each_morning
from rillkeeper.morning.report.report import DAY_S, Report
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import FULL_IN, lane, picture, svg_of
from rillkeeper.pages.marks import draw_marks
from rillkeeper.pages.report.course import Course, charge_of, course_of

_STRIP_IN, _LANE_IN = 0.22, 0.98
_MARK_S_PER_NIGHT = 0.3 * DAY_S / 7
"""Two marks closer than this, for each night of the chart, would touch."""


def week_chart(report: Report) -> str:
    """The picture as SVG."""
    nights = max(1, len(report.nights))
    soil = report.trace is not None
    lanes = 5 if soil else 4
    ratios = [_STRIP_IN] + [_LANE_IN] * lanes
    with picture(FULL_IN, _STRIP_IN + 1.38 * _LANE_IN * lanes) as figure:
        rows = figure.subplots(lanes + 1, 1, sharex=True, height_ratios=ratios)
        figure.subplots_adjust(left=0.055, right=0.995, top=0.995, bottom=0.05, hspace=0.4)
        strip, axes = rows[0], list(rows[1:])
        course = course_of(report).between(0.0, nights * DAY_S)
        _pressure(axes[0], course, report)
        _volts(axes[1], course)
        _charge(axes[2], report, nights * DAY_S)
        _left(axes[3], report)
        if soil:
            _soil(axes[4], report)
        for each in axes:
            each.tick_params(axis="x", length=0)
            for night in range(nights + 1):
                each.axvline(night, color=palette.RULE, linewidth=0.6, zorder=0.5)
        draw_marks(strip, axes, report.events, _MARK_S_PER_NIGHT * nights, DAY_S)
        axes[-1].set_xlim(0.0, nights)
        axes[-1].set_xticks([night + 0.5 for night in range(nights)])
        axes[-1].set_xticklabels([day_text(report.start_day + n) for n in range(nights)])
        return svg_of(figure, "week", _words(report, soil))


def _pressure(axes: Axes, course: Course, report: Report) -> None:
    shown = report.shown
    lane(axes, f"Pressure at the pump's outlet, {shown.unit('pressure')}")
    t = course.t_s / DAY_S
    pressure = [shown.number(value, "pressure") for value in course.pressure_pa]
    axes.fill_between(t, pressure, color=palette.WATER_FILL, linewidth=0)
    axes.plot(t, pressure, color=palette.WATER, linewidth=0.9)
    highest = [value for value in pressure if value == value]
    limit_pa = report.settings.get("dead_head_pa")
    if limit_pa:
        limit = shown.number(limit_pa, "pressure")
        highest.append(limit)
        limit_line(axes, limit, "line shut above")
    axes.set_ylim(0.0, 1.15 * max([*highest, 0.1]))


def _volts(axes: Axes, course: Course) -> None:
    lane(axes, "Battery at the board, V")
    axes.plot(course.t_s / DAY_S, course.battery_v, color=palette.VOLTS)
    axes.margins(y=0.12)


def _charge(axes: Axes, report: Report, end_s: float) -> None:
    lane(axes, "Charge left, Ah, as the board counts it")
    t_s, charge_ah = charge_of(report)
    inside = t_s <= end_s
    t = t_s[inside] / DAY_S
    axes.fill_between(t, charge_ah[inside], step="post", color=palette.CHARGE_FILL, linewidth=0)
    axes.step(t, charge_ah[inside], where="post", color=palette.CHARGE)
    axes.set_ylim(0.0, 1.18 * max([*charge_ah, 1.0]))
    reserve_mah = report.settings.get("reserve_mah")
    if reserve_mah:
        limit_line(axes, reserve_mah / 1000, "reserve", left=True)


def _left(axes: Axes, report: Report) -> None:
    """The predictions of the mornings, each with its band, and the board's own count."""
    lane(axes, "Nights left, predicted at noon: middle, and the band of eight times in ten")
    found = each_morning(report.nights, report.site, report.settings)
    highest = 1.0
    for night, (day, left) in zip(report.nights, found, strict=True):
        at = day + 1 - report.start_day
        if night.nights_tenths is not None:
            count = night.nights_tenths / 10.0
            axes.plot(
                at, count, marker="_", color=palette.INK, markersize=8.0, clip_on=False, zorder=4
            )
            highest = max(highest, count)
        if left.middle is None or left.low is None or left.high is None:
            continue
        axes.plot([at, at], [left.low, left.high], color=palette.CHARGE_FILL, linewidth=6.0)
        axes.plot(at, left.middle, marker="o", color=palette.CHARGE, markersize=3.2, clip_on=False)
        highest = max(highest, left.high)
    axes.set_ylim(0.0, 1.18 * highest)
    axes.annotate(
        "dash: the board's own count",
        (1.0, 1.0),
        xycoords="axes fraction",
        xytext=(-2, 2),
        textcoords="offset points",
        ha="right",
        color=palette.FAINT,
        fontsize=6.0,
    )


def _soil(axes: Axes, report: Report) -> None:
    shown = report.shown
    lane(axes, f"Water that the soil lacks, {shown.unit('water depth')}, 0 is full")
    assert report.trace is not None
    lacks = [shown.number(mm * 1e-3, "water depth") for mm in report.trace.deficit_mm]
    t = report.trace.t_s / DAY_S
    axes.fill_between(t, lacks, color=palette.SOIL_FILL, linewidth=0)
    axes.plot(t, lacks, color=palette.SOIL)
    stress_mm = report.stress_mm
    deepest = max(lacks)
    if stress_mm is not None:
        stress = shown.number(stress_mm * 1e-3, "water depth")
        limit_line(axes, stress, "below this line the crop suffers", under=True)
        deepest = max(deepest, stress)
    axes.set_ylim(1.3 * deepest, 0.0)


def limit_line(
    axes: Axes, value: float, words: str, *, under: bool = False, left: bool = False
) -> None:
    """A dashed line at a limit, with its name over it at the right, or elsewhere."""
    axes.axhline(value, color=palette.STOP, linewidth=0.7, linestyle=(0, (4, 2)), zorder=1.2)
    axes.annotate(
        words,
        (0.0 if left else 1.0, value),
        xycoords=("axes fraction", "data"),
        xytext=(2 if left else -2, -2 if under else 2),
        textcoords="offset points",
        ha="left" if left else "right",
        va="top" if under else "bottom",
        color=palette.STOP,
        fontsize=6.0,
        bbox={"facecolor": palette.PAPER, "edgecolor": "none", "alpha": 0.75, "pad": 0.6},
    )


def _words(report: Report, soil: bool) -> str:
    lanes = "pressure, battery voltage, charge left, nights left"
    lanes += " and the water that the soil lacks" if soil else ""
    return f"The week at a glance, {report.dates}: {lanes}, with the events marked by number."
