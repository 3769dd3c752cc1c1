"""The pictures of the seasons: the ribbon of years, the soil's band, variants side by side."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap

from rillkeeper.display_units import date_of
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import FULL_IN, Picture, lane, limit_line, page_figure, picture_of
from rillkeeper.season.answer import Variant
from rillkeeper.season.figures import KINDS
from rillkeeper.season.words import NAMES, differences
from rillsim.replay import start_day_of

_COLOURS = (pictures.WATER, pictures.WATER_FILL, pictures.WARNING, pictures.STOP)
"""Of the kinds of nights, in their order."""
_ROW_IN = 0.13
_SOIL_IN = 2.6


def ribbon(variant: Variant) -> Picture:
    """A row a year, a column a night."""
    years = sorted(variant.ribbon)
    nights = max((len(row) for row in variant.ribbon.values()), default=1)
    rows = np.zeros((len(years), nights))
    for place, year in enumerate(years):
        rows[place] = [KINDS.index(kind) for kind in variant.ribbon[year]]
    height_in = max(1.1, 0.55 + _ROW_IN * len(years))
    with page_figure(FULL_IN, height_in) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.07, right=0.985, top=0.98, bottom=0.38 / height_in)
        colours = ListedColormap(list(_COLOURS))
        edges = np.arange(nights + 1), np.arange(len(years) + 1)
        axes.pcolormesh(*edges, rows, cmap=colours, vmin=-0.5, vmax=len(KINDS) - 0.5)
        axes.invert_yaxis()
        step = max(len(years) // 12, 1)
        axes.set_yticks(np.arange(0, len(years), step) + 0.5, _names(years)[::step])
        _dates(axes, variant, nights)
        words = f"Nights of {len(years)} years: {_counts(variant)}."
        return picture_of(figure, "ribbon", words)


def soil(variant: Variant) -> Picture:
    """What the driest quarter lacks over the season, with its band."""
    low, middle, high = variant.soil_band()
    night = np.arange(len(middle))
    with page_figure(FULL_IN, _SOIL_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.07, right=0.985, top=0.88, bottom=0.16)
        lane(axes, "driest quarter lacks, mm")
        axes.fill_between(night, low, high, color=pictures.SOIL_FILL, lw=0)
        axes.plot(night, middle, color=pictures.SOIL, lw=1.4)
        axes.set_ylim(0.0, max(float(high.max(initial=0.0)), variant.readily_mm) * 1.15 + 1.0)
        axes.set_xlim(0.0, max(len(middle) - 1, 1))
        limit_line(axes, variant.readily_mm, "the crop suffers")
        _dates(axes, variant, len(middle))
        words = (
            f"Water lacking on the driest quarter: {middle.min(initial=0.0):.0f} to "
            f"{middle.max(initial=0.0):.0f} mm in the year in the middle; the crop suffers from "
            f"{variant.readily_mm:.0f} mm on."
        )
        return picture_of(figure, "soil", words)


def compared(variants: list[Variant]) -> Picture:
    """Mean differences from the first variant with their bands, a lane a figure."""
    found = differences(variants)
    keys = [one.key for one in found[0][1]]
    height_in = 0.3 + (0.5 + 0.15 * len(found)) * len(keys)
    with page_figure(FULL_IN, height_in) as figure:
        lanes = figure.subplots(len(keys), 1)
        figure.subplots_adjust(left=0.2, right=0.97, top=0.95, bottom=0.05, hspace=1.9)
        for axes, key in zip(lanes, keys, strict=True):
            axes.axvline(0.0, color=pictures.FAINT, lw=0.8)
            for place, (_, ones) in enumerate(found):
                one = next(each for each in ones if each.key == key)
                colour = pictures.WATER if one.real else pictures.FAINT
                ends = [end if np.isfinite(end) else one.mean for end in (one.low, one.high)]
                axes.plot(ends, [place, place], color=colour, lw=1.6)
                axes.plot(one.mean, place, "o", ms=4, color=colour)
            axes.set_yticks(range(len(found)), [other.name for other, _ in found], fontsize=6)
            axes.set_ylim(len(found) - 0.4, -0.6)
            axes.set_title(NAMES[key], loc="left", fontsize=7)
        told = "; ".join(
            f"{other.name}: "
            + ", ".join(f"{NAMES[one.key]} {one.mean:+.1f} ({one.word})" for one in ones)
            for other, ones in found
        )
        return picture_of(figure, "compared", f"Against {variants[0].name}, {told}.")


def _names(years: list[int]) -> list[str]:
    """Calendar years by themselves; drawn ones counted from 1."""
    return [str(year) if year > 1000 else f"year {year + 1}" for year in years]


def _counts(variant: Variant) -> str:
    kinds = [kind for row in variant.ribbon.values() for kind in row]
    return ", ".join(f"{kinds.count(kind)} {kind}" for kind in KINDS)


def _dates(axes: Axes, variant: Variant, nights: int) -> None:
    """The first days of the months."""
    first = start_day_of(variant.site)
    dates = [date_of(first + night) for night in range(nights)]
    places = [place for place, one in enumerate(dates) if one.day == 1] or [0]
    axes.set_xticks(places, [f"{dates[place].day} {dates[place]:%b}" for place in places])
