"""The pictures of a diagnosis: each sign over the nights, and how likely each cause is."""

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from rillkeeper.display_units import day_text
from rillkeeper.inquiry.why.answer import percent
from rillkeeper.inquiry.why.causes import NONE
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.inquiry.why.signs import SIGN_PLACE, SIGNS, Sign
from rillkeeper.pages import pictures
from rillkeeper.pages.pictures import Picture, lane, page_figure, picture_of, room

Floats = NDArray[np.float64]

DRAWN = (
    "early_pressure",
    "late_pressure",
    "prime",
    "early_flow",
    "early_current",
    "decay_1000",
    "rest_pressure",
    "resistance",
    "rest_voltage",
    "fall",
)
"""Those that stand for all: the others say the same again."""
_LANE_IN = 1.22
_BAND = 2.0
"""Deviations of a sound site: nineteen of twenty lie within (normal law)."""
_TICKS_MAX = 8


def drawn_signs(diagnosis: Diagnosis) -> list[str]:
    """Those of which anything was read."""
    off = diagnosis.comparison.off
    return [key for key in DRAWN if (~np.isnan(off[:, SIGN_PLACE[key]])).any()]


def signs(diagnosis: Diagnosis, width_in: float) -> Picture:
    """Each sign over the runs, with the band of a sound site."""
    drawn = drawn_signs(diagnosis)
    columns = 2 if width_in == pictures.FULL_IN else 1
    rows = -(-len(drawn) // columns)
    sound, expected = diagnosis.fitted()
    with page_figure(width_in, _LANE_IN * rows + 0.25) as figure:
        grid = figure.subplots(rows, columns, sharex=True, squeeze=False)
        room(figure, 0.37, 0.07, 0.24, 0.26, hspace=0.42)
        for place, key in enumerate(drawn):
            axes = grid[place // columns][place % columns]
            _panel(axes, diagnosis, SIGNS[SIGN_PLACE[key]], (sound, expected))
        for spare in range(len(drawn), columns * rows):
            grid[spare // columns][spare % columns].axis("off")
        for axes in grid[-1]:
            _nights(axes, diagnosis)
        return picture_of(figure, "signs", _words(diagnosis, drawn))


def _panel(axes: Axes, diagnosis: Diagnosis, sign: Sign, fitted: tuple[Floats, Floats]) -> None:
    lane(axes, f"{sign.title}, {sign.unit}")
    comparison = diagnosis.comparison
    place = SIGN_PLACE[sign.key]
    sound, expected = fitted
    x = np.arange(len(comparison.off), dtype=float)
    off = _numbers(sign, comparison.off[:, place])
    read = ~np.isnan(off)
    with_run = np.array([run is not None for run in diagnosis.attempts.runs], dtype=bool)
    spread = np.where(with_run, comparison.spread[:, place], np.nan)
    noise = np.where(with_run, comparison.sd[:, place], np.nan)
    level = sound[:, place]
    bands = [(-_BAND * spread, _BAND * spread), (level - _BAND * noise, level + _BAND * noise)]
    edges = [(_numbers(sign, low), _numbers(sign, high)) for low, high in bands]
    for (low, high), fill in zip(edges, (pictures.SHADE, pictures.CHARGE_FILL), strict=True):
        axes.fill_between(x, low, high, color=fill, linewidth=0, zorder=0.5)
    low, high = edges[1]
    axes.axhline(0.0, color=pictures.FAINT, linewidth=0.6)
    course = None
    if diagnosis.troubles:
        course = np.where(read, _numbers(sign, expected[:, place]), np.nan)
    top = _limit(high, off, course)
    bottom = -_limit(-low, -off, None if course is None else -course)
    if course is not None:
        line = np.clip(course[read], bottom, top)
        axes.plot(x[read], line, color=pictures.STOP, linewidth=1.1, zorder=2)
    shown = np.clip(off, bottom, top)
    inside = read & (shown == off)
    axes.plot(x[inside], off[inside], "o", color=pictures.WATER, markersize=3.2, zorder=3)
    for beyond, marker in ((read & (off > top), "^"), (read & (off < bottom), "v")):
        axes.plot(x[beyond], shown[beyond], marker, color=pictures.WATER, markersize=4.5, zorder=3)
    margin = 0.06 * (top - bottom)
    axes.set_ylim(bottom - margin, top + margin)
    axes.tick_params(axis="x", length=0)
    for start in _starts(diagnosis)[1:]:
        axes.axvline(start - 0.5, color=pictures.RULE, linewidth=0.6, zorder=0.4)


def _limit(band: Floats, off: Floats, course: Floats | None) -> float:
    """So high that the band and most of what was read fit in, and one odd run does not rule."""
    rest = [value for value in off if value == value]
    usual = float(np.quantile(rest, 0.9)) if rest else 0.0
    highest = max(2.0 * float(np.nanmax(band)), 1.2 * usual)
    if course is not None and (course == course).any():
        highest = max(highest, min(1.1 * float(np.nanquantile(course, 0.9)), 3.0 * highest))
    return highest


def _numbers(sign: Sign, values: Floats) -> Floats:
    return np.array([sign.number(float(value)) for value in values])


def _starts(diagnosis: Diagnosis) -> list[int]:
    """The first attempt of each night."""
    places = diagnosis.attempts.night_places
    return [int(np.flatnonzero(places == night)[0]) for night in np.unique(places)]


def _nights(axes: Axes, diagnosis: Diagnosis) -> None:
    """The night under the middle of its runs; not every one where they are many."""
    starts = _starts(diagnosis)
    ends = [*starts[1:], len(diagnosis.attempts.runs)]
    every = -(-len(starts) // _TICKS_MAX)
    chosen = list(zip(starts, ends, strict=True))[::every]
    axes.set_xlim(-0.5, len(diagnosis.attempts.runs) - 0.5)
    axes.set_xticks([0.5 * (start + end - 1) for start, end in chosen])
    names = [day_text(int(diagnosis.attempts.days[start])) for start, _ in chosen]
    axes.set_xticklabels([name.split(" ", 1)[1] if len(chosen) > 4 else name for name in names])


def _words(diagnosis: Diagnosis, drawn: list[str]) -> str:
    """Which signs left the band of a sound site in the last night, and which stayed."""
    out, inside = [], []
    for key in drawn:
        sign, place = SIGNS[SIGN_PLACE[key]], SIGN_PLACE[key]
        off, spread = diagnosis.comparison.off[:, place], diagnosis.comparison.spread[:, place]
        last = int(np.flatnonzero(~np.isnan(off))[-1])
        if abs(off[last]) > _BAND * spread[last]:
            out.append(f"{sign.title.lower()} {sign.number(float(off[last])):+.3g} {sign.unit}")
        else:
            inside.append(sign.title.lower())
    text = "The signs run by run, less what a sound site gives."
    if out:
        text += f" At the end outside of what its file leaves open: {', '.join(out)}."
    if inside:
        text += f" Within: {', '.join(inside)}."
    if diagnosis.troubles:
        names = " and ".join(trouble.finding.cause.name for trouble in diagnosis.troubles)
        text += f" The line is what this would do: {names}."
    return text


ROW_IN = 0.25
AROUND_IN = 0.45
MOST = 7


def bars(diagnosis: Diagnosis, width_in: float) -> Picture:
    """How likely each cause is."""
    rows = [(NONE, diagnosis.nothing, False)]
    first = diagnosis.first
    for finding in diagnosis.findings[:MOST]:
        rows.append((finding.cause.name, finding.probability, finding.cause.name in first))
    height_in = AROUND_IN + ROW_IN * len(rows)
    with page_figure(width_in, height_in) as figure:
        axes = figure.subplots()
        room(figure, 1.85, 0.2, 0.04, 0.42)
        for place, (_, value, answer) in enumerate(rows):
            fill = pictures.WARNING if answer else pictures.CHARGE_FILL
            axes.barh(place, 100.0 * value, height=0.62, color=fill, ec=pictures.INK, lw=0.7)
            axes.annotate(
                percent(value),
                (100.0 * value, place),
                xytext=(4, 0),
                textcoords="offset points",
                va="center",
            )
        axes.set_yticks(range(len(rows)), [name for name, _, _ in rows])
        axes.invert_yaxis()
        axes.set_xlim(0.0, 112.0 if width_in == pictures.FULL_IN else 155.0)
        axes.set_xticks(range(0, 101, 20))
        axes.set_xlabel("probability, %")
        axes.grid(axis="x")
        axes.set_axisbelow(True)
        told = "; ".join(f"{name}: {percent(value)}" for name, value, _ in rows)
        return picture_of(figure, "likely", f"How likely each cause is: {told}.")
