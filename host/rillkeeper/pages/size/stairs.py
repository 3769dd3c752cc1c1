"""The two staircases: head from the water to the spray, volts from the battery to the motor."""

from matplotlib.axes import Axes

from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.pages import palette
from rillkeeper.pages.drawing import FULL_IN, picture, svg_of

HEIGHT_IN = 2.75
_LABEL_DEG = 22.0


def head_stairs(work: Workings, shown: Shown) -> str:
    """Metres or feet of water, step by step."""
    unit = shown.unit("length")
    steps = work.heads.steps
    after = [shown.number(step.after_m, "length") for step in steps]
    with picture(FULL_IN, HEIGHT_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.075, right=0.985, top=0.96, bottom=0.25)
        before = 0.0
        for place, (step, level) in enumerate(zip(steps, after, strict=True)):
            colour = palette.CHARGE_FILL if step.gain_m > 0.0 else palette.WATER_FILL
            _bar(axes, place, before, level, colour)
            text = f"{shown.number(step.gain_m, 'length'):+.1f}"
            _label(axes, place, max(before, level), text)
            before = level
        axes.axhline(0.0, color=palette.FAINT, lw=0.6)
        _dress(axes, [step.name for step in steps], f"pressure head, {unit} of water")
        low, high = min([0.0, *after]), max(after)
        axes.set_ylim(low - 0.08 * (high - low), high + 0.12 * (high - low))
        words = (
            "Staircase of head: " + "; ".join(f"{s.name} {s.gain_m:+.2f} m" for s in steps) + "."
        )
        return svg_of(figure, "heads", words)


def volt_stairs(work: Workings) -> str:
    """Volts loaded, with the idle voltage above that hides the loss."""
    found = work.volts
    names = ["battery at rest", *(step.name for step in found.steps)]
    levels = [found.rest_v, *(step.loaded_v for step in found.steps)]
    with picture(FULL_IN, HEIGHT_IN) as figure:
        axes = figure.subplots()
        figure.subplots_adjust(left=0.075, right=0.985, top=0.96, bottom=0.25)
        axes.step(range(len(levels)), levels, where="mid", color=palette.VOLTS, lw=1.8)
        axes.plot(
            [-0.5, len(levels) - 0.5],
            [found.rest_v, found.rest_v],
            color=palette.FAINT,
            ls=(0, (4, 3)),
        )
        span = max(found.rest_v - levels[-1], 0.2)
        for place, (level, step) in enumerate(zip(levels[1:], found.steps, strict=True), 1):
            axes.annotate(
                f"-{step.drop_v:.2f}",
                (place, level),
                xytext=(0, -9),
                textcoords="offset points",
                ha="center",
                color=palette.VOLTS,
            )
        axes.annotate(
            "pump off: a meter reads this everywhere",
            (len(levels) - 0.5, found.rest_v),
            xytext=(0, 3),
            textcoords="offset points",
            ha="right",
            color=palette.FAINT,
        )
        _dress(axes, names, "V")
        axes.set_ylim(levels[-1] - 0.25 * span, found.rest_v + 0.2 * span)
        words = (
            f"Staircase of volts from {found.rest_v:.2f} V at rest to {found.motor_v:.2f} V "
            "at the motor while the pump runs; with the pump off nothing is lost."
        )
        return svg_of(figure, "volts", words)


def _bar(axes: Axes, place: int, before: float, after: float, colour: str) -> None:
    axes.bar(
        place, after - before, bottom=before, width=0.62, color=colour, ec=palette.INK, lw=0.7
    )
    axes.plot([place + 0.31, place + 0.69], [after, after], color=palette.INK, lw=0.6)


def _label(axes: Axes, place: int, top: float, text: str) -> None:
    axes.annotate(text, (place, top), xytext=(0, 2), textcoords="offset points", ha="center")


def _dress(axes: Axes, names: list[str], label: str) -> None:
    axes.grid(axis="y")
    axes.set_axisbelow(True)
    axes.set_xticks(range(len(names)), names, rotation=_LABEL_DEG, ha="right")
    axes.set_xlim(-0.6, len(names) - 0.4)
    axes.set_ylabel(label)
