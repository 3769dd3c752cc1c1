"""What all the circuit pictures are made of: wires by corner, parts between two points, tags."""

import schemdraw
from schemdraw import elements as elm

Point = tuple[float, float]


def wire(sheet: schemdraw.Drawing, *corners: Point) -> None:
    """A wire through these corners."""
    for start, end in zip(corners, corners[1:], strict=False):
        sheet.add(elm.Line().at(start).to(end))


def part(
    sheet: schemdraw.Drawing,
    kind: type[elm.Element2Term],
    start: Point,
    end: Point,
    text: str = "",
    side: str = "top",
) -> None:
    """A part of two ends between two points, with its value beside it."""
    element = kind().at(start).to(end)
    if text:
        element.label(text, loc=side, ofst=0.15)
    sheet.add(element)


def dot(sheet: schemdraw.Drawing, at: Point) -> None:
    """Two wires that are joined."""
    sheet.add(elm.Dot(radius=0.09).at(at))


def ground(sheet: schemdraw.Drawing, at: Point) -> None:
    """The common point of all grounds, at the battery's minus."""
    sheet.add(elm.Ground().at(at).theta(0))


def board_ground(sheet: schemdraw.Drawing, at: Point) -> None:
    """The board's own ground, which one wire joins to the common point."""
    sheet.add(elm.GroundSignal().at(at).theta(0))


def tag(sheet: schemdraw.Drawing, at: Point, text: str, side: str = "right") -> None:
    """The name of a wire that goes on elsewhere in the picture under the same name."""
    sheet.add(elm.Dot(open=True, radius=0.12).at(at).theta(0).label(text, loc=side))


def say(sheet: schemdraw.Drawing, at: Point, text: str, align: str = "left") -> None:
    """A remark."""
    sheet.add(elm.Label().at(at).theta(0).label(text, halign=align, valign="center", ofst=0))


def box(sheet: schemdraw.Drawing, low: Point, high: Point, text: str) -> None:
    """A thing that is bought whole."""
    outline = elm.Rect(corner1=(0, 0), corner2=(high[0] - low[0], high[1] - low[1]))
    sheet.add(outline.at(low).theta(0))
    say(sheet, ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2), text, "center")
