"""Water given against water used: bars a night, and the balance that runs on under them."""

import numpy as np
from matplotlib.axes import Axes

from rillkeeper.display_units import day_text
from rillkeeper.morning.report.report import Report
from rillkeeper.morning.weather import Balance, DayBalance
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import FULL_IN, lane, picture, svg_of
from rillkeeper.pages.report.week_chart import limit_line

_HEIGHT_IN = 2.9
_WIDTH = 0.36
_TICKS_MAX = 14


def balance_chart(report: Report, balance: Balance) -> str:
    """The picture as SVG."""
    with picture(FULL_IN, _HEIGHT_IN) as figure:
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=[1.25, 1.0])
        figure.subplots_adjust(left=0.055, right=0.995, top=0.93, bottom=0.09, hspace=0.36)
        _bars(top, report, balance.days)
        _lacks(bottom, report, balance)
        count = len(balance.days)
        every = -(-count // _TICKS_MAX)
        bottom.set_xticks(range(0, count, every))
        bottom.set_xticklabels([day_text(one.day) for one in balance.days[::every]])
        bottom.set_xlim(-0.6, count - 0.4)
        for axes in (top, bottom):
            axes.tick_params(axis="x", length=0)
        return svg_of(figure, "balance", _words(report, balance))


def _bars(axes: Axes, report: Report, days: tuple[DayBalance, ...]) -> None:
    shown = report.shown
    lane(axes, f"Given and rain (left) against what the crop used (right), {_unit(report)}")

    def heights(values: list[float | None]) -> list[float]:
        return [shown.number((value or 0.0) * 1e-3, "water depth") for value in values]

    x = np.arange(len(days), dtype=float)
    given = heights([one.given_mm for one in days])
    rain = heights([one.rain_mm for one in days])
    used = heights([one.used_mm for one in days])
    left, right = x - _WIDTH / 2, x + _WIDTH / 2
    axes.bar(left, given, _WIDTH * 0.92, color=palette.WATER, label="given")
    axes.bar(left, rain, _WIDTH * 0.92, bottom=given, color=palette.DEPTHS[2], label="rain")
    axes.bar(right, used, _WIDTH * 0.92, color=palette.SOIL, label="used")
    for place, one in enumerate(days):
        if one.used_mm is None:
            axes.text(right[place], 0.0, "?", ha="center", va="bottom", color=palette.SOIL)
        if one.given_mm is None:
            axes.text(left[place], 0.0, "?", ha="center", va="bottom", color=palette.WATER)
    axes.legend(loc="upper right", ncols=3, frameon=False, fontsize=6.0, borderaxespad=0.0)
    highest = max([*(g + r for g, r in zip(given, rain, strict=True)), *used, 1e-3])
    axes.set_ylim(0.0, 1.25 * highest)


def _lacks(axes: Axes, report: Report, balance: Balance) -> None:
    shown = report.shown
    lane(axes, f"Water that the soil lacks when the night is over, {_unit(report)}, 0 is full")
    lacks = [
        float("nan")
        if one.deficit_mm is None
        else shown.number(one.deficit_mm * 1e-3, "water depth")
        for one in balance.days
    ]
    stress = shown.number(balance.stress_mm * 1e-3, "water depth")
    axes.plot(lacks, color=palette.SOIL, marker=".", markersize=4.0)
    limit_line(axes, stress, "below this line the crop suffers", under=True)
    deepest = max([stress, *(value for value in lacks if value == value)])
    axes.set_ylim(1.35 * deepest, 0.0)


def _unit(report: Report) -> str:
    return report.shown.unit("water depth")


def _words(report: Report, balance: Balance) -> str:
    known = len([one for one in balance.days if one.used_mm is not None])
    return (
        f"Water given and rain against what the crop used, {report.dates}; the crop's use is "
        f"known on {known} of {len(balance.days)} days."
    )
