"""The pictures of the report page: the week, each night, and water given against water used."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from rillkeeper.display_units import clock_text, day_text
from rillkeeper.morning.nights_left import NightsLeft
from rillkeeper.morning.report.report import DAY_S, Report
from rillkeeper.morning.weather import Balance, DayBalance
from rillkeeper.pages import pictures
from rillkeeper.pages.course import Course, charge_of, course_of, run_spans
from rillkeeper.pages.pictures import (
    Picture,
    day_ticks,
    draw_marks,
    is_narrow,
    lane,
    limit_line,
    page_figure,
    picture_of,
    room,
)
from rillkeeper.runlog.nights import Night

_WEEK_STRIP_IN, _WEEK_LANE_IN = 0.22, 0.98
_DRIEST = "driest quarter of the plot (dashed: mean)"
_MEAN_LINE: dict[str, Any] = {"linewidth": 0.7, "linestyle": (0, (4, 3))}
_BADGE_IN = 0.42
"""Two badges closer than this would touch."""


Mornings = Sequence[tuple[int, NightsLeft]]


def week_chart(report: Report, mornings: Mornings, width_in: float) -> Picture:
    """Pressure, volts, charge and soil over all nights of the report; and what was predicted in
    the mornings, as `each_morning` has it."""
    nights = max(1, len(report.nights))
    soil = report.trace is not None
    lanes = 5 if soil else 4
    ratios = [_WEEK_STRIP_IN] + [_WEEK_LANE_IN] * lanes
    with page_figure(width_in, _WEEK_STRIP_IN + 1.38 * _WEEK_LANE_IN * lanes) as figure:
        rows = figure.subplots(lanes + 1, 1, sharex=True, height_ratios=ratios)
        room(figure, 0.41, 0.04, 0.04, 0.3, hspace=0.52 if is_narrow(figure) else 0.4)
        strip, axes = rows[0], list(rows[1:])
        course = course_of(report).between(0.0, nights * DAY_S)
        _pressure(axes[0], course, report)
        _volts(axes[1], course)
        _charge(axes[2], report, nights * DAY_S)
        _left(axes[3], report, mornings)
        if soil:
            _soil(axes[4], report)
        for each in axes:
            each.tick_params(axis="x", length=0)
            for night in range(nights + 1):
                each.axvline(night, color=pictures.RULE, linewidth=0.6, zorder=0.5)
        draw_marks(strip, axes, report.events, _BADGE_IN / width_in * nights * DAY_S, DAY_S)
        axes[-1].set_xlim(0.0, nights)
        day_ticks(axes[-1], [report.start_day + n for n in range(nights)], 0.5)
        return picture_of(figure, "week", _week_words(report))


def _pressure(axes: Axes, course: Course, report: Report) -> None:
    shown = report.shown
    lane(axes, f"Pressure at the pump's outlet, {shown.unit('pressure')}")
    t = course.t_s / DAY_S
    pressure = [shown.number(value, "pressure") for value in course.pressure_pa]
    axes.fill_between(t, pressure, color=pictures.WATER_FILL, linewidth=0)
    axes.plot(t, pressure, color=pictures.WATER, linewidth=0.9)
    highest = [value for value in pressure if value == value]
    limit_pa = report.settings.get("dead_head_pa")
    if limit_pa:
        limit = shown.number(limit_pa, "pressure")
        highest.append(limit)
        limit_line(axes, limit, "line shut above")
    axes.set_ylim(0.0, 1.15 * max([*highest, 0.1]))


def _volts(axes: Axes, course: Course) -> None:
    lane(axes, "Battery at the board, V")
    axes.plot(course.t_s / DAY_S, course.battery_v, color=pictures.VOLTS)
    axes.margins(y=0.12)


def _charge(axes: Axes, report: Report, end_s: float) -> None:
    lane(axes, "Charge left, Ah, as the board counts it")
    t_s, charge_ah = charge_of(report)
    inside = t_s <= end_s
    t = t_s[inside] / DAY_S
    axes.fill_between(t, charge_ah[inside], step="post", color=pictures.CHARGE_FILL, linewidth=0)
    axes.step(t, charge_ah[inside], where="post", color=pictures.CHARGE)
    axes.set_ylim(0.0, 1.18 * max([*charge_ah, 1.0]))
    reserve_mah = report.settings.get("reserve_mah")
    if reserve_mah:
        limit_line(axes, reserve_mah / 1000, "reserve", left=True)


def _left(axes: Axes, report: Report, mornings: Mornings) -> None:
    """The predictions of the mornings, each with its band, and the board's own count."""
    lane(axes, "Nights left, predicted at noon: middle, and 80 % range")
    highest = 1.0
    for night, (day, left) in zip(report.nights, mornings, strict=True):
        at = day + 1 - report.start_day
        if night.nights_tenths is not None:
            count = night.nights_tenths / 10.0
            axes.plot(
                at, count, marker="_", color=pictures.INK, markersize=8.0, clip_on=False, zorder=4
            )
            highest = max(highest, count)
        if left.middle is None or left.low is None or left.high is None:
            continue
        axes.plot([at, at], [left.low, left.high], color=pictures.CHARGE_FILL, linewidth=6.0)
        axes.plot(
            at, left.middle, marker="o", color=pictures.CHARGE, markersize=3.2, clip_on=False
        )
        highest = max(highest, left.high)
    axes.set_ylim(0.0, 1.18 * highest)
    axes.annotate(
        "dash: the board's own count",
        (1.0, 1.0),
        xycoords="axes fraction",
        xytext=(-2, 2),
        textcoords="offset points",
        ha="right",
        color=pictures.FAINT,
        fontsize=6.0,
    )


