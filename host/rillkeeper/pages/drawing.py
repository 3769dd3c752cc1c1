"""Pictures as inline SVG: drawn by matplotlib, then made fit to stand inside a page.

The text stays text, in the page's own type. The ids of every picture are its own, since all
pictures of a page share one document.
"""

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from rillkeeper.pages.palette import FAINT, INK, RULE

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
def picture(width_in: float, height_in: float) -> Iterator[Figure]:
    """A figure in the page's style, for the length of the block."""
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(width_in, height_in))
        FigureCanvasSVG(figure)
        yield figure


def svg_of(figure: Figure, name: str, words: str) -> str:
    """The figure as an SVG element; ``words`` say what it shows to those who cannot see it."""
    out = io.StringIO()
    figure.savefig(out, format="svg", transparent=True, metadata={"Date": None})
    text = out.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->\s*", "", text, flags=re.DOTALL)
    text = re.sub(r' xmlns(:xlink)?="[^"]*"', "", text)
    text = text.replace("xlink:href=", "href=")
    text = re.sub(r"'DejaVu Sans'(, sans-serif)?", _TYPE, text)
    text = _own_ids(text, name)
    head, _, rest = text.partition(">")
    box = re.search(r'viewBox="[^"]*"', head)
    assert box is not None
    label = escape(words, quote=True)
    return (
        f'<svg class="picture" role="img" aria-label="{label}" {box[0]}>'
        f"<title>{escape(words)}</title>{rest}"
    )


def lane(axes: Axes, title: str) -> None:
    """Dress axes as one lane of a chart: a quiet grid, and the title with the unit above."""
    axes.set_title(title)
    axes.grid(axis="y")
    axes.set_axisbelow(True)
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="y", length=0)


def _own_ids(text: str, name: str) -> str:
    """Keep the ids that something refers to, under this picture's name; drop the others."""
    used = set(re.findall(r"url\(#([^)]+)\)", text)) | set(re.findall(r'href="#([^"]+)"', text))

    def renamed(found: re.Match[str]) -> str:
        return f' id="{name}-{found[1]}"' if found[1] in used else ""

    text = re.sub(r' id="([^"]*)"', renamed, text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", text)
    return re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', text)
