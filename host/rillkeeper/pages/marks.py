"""Numbered marks of events over a chart; what lies too close together shares one mark."""

from collections.abc import Sequence

from matplotlib.axes import Axes

from rillkeeper.morning.report.report import Event
from rillkeeper.pages import palette
from rillkeeper.runlog.sentences import NOTE, STOP, WARNING

COLOURS = {NOTE: palette.NOTE, WARNING: palette.WARNING, STOP: palette.STOP}


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
            color=palette.PAPER if worst == STOP else palette.INK,
            fontweight="bold" if worst == STOP else "normal",
            fontsize=6.5,
            bbox={
                "boxstyle": "round,pad=0.28" if worst != STOP else "square,pad=0.3",
                "facecolor": palette.STOP if worst == STOP else palette.PAPER,
                "edgecolor": COLOURS.get(worst, palette.NOTE),
                "linewidth": 1.1 if worst == WARNING else 0.7,
            },
        )
    for event in events:
        if event.t_s is None or event.told.level < WARNING:
            continue
        for axes in lanes:
            axes.axvline(
                event.t_s / scale_s,
                color=COLOURS[event.told.level],
                linewidth=0.7,
                linestyle="-" if event.told.level == STOP else (0, (1, 2)),
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