def _soil(axes: Axes, report: Report) -> None:
    shown = report.shown
    lane(axes, f"Water that the soil lacks, {shown.unit('water depth')}, 0 is full; {_DRIEST}")
    assert report.trace is not None
    lacks, mean = (
        [shown.number(mm * 1e-3, "water depth") for mm in course]
        for course in (report.trace.deficit_low_mm, report.trace.deficit_mm)
    )
    t = report.trace.t_s / DAY_S
    axes.fill_between(t, lacks, color=pictures.SOIL_FILL, linewidth=0)
    axes.plot(t, lacks, color=pictures.SOIL)
    axes.plot(t, mean, color=pictures.SOIL, **_MEAN_LINE)
    stress_mm = report.stress_mm
    deepest = max(lacks)
    if stress_mm is not None:
        stress = shown.number(stress_mm * 1e-3, "water depth")
        limit_line(axes, stress, "below this line the crop suffers", under=True)
        deepest = max(deepest, stress)
    axes.set_ylim(1.3 * deepest, 0.0)


def _week_words(report: Report) -> str:
    """What the lanes tell, lane by lane."""
    shown, told = report.shown, []
    pressed = [(night.pressure_pa, night) for night in report.nights if night.pressure_pa]
    loaded = [(night.battery_mv, night) for night in report.nights if night.battery_mv]
    charge = [night.left_mah for night in report.nights if night.left_mah is not None]
    if pressed:
        low, high = min(pressed, key=_first), max(pressed, key=_first)
        told.append(
            f"mean pressure between {shown.text(low[0], 'pressure')} ({day_text(low[1].day)}) and "
            f"{shown.text(high[0], 'pressure')} ({day_text(high[1].day)})"
        )
    if loaded:
        volts, night = min(loaded, key=_first)
        told.append(
            f"battery down to {shown.text(volts * 1e-3, 'voltage')} while pumping, on "
            f"{day_text(night.day)}"
        )
    if charge:
        least, last = (shown.text(mah * 3.6, "charge") for mah in (min(charge), charge[-1]))
        told.append(f"charge at noon never under {least}, at the end {last}")
    if report.left.middle is not None:
        told.append(f"nights left at the end {report.left.middle:.1f}")
    if report.truth and report.trace is not None:
        lacks = [night.deficit_low_mm for night in report.truth]
        most, last = (shown.text(mm * 1e-3, "water depth") for mm in (max(lacks), lacks[-1]))
        told.append(f"the driest quarter of the plot lacks at most {most}, at the end {last}")
    return f"The course of {report.dates}: {'; '.join(told) or 'nothing was read'}."


