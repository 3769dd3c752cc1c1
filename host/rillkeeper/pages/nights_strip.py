"""The strip of nights: wanted against given, rain, what stopped it, when the battery went home."""

import textwrap
from typing import Any

from matplotlib.axes import Axes

from rillkeeper.display_units import day_text
from rillkeeper.morning.report.report import Report
from rillkeeper.morning.report.spans import NightSpan, night_spans
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import Picture, day_ticks, lane, page_figure, picture_of, room
from rillkeeper.runlog import sentences
from rillkeeper.runlog.nights import Night

_BARS_IN, _RAIN_IN, _WORDS_IN, _SIGNS_IN = 0.95, 0.45, 0.42, 0.3
_AROUND_IN = 0.75
_BAR = 0.62
_WORDS_NIGHTS = 10
"""With more nights there is no room for words under them."""
_COLUMNS_MIN = 5
"""A single night is not as wide as the page."""
_LETTER_IN = 0.056
_SIGN_STYLE: dict[str, Any] = {
    "linestyle": "none",
    "clip_on": False,
    "markersize": 5.5,
    "zorder": 4,
}

KEY = (
    "Outline: what was wanted; filled: what was given. Square: the board stopped. Triangle: a "
    "warning. Disc: left out for rain. Upright line: the battery came back charged."
)


def nights_strip(report: Report, width_in: float) -> Picture:
    """A column a night."""
    nights = report.nights
    rain = any(report.rain_mm(night) for night in nights)
    worded = len(nights) <= _WORDS_NIGHTS and width_in == pictures.FULL_IN
    signs_in = _WORDS_IN if worded else _SIGNS_IN
    heights = [_BARS_IN, *([_RAIN_IN] if rain else []), signs_in]
    with page_figure(width_in, sum(heights) + _AROUND_IN + 0.25 * rain) as figure:
        rows = figure.subplots(len(heights), 1, sharex=True, height_ratios=heights)
        room(figure, 0.41, 0.04, 0.2, 0.24, hspace=0.5)
        _given(rows[0], report, numbers=worded)
        if rain:
            _rain(rows[1], report)
        _signs(rows[-1], report, worded, width_in)
        for place, night in enumerate(nights):
            if night.battery_put_on:
                for axes in rows:
                    axes.axvline(place - 0.5, color=pictures.CHARGE, linewidth=1.4, zorder=0.6)
        rows[-1].set_xlim(-0.5, max(len(nights), _COLUMNS_MIN) - 0.5)
        day_ticks(rows[-1], [night.day for night in nights])
        return picture_of(figure, "nights", strip_words(report))


def strip_words(report: Report) -> str:
    """What the strip says, night by night."""
    told = [f"{span.days}: {_told(report, span)}" for span in night_spans(report)]
    home = [day_text(night.day) for night in report.nights if night.battery_put_on]
    words = f"The nights, wanted against given: {'; '.join(told)}."
    if home:
        words += f" The battery came back charged before the night of {' and of '.join(home)}."
    return words


def _told(report: Report, span: NightSpan) -> str:
    words = report.happened(span.first).replace("; ", ", ")
    rain_mm = report.rain_mm(span.first)
    if rain_mm:
        words += f", {report.shown.text(rain_mm * 1e-3, 'water depth')} of rain"
    return words


def _given(axes: Axes, report: Report, *, numbers: bool) -> None:
    lane(axes, "Wanted and given, %" + (f"; figures: {report.shown.unit('volume')}" * numbers))
    for place, night in enumerate(report.nights):
        if night.run_s is None:
            axes.text(place, 4.0, "?", ha="center", va="bottom", color=pictures.FAINT)
            continue
        if night.share is not None:
            axes.bar(place, 100.0, _BAR, fill=False, ec=pictures.INK, lw=0.7)
            axes.bar(place, 100.0 * min(night.share, 1.0), _BAR, color=pictures.WATER)
        if numbers and night.given_ml:
            litres = report.shown.bare(night.given_ml * 1e-6, "volume")
            axes.annotate(
                litres,
                (place, 100.0),
                xytext=(0, 2),
                textcoords="offset points",
                ha="center",
                fontsize=6.5,
            )
    axes.set_ylim(0.0, 118.0)
    axes.set_yticks([0.0, 50.0, 100.0])


def _rain(axes: Axes, report: Report) -> None:
    lane(axes, f"Rain, {report.shown.unit('water depth')}")
    depths = [
        report.shown.number((report.rain_mm(night) or 0.0) * 1e-3, "water depth")
        for night in report.nights
    ]
    line: dict[str, Any] = {"color": pictures.WATER_FILL, "ec": pictures.WATER, "lw": 0.7}
    axes.bar(range(len(depths)), depths, _BAR, **line)
    axes.set_ylim(0.0, 1.2 * max([*depths, 1e-9]))


def _signs(axes: Axes, report: Report, worded: bool, width_in: float) -> None:
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([])
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    letters = int(width_in / max(_COLUMNS_MIN, len(report.nights)) / _LETTER_IN)
    for place, night in enumerate(report.nights):
        level = max((event.told.level for event in report.events_of(night)), default=0)
        if level == sentences.STOP:
            axes.plot(place, 1.0, "s", color=pictures.STOP, **_SIGN_STYLE)
        elif night.rained:
            axes.plot(place, 1.0, "o", color=pictures.WATER, **_SIGN_STYLE)
        elif level == sentences.WARNING:
            axes.plot(place, 1.0, "^", mfc="none", mec=pictures.WARNING, mew=1.3, **_SIGN_STYLE)
        if worded:
            words = textwrap.wrap(_why(report, night), letters)
            text = "\n".join(words[:3])
            axes.text(place, 0.68, text, ha="center", va="top", fontsize=6.0)


def _why(report: Report, night: Night) -> str:
    """What stopped it, else what was warned of, in the fewest words."""
    if night.run_s is None:
        return "no records"
    if night.rained:
        return "rain"
    events = sorted(report.events_of(night), key=lambda event: -event.told.level)
    return events[0].told.short if events and events[0].told.level > sentences.NOTE else ""
