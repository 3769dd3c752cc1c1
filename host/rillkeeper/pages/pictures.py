"""Picture helpers of all pages: figures as inline SVG, colours, lanes, limits, numbered marks.

The text of a picture stays text, in the page's own type, and its colours are those of the style
sheet, light or dark. The ids of every picture are its own, since all pictures of a page share one
document. A picture as wide as the page is drawn a second time for a narrow screen.
"""

import io
import re
import textwrap
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from rillkeeper.display_units import day_text
from rillkeeper.morning.report.report import Event
from rillkeeper.morning.report.spans import EventSpan, event_spans
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
WARNING = "#8f5500"

_NAMES = {
    INK: "ink",
    FAINT: "faint",
    RULE: "rule",
    SHADE: "shade",
    PAPER: "paper",
    WATER: "water",
    WATER_FILL: "water-fill",
    VOLTS: "volts",
    CHARGE: "charge",
    CHARGE_FILL: "charge-fill",
    SOIL: "soil",
    SOIL_FILL: "soil-fill",
    STOP: "stop",
    WARNING: "warning",
}
"""The style sheet's names of the colours, which it has for a light and for a dark screen."""

# Depth of water from dry to wet, the same on every screen: neighbours stand apart by half as
# much light again and more, as 1.4.11 of WCAG 2.2 measures it, and lines with figures part them.
DEPTHS = ("#fdfcf5", "#b3d3e0", "#79acc9", "#4683ab", "#235f8b", "#0e3a5d")
MAP_INK, MAP_PAPER = "#0e1716", "#fefefe"


FULL_IN = 7.4
"""Width of a picture that spans the page; a point in it is about a point on A4."""
NARROW_IN = 3.3
"""Of the same for a telephone: its text is twice as large there."""

_STYLE: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "rillkeeper",
    "font.family": "DejaVu Sans",  # It comes with matplotlib and is wide: room for any other.
    "font.size": 7.0,
    "text.color": INK,
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
    narrow: "Picture | None" = None
    """The same for a narrow screen; None where this one is read there, too."""


def on_both(draw: Callable[[float], Picture]) -> Picture:
    """A picture for the width of a page, and drawn again for a telephone's."""
    return replace(draw(FULL_IN), narrow=draw(NARROW_IN))


def picture_in(axes: Axes) -> float:
    """Width of the picture that the axes are in."""
    figure = axes.get_figure(root=True)
    assert isinstance(figure, Figure)
    return float(figure.get_figwidth())


def is_narrow(figure: Figure) -> bool:
    """Whether it is the one for a telephone."""
    return bool(figure.get_figwidth() < FULL_IN)


def room(
    figure: Figure, left: float, right: float, top: float, bottom: float, **between: float
) -> None:
    """Room around the axes in inches, the same at every width of the picture."""
    width, height = figure.get_size_inches()
    figure.subplots_adjust(
        left=left / width,
        right=1.0 - right / width,
        top=1.0 - top / height,
        bottom=bottom / height,
        **between,
    )


def picture_of(figure: Figure, name: str, words: str) -> Picture:
    """The figure as a picture whose ids begin with its name."""
    if figure.get_figwidth() == NARROW_IN:
        name += "-narrow"
    out = io.StringIO()
    figure.savefig(out, format="svg", transparent=True, metadata={"Date": None})
    text = out.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>|<!--.*?-->\s*", "", text, flags=re.DOTALL)
    text = text.replace("xlink:href=", "href=")
    text = re.sub(r"'DejaVu Sans'(, sans-serif)?", _TYPE, text)
    text = re.sub(r"#[0-9a-f]{6}\b", _by_name, text)
    found = re.search(r"<svg [^>]*viewBox=\"([^\"]*)\"[^>]*>(.*)</svg>", text, re.DOTALL)
    assert found is not None
    return Picture(words, found[1], _own_ids(found[2], name))


def _by_name(colour: re.Match[str]) -> str:
    return f"var(--{_NAMES[colour[0]]})" if colour[0] in _NAMES else colour[0]


