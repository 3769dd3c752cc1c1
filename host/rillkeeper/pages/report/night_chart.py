"""Pressure and volts over the runs of one night, with the limits and the events."""

from typing import Any

from matplotlib.axes import Axes

from rillkeeper.display_units import clock_text, day_text
from rillkeeper.morning.report.report import DAY_S, Report
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import lane, picture, svg_of
from rillkeeper.pages.marks import draw_marks
from rillkeeper.pages.report.course import Course, run_spans
from rillkeeper.pages.report.week_chart import limit_line
from rillkeeper.runlog.nights import Night

WIDTH_IN, HEIGHT_IN = 4.6, 2.35
_ROOM = 0.06
_STEPS_MIN = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240)
_TICKS_MAX = 7
_MINUTE_S = 60.0


def night_chart(report: Report, night: Night, course: Course) -> str:
    """The picture as SVG; nothing where the pump did not run."""
    spans = run_spans(night, report.start_day)
    if not spans:
        return ""
    start_s, end_s = spans[0][0], max(end for _, end in spans)
    room_s = max(_ROOM * (end_s - start_s), 30.0)
    start_s, end_s = start_s - room_s, end_s + room_s
    part = course.between(start_s, end_s)
    events = [
        event
        for event in report.events_of(night)
        if event.t_s is not None and start_s <= event.t_s <= end_s
    ]
    with picture(WIDTH_IN, HEIGHT_IN) as figure:
        strip, top, bottom = figure.subplots(3, 1, sharex=True, height_ratios=[0.14, 1.0, 0.8])
        figure.subplots_adjust(left=0.085, right=0.99, top=0.995, bottom=0.085, hspace=0.42)
        for axes in (top, bottom):
            for left, right in spans:
                axes.axvspan(left / _MINUTE_S, right / _MINUTE_S, color=palette.SHADE, zorder=0)
        _pressure(top, part, report)
        lane(bottom, "Battery at the board, V")
        bottom.plot(part.t_s / _MINUTE_S, part.battery_v, color=palette.VOLTS, **_dots(part))
        bottom.margins(y=0.15)
        draw_marks(strip, [top, bottom], events, 0.07 * (end_s - start_s), _MINUTE_S)
        bottom.set_xlim(start_s / _MINUTE_S, end_s / _MINUTE_S)
        _clock_ticks(bottom, start_s, end_s)
        words = (
            f"Night of {day_text(night.day)}: pressure and battery voltage from "
            f"{_clock(start_s)} to {_clock(end_s)}: {report.happened(night)}."
        )
        return svg_of(figure, f"night-{night.day - report.start_day + 1}", words)


def _pressure(axes: Axes, part: Course, report: Report) -> None:
    shown = report.shown
    lane(axes, f"Pressure at the pump's outlet, {shown.unit('pressure')}")
    pressure = [shown.number(value, "pressure") for value in part.pressure_pa]
    axes.plot(part.t_s / _MINUTE_S, pressure, color=palette.WATER, **_dots(part))
    limits = [(key, words) for key, words in _LIMITS if report.settings.get(key)]
    for key, words in limits:
        limit_line(axes, shown.number(report.settings[key], "pressure"), words)
    highest = [value for value in pressure if value == value]
    highest += [shown.number(report.settings[key], "pressure") for key, _ in limits]
    axes.set_ylim(0.0, 1.15 * max([*highest, 0.1]))


_LIMITS = (("dead_head_pa", "line shut above"), ("dry_pa", "dry below"))


def _dots(part: Course) -> dict[str, Any]:
    """A log gives a mean a minute: show where the points are."""
    return {"marker": ".", "markersize": 2.5} if part.measured else {}


def _clock_ticks(axes: Axes, start_s: float, end_s: float) -> None:
    minutes = (end_s - start_s) / 60.0
    step_min = next((s for s in _STEPS_MIN if minutes / s <= _TICKS_MAX), _STEPS_MIN[-1])
    first = int(-(-start_s // (60 * step_min)))
    ticks = range(first * step_min, int(end_s // 60) + 1, step_min)
    axes.set_xticks(list(ticks))
    axes.set_xticklabels([_clock(60.0 * tick) for tick in ticks])


def _clock(t_s: float) -> str:
    return clock_text(int(t_s + DAY_S // 2) % DAY_S)
