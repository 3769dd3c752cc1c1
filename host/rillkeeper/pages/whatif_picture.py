"""A what-if as a picture: lines for one key, a grid for two."""

from math import isfinite

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from numpy.typing import NDArray

from rillkeeper.design.size.what_if import Try, Variation
from rillkeeper.design.size.what_if_tables import FIGURES, Figure
from rillkeeper.display_units import Shown
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import FULL_IN, Picture, lane, page_figure, picture_of
from rillsim.site import Site

HEIGHT_IN = 2.2
GRID_IN = 0.9
_LANES = ("throw", "reached", "motor", "nights")
_DARK = 0.75


def whatif(found: Variation, site: Site) -> Picture:
    """The picture, ready for the page."""
    shown = Shown(site.units)
    return _lines(found, site, shown) if len(found.axes) == 1 else _grid(found, site)


def _lines(found: Variation, site: Site, shown: Shown) -> Picture:
    axis = found.axes[0]
    names = axis.shown(site)
    figures = [figure for figure in FIGURES if figure.head in _LANES]
    with page_figure(FULL_IN, HEIGHT_IN) as drawing:
        lanes = drawing.subplots(1, len(figures))
        drawing.subplots_adjust(left=0.045, right=0.985, top=0.88, bottom=0.25, wspace=0.28)
        for axes, figure in zip(lanes, figures, strict=True):
            lane(axes, figure.heading(shown))
            axes.plot(
                range(len(names)),
                [_number(figure, one, shown) for one in found.tries],
                "o-",
                color=pictures.WATER,
                ms=3.5,
            )
            axes.set_xticks(range(len(names)), names, rotation=30.0, ha="right")
            axes.margins(x=0.08, y=0.2)
        words = f"Throw, reach, volts at the motor and nights for {axis.key}: {', '.join(names)}."
        return picture_of(drawing, "whatif", words)


def _number(figure: Figure, one: Try, shown: Shown) -> float:
    if one.facts is None:
        return float("nan")
    value = figure.value(one.facts)
    if figure.dimension == "share":
        return 100.0 * value
    return shown.number(value, figure.dimension) if figure.dimension else value


def _grid(found: Variation, site: Site) -> Picture:
    rows, columns = found.axes
    reach = np.array(
        [100.0 * one.facts.watering.reach if one.facts else float("nan") for one in found.tries]
    ).reshape(len(rows.values), len(columns.values))
    with page_figure(FULL_IN, GRID_IN + 0.28 * len(rows.values)) as drawing:
        axes = drawing.subplots()
        drawing.subplots_adjust(
            left=0.17, right=0.985, top=0.97, bottom=0.42 / (GRID_IN + 0.28 * len(rows.values))
        )
        colours = LinearSegmentedColormap.from_list("depths", pictures.DEPTHS)
        axes.pcolormesh(reach, cmap=colours, vmin=0.0, vmax=100.0, edgecolors=pictures.PAPER, lw=1)
        _cells(axes, reach, found)
        axes.set_xticks(np.arange(len(columns.values)) + 0.5, columns.shown(site))
        axes.set_yticks(np.arange(len(rows.values)) + 0.5, rows.shown(site))
        axes.set_xlabel(columns.key)
        axes.set_ylabel(rows.key)
        axes.invert_yaxis()
        axes.tick_params(length=0)
        words = f"Share of the plot within reach for {rows.key} and {columns.key}."
        return picture_of(drawing, "whatif", words)


def _cells(axes: Axes, reach: NDArray[np.float64], found: Variation) -> None:
    width = reach.shape[1]
    for place, one in enumerate(found.tries):
        value = float(reach[place // width, place % width])
        text = f"{value:.0f} %" if isfinite(value) else "-"
        works = one.verdict is not None and one.verdict.works
        axes.text(
            place % width + 0.5,
            place // width + 0.5,
            text,
            ha="center",
            va="center",
            fontweight="bold" if works else "normal",
            color=pictures.PAPER if value > 100.0 * _DARK else pictures.INK,
        )
