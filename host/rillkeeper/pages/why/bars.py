"""How likely each cause is, a bar each."""

from rillkeeper.inquiry.why.answer import percent
from rillkeeper.inquiry.why.causes import NONE
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import FULL_IN, picture, svg_of

ROW_IN = 0.25
AROUND_IN = 0.45
MOST = 7


def bars(diagnosis: Diagnosis) -> str:
    """The picture as SVG."""
    rows = [(NONE, diagnosis.nothing, False)]
    first = diagnosis.first
    for finding in diagnosis.findings[:MOST]:
        rows.append((finding.cause.name, finding.probability, finding.cause.name in first))
    height_in = AROUND_IN + ROW_IN * len(rows)
    with picture(FULL_IN, height_in) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.26, right=0.96, top=0.98, bottom=0.42 / height_in)
        for place, (_, value, answer) in enumerate(rows):
            fill = palette.WARNING if answer else palette.CHARGE_FILL
            axes.barh(place, 100.0 * value, height=0.62, color=fill, ec=palette.INK, lw=0.7)
            axes.annotate(
                percent(value),
                (100.0 * value, place),
                xytext=(4, 0),
                textcoords="offset points",
                va="center",
            )
        axes.set_yticks(range(len(rows)), [name for name, _, _ in rows])
        axes.invert_yaxis()
        axes.set_xlim(0.0, 112.0)
        axes.set_xticks(range(0, 101, 20))
        axes.set_xlabel("probability, %")
        axes.grid(axis="x")
        axes.set_axisbelow(True)
        told = "; ".join(f"{name}: {percent(value)}" for name, value, _ in rows)
        return svg_of(figure, "likely", f"How likely each cause is: {told}.")
