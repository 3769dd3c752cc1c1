"""The water side: from the strainer in the pond to the sprinkler."""

import schemdraw
from schemdraw import elements as elm

from hardware_notes.drawings.marks import Point, box, say

_WATER = "#2b6ca3"


def draw(sheet: schemdraw.Drawing) -> None:
    """A section through bank and plot, not to scale."""
    _pond(sheet)
    _line(sheet, (5.6, -2.6), (5.6, 3.0), (8.0, 3.4))
    box(sheet, (8.0, 2.6), (10.6, 4.2), "pump")
    _line(sheet, (10.6, 3.4), (19.0, 3.4), (19.0, 5.0))
    _at_outlet(sheet)
    _sprinkler(sheet)
    say(sheet, (6.0, 1.4), "suction line:\nrises all the way")
    box(sheet, (6.1, 3.0), (6.9, 3.6), "")
    say(sheet, (6.5, 4.6), "a valve here, where the\nwater stands above the nozzle", "center")
    sheet.add(elm.Line(arrow="<->").at((4.2, -1.0)).to((4.2, 3.4)).linestyle(":"))
    say(sheet, (4.0, 1.2), "suction lift", "right")


def _line(sheet: schemdraw.Drawing, *corners: Point) -> None:
    for start, end in zip(corners, corners[1:], strict=False):
        sheet.add(elm.Line().at(start).to(end).color(_WATER).linewidth(3))


def _pond(sheet: schemdraw.Drawing) -> None:
    sheet.add(elm.Line().at((0, -1)).to((7.3, -1)).color(_WATER))
    say(sheet, (0.1, -0.6), "water, at its lowest")
    ground_line = ((7.9, 0.9), (7.3, -1.0), (6.4, -4.6), (0, -4.6))
    for start, end in zip(ground_line, ground_line[1:], strict=False):
        sheet.add(elm.Line().at(start).to(end))
    sheet.add(elm.Line().at((7.9, 0.9)).to((24.0, 0.9)))
    box(sheet, (5.2, -2.9), (6.0, -2.3), "")
    box(sheet, (5.2, -3.8), (6.0, -2.9), "")
    say(sheet, (4.9, -2.6), "foot valve", "right")
    say(sheet, (4.9, -3.4), "strainer, off the mud", "right")
    sheet.add(elm.Line(arrow="<->").at((1.4, -1.0)).to((1.4, -2.3)).linestyle(":"))
    say(sheet, (1.6, -1.65), "0.3 m or more")


def _at_outlet(sheet: schemdraw.Drawing) -> None:
    for x, text in ((12.0, "pressure\ntransducer"), (14.6, "pressure\nswitch")):
        _line(sheet, (x, 3.4), (x, 4.4))
        box(sheet, (x - 1.1, 4.4), (x + 1.1, 5.8), text)
    say(sheet, (13.3, 2.7), "hose", "center")
    _line(sheet, (16.6, 3.4), (16.6, 2.6))
    box(sheet, (16.2, 2.0), (17.0, 2.6), "")
    say(sheet, (17.2, 2.3), "drain point")


def _sprinkler(sheet: schemdraw.Drawing) -> None:
    box(sheet, (18.6, 3.9), (19.4, 4.5), "")
    say(sheet, (19.7, 4.2), "valve")
    box(sheet, (18.6, 5.0), (19.4, 5.6), "")
    say(sheet, (19.0, 6.2), "sprinkler", "center")
    for tip in ((22.0, 6.4), (23.0, 5.4)):
        sheet.add(elm.Line(arrow="->").at((19.4, 5.3)).to(tip).color(_WATER).linestyle(":"))
    say(
        sheet,
        (20.2, 1.6),
        "not for drinking: label the valve,\nno joint to a house supply",
        "center",
    )