def _first(pair: tuple[float, Night]) -> float:
    return pair[0]


_NIGHT_WIDTH_IN, _NIGHT_HEIGHT_IN = 4.2, 2.35
_ROOM = 0.06
_STEPS_MIN = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240)
_CLOCK_TICKS_MAX = 6
_MINUTE_S = 60.0


def night_chart(report: Report, night: Night, course: Course) -> Picture | None:
    """The picture as SVG; nothing where the pump did not run."""
    spans = run_spans(night, report.start_day)
    if not spans:
        return None
    start_s, end_s = spans[0][0], max(end for _, end in spans)
    room_s = max(_ROOM * (end_s - start_s), 30.0)
    start_s, end_s = start_s - room_s, end_s + room_s
    part = course.between(start_s, end_s)
    events = [
        event
        for event in report.events_of(night)
        if event.t_s is not None and start_s <= event.t_s <= end_s
    ]
    with page_figure(_NIGHT_WIDTH_IN, _NIGHT_HEIGHT_IN) as figure:
        strip, top, bottom = figure.subplots(3, 1, sharex=True, height_ratios=[0.14, 1.0, 0.8])
        room(figure, 0.38, 0.04, 0.02, 0.2, hspace=0.42)
        for axes in (top, bottom):
            for left, right in spans:
                axes.axvspan(left / _MINUTE_S, right / _MINUTE_S, color=pictures.SHADE, zorder=0)
        _night_pressure(top, part, report)
        lane(bottom, "Battery at the board, V")
        bottom.plot(part.t_s / _MINUTE_S, part.battery_v, color=pictures.VOLTS, **_dots(part))
        bottom.margins(y=0.15)
        draw_marks(strip, [top, bottom], events, 0.1 * (end_s - start_s), _MINUTE_S)
        bottom.set_xlim(start_s / _MINUTE_S, end_s / _MINUTE_S)
        _clock_ticks(bottom, start_s, end_s)
        words = _night_words(report, night, (_clock(start_s), _clock(end_s)))
        return picture_of(figure, f"night-{night.day - report.start_day + 1}", words)


def _night_words(report: Report, night: Night, times: tuple[str, str]) -> str:
    told = [f"Night of {day_text(night.day)}, {times[0]} to {times[1]}: {report.happened(night)}"]
    if night.pressure_pa:
        told.append(f"mean pressure {report.shown.text(night.pressure_pa, 'pressure')}")
    if night.battery_mv:
        volts = report.shown.text(night.battery_mv * 1e-3, "voltage")
        told.append(f"battery down to {volts} while pumping")
    return "; ".join(told) + "."


