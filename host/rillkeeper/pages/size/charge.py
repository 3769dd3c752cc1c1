"""Nights on a charge, a bar a condition."""

from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import FULL_IN, picture, svg_of

ROW_IN = 0.25
AROUND_IN = 0.6
"""For a bar, and for the axis and the room above."""


def charge(work: Workings, shown: Shown) -> str:
    """The picture as SVG."""
    found = work.nights
    names = [
        f"{case.name}, {shown.text(case.temperature_c, 'temperature')}" for case in found.cases
    ]
    nights = [case.nights for case in found.cases]
    height_in = AROUND_IN + ROW_IN * len(nights)
    with picture(FULL_IN, height_in) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(
            left=0.235, right=0.97, top=1.0 - 0.22 / height_in, bottom=0.37 / height_in
        )
        places = range(len(names))
        fills = [palette.CHARGE, *([palette.CHARGE_FILL] * (len(names) - 1))]
        axes.barh(places, nights, height=0.62, color=fills, ec=palette.INK, lw=0.7)
        for place, value in zip(places, nights, strict=True):
            axes.annotate(
                f"{value:.1f}",
                (value, place),
                xytext=(4, 0),
                textcoords="offset points",
                va="center",
                bbox={"boxstyle": "square,pad=0.1", "fc": palette.PAPER, "ec": "none"},
                zorder=4,
            )
        axes.axvline(found.wanted, color=palette.STOP, lw=1.0)
        axes.annotate(
            "wanted",
            (found.wanted, -0.5),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            color=palette.STOP,
        )
        axes.set_yticks(places, names)
        axes.invert_yaxis()
        axes.set_xlim(0.0, 1.12 * max([*nights, float(found.wanted)]))
        axes.set_xlabel(f"nights, {100.0 * found.depth:.0f} % of the charge used")
        axes.grid(axis="x")
        axes.set_axisbelow(True)
        told = "; ".join(f"{n}: {v:.1f}" for n, v in zip(names, nights, strict=True))
        return svg_of(figure, "charge", f"Nights on a charge, {found.wanted} wanted: {told}.")