_TITLE_PT = 3.9
"""Of a title's letter, about."""


def wrapped(axes: Axes, words: str) -> str:
    """The words on as many lines as the width of the axes asks for."""
    width_in = axes.get_position().width * picture_in(axes)
    return textwrap.fill(words, max(12, int(72.0 * width_in / _TITLE_PT)))


def lane(axes: Axes, title: str) -> None:
    """Dress axes as one lane of a chart: a quiet grid, and the title with the unit above."""
    axes.set_title(wrapped(axes, title))
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


_DAY_IN = 0.62
"""Room that a date takes under a chart."""


def day_ticks(axes: Axes, days: Sequence[int], shift: float = 0.0) -> None:
    """Dates under places 0, 1, 2...: as many as have room."""
    width_in = axes.get_position().width * picture_in(axes)
    every = -(-len(days) // max(1, int(width_in / _DAY_IN)))
    axes.set_xticks([place + shift for place in range(0, len(days), max(1, every))])
    axes.set_xticklabels([day_text(day) for day in days[:: max(1, every)]])
    axes.tick_params(axis="x", length=0)


def _own_ids(text: str, name: str) -> str:
    """Keep the ids that something refers to, under this picture's name; drop the others."""
    used = set(re.findall(r"url\(#([^)]+)\)", text)) | set(re.findall(r'href="#([^"]+)"', text))

    def renamed(found: re.Match[str]) -> str:
        return f' id="{name}-{found[1]}"' if found[1] in used else ""

    text = re.sub(r' id="([^"]*)"', renamed, text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", text)
    return re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', text)


COLOURS = {sentences.NOTE: FAINT, sentences.WARNING: WARNING, sentences.STOP: STOP}


def draw_marks(
    strip: Axes, lanes: Sequence[Axes], events: Sequence[Event], close_s: float, scale_s: float
) -> None:
    """Numbers in the strip, and a line through the lanes for each stop and warning.

    ``close_s`` is the distance at which two marks would touch, ``scale_s`` the seconds in one
    unit of the charts' time. Events alike have one badge, where they begin.
    """
    strip.set_ylim(0.0, 1.0)
    strip.axis("off")
    spans = [span for span in event_spans(events) if span.first.t_s is not None]
    for group in _groups(spans, close_s):
        worst = max(span.first.told.level for span in group)
        numbers = EventSpan(group[0].first, group[-1].last).numbers
        strip.text(
            _at_s(group[0]) / scale_s,
            0.45,
            numbers,
            ha="center",
            va="center",
            color=PAPER if worst == sentences.STOP else INK,
            fontweight="bold" if worst == sentences.STOP else "normal",
            fontsize=6.5,
            bbox={
                "boxstyle": "round,pad=0.28" if worst != sentences.STOP else "square,pad=0.3",
                "facecolor": STOP if worst == sentences.STOP else PAPER,
                "edgecolor": COLOURS.get(worst, FAINT),
                "linewidth": 1.1 if worst == sentences.WARNING else 0.7,
            },
        )
    for span in spans:
        level = span.first.told.level
        if level < sentences.WARNING:
            continue
        for axes in lanes:
            axes.axvline(
                _at_s(span) / scale_s,
                color=COLOURS[level],
                linewidth=0.7,
                linestyle="-" if level == sentences.STOP else (0, (1, 2)),
                zorder=1.5,
            )


def _groups(spans: Sequence[EventSpan], close_s: float) -> list[list[EventSpan]]:
    """Events by time; a group is no longer than ``close_s``, so that no two badges touch."""
    groups: list[list[EventSpan]] = []
    for span in sorted(spans, key=_at_s):
        if groups and _at_s(span) - _at_s(groups[-1][0]) < close_s:
            groups[-1].append(span)
        else:
            groups.append([span])
    for group in groups:
        group.sort(key=lambda span: span.first.number)
    return groups


def _at_s(span: EventSpan) -> float:
    assert span.first.t_s is not None
    return span.first.t_s
