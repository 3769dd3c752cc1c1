"""A what-if as a picture: lines for one key, a grid for two."""

from collections.abc import Sequence
from math import isfinite

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from numpy.typing import NDArray

from rillkeeper.design.size.what_if import Try, Variation
from rillkeeper.design.size.what_if_tables import FIGURES, Figure
from rillkeeper.display_units import Shown
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import Picture, is_narrow, lane, page_figure, picture_of, room
from rillsim.site import Site

HEIGHT_IN = 2.2
GRID_IN = 0.9
_LANES = ("throw", "reached", "motor", "nights")
_DARK = 0.5


def whatif(found: Variation, site: Site, width_in: float) -> Picture:
    """Four figures over the values of one key, or reach over those of two."""
    if len(found.axes) == 1:
        return _lines(found, site, Shown(site.units), width_in)
    return _grid(found, site, width_in)


def _lines(found: Variation, site: Site, shown: Shown, width_in: float) -> Picture:
    axis = found.axes[0]
    names = axis.shown(site)
    figures = [figure for figure in FIGURES if figure.head in _LANES]
    columns = len(figures) if width_in == pictures.FULL_IN else 2
    rows = -(-len(figures) // columns)
    with page_figure(width_in, HEIGHT_IN * rows) as drawing:
        lanes = drawing.subplots(rows, columns).ravel()
        between = 0.75 if is_narrow(drawing) else 0.2
        room(drawing, 0.33, 0.11, 0.26, 0.55, wspace=0.28, hspace=between)
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
        words = _line_words(found, names, figures, shown)
        return picture_of(drawing, "whatif", words)


def _line_words(
    found: Variation, names: Sequence[str], figures: list[Figure], shown: Shown
) -> str:
    """Each value with what it gives."""
    told = [
        f"{name}: "
        + ", ".join(
            f"{figure.heading(shown)} {_number(figure, one, shown):.3g}" for figure in figures
        )
        for name, one in zip(names, found.tries, strict=True)
        if one.facts is not None
    ]
    return f"For {found.axes[0].key} of {'; '.join(told) or 'none that works'}."


def _number(figure: Figure, one: Try, shown: Shown) -> float:
    if one.facts is None:
        return float("nan")
    value = figure.value(one.facts)
    if figure.dimension == "share":
        return 100.0 * value
    return shown.number(value, figure.dimension) if figure.dimension else value


def _grid(found: Variation, site: Site, width_in: float) -> Picture:
    rows, columns = found.axes
    reach = np.array(
        [100.0 * one.facts.watering.reach if one.facts else float("nan") for one in found.tries]
    ).reshape(len(rows.values), len(columns.values))
    with page_figure(width_in, GRID_IN + 0.28 * len(rows.values)) as drawing:
        axes = drawing.subplots()
        room(drawing, 1.0, 0.11, 0.1, 0.42)
        colours = LinearSegmentedColormap.from_list("depths", pictures.DEPTHS)
        axes.pcolormesh(reach, cmap=colours, vmin=0.0, vmax=100.0, edgecolors=pictures.PAPER, lw=1)
        _cells(axes, reach, found)
        axes.set_xticks(np.arange(len(columns.values)) + 0.5, columns.shown(site))
        axes.set_yticks(np.arange(len(rows.values)) + 0.5, rows.shown(site))
        axes.set_xlabel(columns.key)
        axes.set_ylabel(rows.key)
        axes.invert_yaxis()
        axes.tick_params(length=0)
        told = [
            f"{row} and {column} {value:.0f} %"
            for row, line in zip(rows.shown(site), reach, strict=True)
            for column, value in zip(columns.shown(site), line, strict=True)
            if isfinite(value)
        ]
        words = f"Share of the plot within reach for {rows.key} and {columns.key}: "
        words += "; ".join(told) + "."
        return picture_of(drawing, "whatif", words)


def _cells(axes: Axes, reach: NDArray[np.float64], found: Variation) -> None:
    width = reach.shape[1]
    for place, one in enumerate(found.tries):
        value = float(reach[place // width, place % width])
        text = f"{value:.0f} %" if isfinite(value) else "-"
        colour = pictures.MAP_PAPER if value > 100.0 * _DARK else pictures.MAP_INK
        works = one.verdict is not None and one.verdict.works
        axes.text(
            place % width + 0.5,
            place // width + 0.5,
            text,
            ha="center",
            va="center",
            fontweight="bold" if works else "normal",
            color=colour if isfinite(value) else pictures.INK,
        )
