"""Which pictures there are, each as the bytes of an SVG file."""

import re
from collections.abc import Callable
from functools import partial

import schemdraw

from hardware_notes.building.steps import STEPS
from hardware_notes.drawings import divider, guide, water, wiring

schemdraw.use("svg")
schemdraw.svgconfig.text = "text"


def _svg(draw: Callable[[schemdraw.Drawing], None]) -> bytes:
    """The picture, on white paper, with a line feed at the end of each line."""
    sheet = schemdraw.Drawing(show=False)
    sheet.config(fontsize=11, font="sans-serif", lw=1.5, bgcolor="white", margin=0.6)
    draw(sheet)
    text = sheet.get_imagedata("svg").decode()
    return re.sub(r"><", ">\n<", text).rstrip().encode() + b"\n"


PICTURES = {
    "wiring_rp2.svg": partial(_svg, partial(wiring.draw, board="rp2")),
    "wiring_esp32.svg": partial(_svg, partial(wiring.draw, board="esp32")),
    "divider.svg": partial(_svg, divider.draw),
    "water.svg": partial(_svg, water.draw),
} | {
    f"step_{number:02}.svg": partial(guide.draw, step, number)
    for number, step in enumerate(STEPS, 1)
}
