"""The pictures of what was learned: how sure each input is, and how the readings agree."""

import numpy as np
from matplotlib.axes import Axes

from rillkeeper.display_units import Shown
from rillkeeper.inquiry.learn.fit import Floats
from rillkeeper.inquiry.learn.fit_site import LearnedSite
from rillkeeper.inquiry.learn.model import Quantity
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import Picture, is_narrow, lane, page_figure, picture_of, room

_ROW_IN = 0.27
_LANE_IN = 1.45
_RANGE = 2.6
"""Prior deviations to either side that the picture shows."""


def spread_chart(learned: LearnedSite, width_in: float) -> Picture:
    """Each input as a bar over what was expected of it, both in expected deviations."""
    inputs = learned.inputs
    with page_figure(width_in, 0.55 + _ROW_IN * len(inputs)) as figure:
        axes = figure.subplots()
        room(figure, 1.9 if is_narrow(figure) else 2.2, 0.11, 0.5, 0.26)
        lane(axes, "Away from the site file, in expected deviations")
        axes.grid(axis="x")
        axes.grid(visible=False, axis="y")
        for place, one in enumerate(inputs):
            middle = one.about.z_of(one.value)
            colour = pictures.WATER if one.told else pictures.FAINT
            axes.barh(place, 2.0, left=-1.0, height=0.62, color=pictures.WATER_FILL, linewidth=0)
            axes.barh(place, 2.0 * one.share, left=middle - one.share, height=0.26, color=colour)
            axes.plot(middle, place, marker="|", color=pictures.PAPER, markersize=5.0)
        furthest = max(abs(one.about.z_of(one.value)) + one.share for one in inputs)
        axes.axvline(0.0, color=pictures.INK, linewidth=0.7, zorder=0.5)
        axes.set_xlim(-max(_RANGE, furthest), max(_RANGE, furthest))
        axes.set_ylim(len(inputs) - 0.4, -0.6)
        axes.set_yticks(range(len(inputs)), [one.about.name for one in inputs])
        words = "How far each input lies from the site file, and how sure that is: " + "; ".join(
            f"{one.about.name} {one.about.z_of(one.value):+.1f} +- {one.share:.1f}"
            for one in inputs
        )
        return picture_of(figure, "learned", words)


def agreement_chart(learned: LearnedSite, width_in: float) -> Picture:
    """Readings in the order in which they were made, with both predictions."""
    shown = Shown(learned.site.units)
    lanes = [
        (
            {Quantity.PRESSURE_PA},
            f"Pressure at the pump's outlet, {shown.unit('pressure')}",
            "pressure",
        ),
        ({Quantity.LOADED_V}, "Battery at the board while pumping, V", "voltage"),
        ({Quantity.REST_V}, "Battery at rest, V", "voltage"),
    ]
    there = {reading.quantity for reading in learned.model.readings}
    lanes = [one for one in lanes if one[0] & there]
    with page_figure(width_in, 0.45 + _LANE_IN * len(lanes)) as figure:
        rows = figure.subplots(len(lanes), 1, squeeze=False)[:, 0]
        room(figure, 0.41, 0.06, 0.3, 0.34, hspace=0.5)
        for axes, (wanted, title, dimension) in zip(rows, lanes, strict=True):
            _lane(axes, learned, wanted, dimension, shown)
            lane(axes, title)
        rows[-1].set_xlabel("night", labelpad=1.0)
        words = "Readings beside what the site file and the learned site predict, mean distance: "
        words += "; ".join(_apart(learned, *one, shown) for one in lanes) + "."
        return picture_of(figure, "agreement", words)


def _apart(
    learned: LearnedSite, wanted: set[Quantity], title: str, dimension: str, shown: Shown
) -> str:
    """How far off the readings both predictions are."""
    readings = learned.model.readings
    places = [n for n, reading in enumerate(readings) if reading.quantity in wanted]
    recorded = np.array([readings[n].value for n in places])
    before, after = (
        shown.text(float(np.abs(numbers[places] - recorded).mean()), dimension)
        for numbers in (learned.before, learned.after)
    )
    name = title.partition(",")[0][0].lower() + title.partition(",")[0][1:]
    return f"{name}, by the site file {before}, as learned {after}"


def _lane(
    axes: Axes, learned: LearnedSite, wanted: set[Quantity], dimension: str, shown: Shown
) -> None:
    model = learned.model
    places = [n for n, reading in enumerate(model.readings) if reading.quantity in wanted]
    runs = np.array([model.readings[n].run for n in places])

    def values(numbers: Floats) -> Floats:
        return np.array([shown.number(float(numbers[n]), dimension) for n in places])

    x = np.arange(len(places), dtype=float)
    breaks = np.flatnonzero(np.diff(runs)) + 1
    for numbers, style, colour in (
        (learned.before, (0, (3, 2)), pictures.FAINT),
        (learned.after, "-", pictures.WATER),
    ):
        gapped = np.insert(values(numbers), breaks, np.nan)
        at = np.insert(x, breaks, np.nan)
        axes.plot(at, gapped, linestyle=style, color=colour, linewidth=1.0)
        if len(places) == len(set(runs)):  # One reading a run: points, not a course.
            axes.plot(x, values(numbers), linestyle=style, color=colour, linewidth=1.0)
    recorded = np.array([reading.value for reading in model.readings])
    axes.plot(x, values(recorded), ".", color=pictures.INK, markersize=3.5)
    nights = [model.runs[run].evidence.night for run in runs]
    first = [n for n, night in enumerate(nights) if n == 0 or night != nights[n - 1]]
    axes.set_xticks([float(n) for n in first])
    axes.set_xticklabels([str(nights[n] - nights[0] + 1) for n in first])
    axes.set_xlim(-0.8, len(places) - 0.2)
    axes.margins(y=0.15)