def _night_pressure(axes: Axes, part: Course, report: Report) -> None:
    shown = report.shown
    lane(axes, f"Pressure at the pump's outlet, {shown.unit('pressure')}")
    pressure = [shown.number(value, "pressure") for value in part.pressure_pa]
    axes.plot(part.t_s / _MINUTE_S, pressure, color=pictures.WATER, **_dots(part))
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
    step_min = next((s for s in _STEPS_MIN if minutes / s <= _CLOCK_TICKS_MAX), _STEPS_MIN[-1])
    first = int(-(-start_s // (60 * step_min)))
    ticks = range(first * step_min, int(end_s // 60) + 1, step_min)
    axes.set_xticks(list(ticks))
    axes.set_xticklabels([_clock(60.0 * tick) for tick in ticks])


def _clock(t_s: float) -> str:
    return clock_text(int(t_s + DAY_S // 2) % DAY_S)


_BALANCE_HEIGHT_IN = 2.9
_BAR_WIDTH = 0.36


def balance_chart(report: Report, balance: Balance, width_in: float) -> Picture:
    """Given and rain against what crop and ground used, day by day."""
    with page_figure(width_in, _BALANCE_HEIGHT_IN) as figure:
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=[1.25, 1.0])
        above, between = (0.34, 0.56) if is_narrow(figure) else (0.2, 0.36)
        room(figure, 0.41, 0.04, above, 0.26, hspace=between)
        _bars(top, report, balance.days)
        _lacks(bottom, report, balance)
        count = len(balance.days)
        day_ticks(bottom, [one.day for one in balance.days])
        bottom.set_xlim(-0.6, count - 0.4)
        for axes in (top, bottom):
            axes.tick_params(axis="x", length=0)
        return picture_of(figure, "balance", _balance_words(report, balance))


def _bars(axes: Axes, report: Report, days: tuple[DayBalance, ...]) -> None:
    shown = report.shown
    lane(axes, f"Given and rain (left) against what crop and ground used (right), {_unit(report)}")

    def heights(values: list[float | None]) -> list[float]:
        return [shown.number((value or 0.0) * 1e-3, "water depth") for value in values]

    x = np.arange(len(days), dtype=float)
    given = heights([one.given_mm for one in days])
    rain = heights([one.rain_mm for one in days])
    used = heights([one.used_mm for one in days])
    left, right = x - _BAR_WIDTH / 2, x + _BAR_WIDTH / 2
    axes.bar(left, given, _BAR_WIDTH * 0.92, color=pictures.WATER, label="given")
    axes.bar(left, rain, _BAR_WIDTH * 0.92, bottom=given, color=pictures.DEPTHS[2], label="rain")
    axes.bar(right, used, _BAR_WIDTH * 0.92, color=pictures.SOIL, label="used")
    for place, one in enumerate(days):
        if one.used_mm is None:
            axes.text(right[place], 0.0, "?", ha="center", va="bottom", color=pictures.SOIL)
        if one.given_mm is None:
            axes.text(left[place], 0.0, "?", ha="center", va="bottom", color=pictures.WATER)
    axes.legend(loc="upper right", ncols=3, frameon=False, fontsize=6.0, borderaxespad=0.0)
    highest = max([*(g + r for g, r in zip(given, rain, strict=True)), *used, 1e-3])
    axes.set_ylim(0.0, 1.25 * highest)


def _lacks(axes: Axes, report: Report, balance: Balance) -> None:
    shown = report.shown
    lane(axes, f"Water that the soil lacks after the night, {_unit(report)}, 0 is full; {_DRIEST}")
    lacks, mean = (
        [float("nan") if mm is None else shown.number(mm * 1e-3, "water depth") for mm in course]
        for course in (
            [one.deficit_low_mm for one in balance.days],
            [one.deficit_mm for one in balance.days],
        )
    )
    stress = shown.number(balance.stress_mm * 1e-3, "water depth")
    axes.plot(lacks, color=pictures.SOIL, marker=".", markersize=4.0)
    axes.plot(mean, color=pictures.SOIL, **_MEAN_LINE)
    limit_line(axes, stress, "below this line the crop suffers", under=True)
    deepest = max([stress, *(value for value in lacks if value == value)])
    axes.set_ylim(1.35 * deepest, 0.0)


def _unit(report: Report) -> str:
    return report.shown.unit("water depth")


def _balance_words(report: Report, balance: Balance) -> str:
    shown = report.shown

    def total(values: list[float | None]) -> str:
        return shown.text(sum(value or 0.0 for value in values) * 1e-3, "water depth")

    known = [one for one in balance.days if one.used_mm is not None]
    words = (
        f"Water given against water used, {report.dates}: given "
        f"{total([one.given_mm for one in balance.days])}, rain "
        f"{total([one.rain_mm for one in balance.days])}; crop and ground used "
        f"{total([one.used_mm for one in known])} on the {len(known)} of {len(balance.days)} days "
        "of which it is known"
    )
    last = balance.days[-1].deficit_low_mm
    if last is not None:
        lacks = shown.text(last * 1e-3, "water depth")
        words += f". At the end the driest quarter of the plot lacks {lacks}"
    return words + "."
