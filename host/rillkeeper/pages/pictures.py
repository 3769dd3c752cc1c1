"""Picture helpers of all pages: figures as inline SVG, colours, lanes, limits, numbered marks.

The text of a picture stays text, in the page's own type. The ids of every picture are its own,
since all pictures of a page share one document.
"""

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from rillkeeper.morning.report.report import Event
from rillkeeper.runlog import sentences

INK = "#1c2826"
FAINT = "#5f6d6a"
RULE = "#d5dbd8"
SHADE = "#f1f4f2"
PAPER = "#ffffff"

WATER = "#1f5f8b"
WATER_FILL = "#c5dbe9"
VOLTS = "#8a5a00"
CHARGE = "#47623a"
CHARGE_FILL = "#d9e3d1"
SOIL = "#6d4a33"
SOIL_FILL = "#eadfd5"

STOP = "#a12a1e"
WARNING = "#b8730a"
NOTE = "#5f6d6a"

# Depth of water from dry to wet: light to dark in even steps.
DEPTHS = ("#f7f6ee", "#d3e4e4", "#9cc4d2", "#6ba5c4", "#4582ad")


FULL_IN = 7.4
"""Width of a picture that spans the page; a point in it is about a point on A4."""

_STYLE: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "rillkeeper",
    "font.family": "DejaVu Sans",  # It comes with matplotlib and is wide: room for any other.
    "font.size": 7.0,
    "axes.edgecolor": FAINT,
    "axes.labelcolor": FAINT,
    "axes.labelsize": 7.0,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.titlesize": 7.5,
    "axes.titlecolor": INK,
    "axes.titlelocation": "left",
    "axes.titlepad": 4.0,
    "axes.unicode_minus": False,
    "xtick.color": FAINT,
    "ytick.color": FAINT,
    "xtick.labelsize": 6.5,
    "ytick.labelsize": 6.5,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "lines.linewidth": 1.1,
    "lines.solid_capstyle": "round",
    "grid.color": RULE,
    "grid.linewidth": 0.5,
    "path.simplify_threshold": 0.3,
}
_TYPE = "system-ui, 'Segoe UI', 'Helvetica Neue', Arial, 'DejaVu Sans', sans-serif"


@contextmanager
def page_figure(width_in: float, height_in: float) -> Iterator[Figure]:
    """A figure in the page's style, for the length of the block."""
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(width_in, height_in))
        FigureCanvasSVG(figure)
        yield figure


@dataclass(frozen=True)
class Picture:
    """A finished picture: the template puts its element round it."""

    words: str
    """What it shows, for those who cannot see it."""
    view_box: str
    drawn: str
    """What stands inside the svg element, fit to be taken over as it is."""


def picture_of(figure: Figure, name: str, words: str) -> Picture:
    """The figure as a picture whose ids begin with its name."""
    out = io.StringIO()
    figure.savefig(out, format="svg", transparent=True, metadata={"Date": None})
    text = out.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>|<!--.*?-->\s*", "", text, flags=re.DOTALL)
    text = text.replace("xlink:href=", "href=")
    text = re.sub(r"'DejaVu Sans'(, sans-serif)?", _TYPE, text)
    found = re.search(r"<svg [^>]*viewBox=\"([^\"]*)\"[^>]*>(.*)</svg>", text, re.DOTALL)
    assert found is not None
    return Picture(words, found[1], _own_ids(found[2], name))


def lane(axes: Axes, title: str) -> None:
    """Dress axes as one lane of a chart: a quiet grid, and the title with the unit above."""
    axes.set_title(title)
    axes.grid(axis="y")
    axes.set_axisbelow(True)
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="y", length=0)


def limit_line(
    axes: Axes, value: float, words: str, *, under: bool = False, left: bool = False
) -> None:
    """A dashed line at a limit, with its name over it at the right, or elsewhere."""
    axes.axhline(value, color=STOP, linewidth=0.7, linestyle=(0, (4, 2)), zorder=1.2)
    axes.annotate(
        words,
        (0.0 if left else 1.0, value),
        xycoords=("axes fraction", "data"),
        xytext=(2 if left else -2, -2 if under else 2),
        textcoords="offset points",
        ha="left" if left else "right",
        va="top" if under else "bottom",
        color=STOP,
        fontsize=6.0,
        bbox={"facecolor": PAPER, "edgecolor": "none", "alpha": 0.75, "pad": 0.6},
    )


def _own_ids(text: str, name: str) -> str:
    """Keep the ids that something refers to, under this picture's name; drop the others."""
    used = set(re.findall(r"url\(#([^)]+)\)", text)) | set(re.findall(r'href="#([^"]+)"', text))

    def renamed(found: re.Match[str]) -> str:
        return f' id="{name}-{found[1]}"' if found[1] in used else ""

    text = re.sub(r' id="([^"]*)"', renamed, text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", text)
    return re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', text)


COLOURS = {sentences.NOTE: NOTE, sentences.WARNING: WARNING, sentences.STOP: STOP}


def numbers_text(numbers: Sequence[int]) -> str:
    """Event numbers in the least space.

    >>> numbers_text([2]), numbers_text([2, 3, 4]), numbers_text([2, 5])
    ('2', '2-4', '2, 5')
    """
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"{numbers[0]}-{numbers[-1]}"
    return ", ".join(map(str, numbers))


def draw_marks(
    strip: Axes, lanes: Sequence[Axes], events: Sequence[Event], close_s: float, scale_s: float
) -> None:
    """Numbers in the strip, and a line through the lanes for each stop.

    ``close_s`` is the distance at which two marks would touch, ``scale_s`` the seconds in one
    unit of the charts' time.
    """
    strip.set_ylim(0.0, 1.0)
    strip.axis("off")
    for group in _groups(events, close_s):
        at = sum(_at_s(event) for event in group) / len(group) / scale_s
        worst = max(event.told.level for event in group)
        strip.text(
            at,
            0.45,
            numbers_text([event.number for event in group]),
            ha="center",
            va="center",
            color=PAPER if worst == sentences.STOP else INK,
            fontweight="bold" if worst == sentences.STOP else "normal",
            fontsize=6.5,
            bbox={
                "boxstyle": "round,pad=0.28" if worst != sentences.STOP else "square,pad=0.3",
                "facecolor": STOP if worst == sentences.STOP else PAPER,
                "edgecolor": COLOURS.get(worst, NOTE),
                "linewidth": 1.1 if worst == sentences.WARNING else 0.7,
            },
        )
    for event in events:
        if event.t_s is None or event.told.level < sentences.WARNING:
            continue
        for axes in lanes:
            axes.axvline(
                event.t_s / scale_s,
                color=COLOURS[event.told.level],
                linewidth=0.7,
                linestyle="-" if event.told.level == sentences.STOP else (0, (1, 2)),
                zorder=1.5,
            )


def _groups(events: Sequence[Event], close_s: float) -> list[list[Event]]:
    groups: list[list[Event]] = []
    for event in sorted((e for e in events if e.t_s is not None), key=_at_s):
        if groups and _at_s(event) - _at_s(groups[-1][-1]) < close_s:
            groups[-1].append(event)
        else:
            groups.append([event])
    for group in groups:
        group.sort(key=lambda event: event.number)
    return groups


def _at_s(event: Event) -> float:
    assert event.t_s is not None
    return event.t_s
