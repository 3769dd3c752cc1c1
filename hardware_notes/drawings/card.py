"""The card as it is soldered: rows and letters, parts from hole to hole."""

from hardware_notes.building import card
from hardware_notes.building.terminals import PLACES
from hardware_notes.drawings.svg import Point, Sheet

_PITCH = 27.0
_X0 = 190.0
_INK = {
    "R": "#8a5223",
    "C": "#1b5fc1",
    "D": "#c22",
    "F": "#e07b00",
    "Q": "#000",
    "link": "#2a8c3c",
}
_KINDS = (
    ("link", "link of wire"),
    ("R", "resistor"),
    ("D", "diode; the bar is its ring"),
    ("C", "capacitor; + where marked"),
    ("F", "resettable fuse"),
    ("Q", "transistor"),
)


def supply(sheet: Sheet, top: float) -> None:
    """Rows 1 to 13: what feeds the board and drives the relay."""
    _draw(sheet, top, 1, 17, card.SUPPLY)


def inputs(sheet: Sheet, top: float) -> None:
    """Rows 13 to 60: seven inputs."""
    _draw(sheet, top, 13, 60, card.INPUTS)


def second(sheet: Sheet, top: float) -> None:
    """Rows 53 to 60: the driver of a second relay."""
    _draw(sheet, top, 53, 60, card.SECOND)


def flow(sheet: Sheet, top: float) -> None:
    """Rows 40 to 47: the input of a flow meter."""
    _draw(sheet, top, 40, 47, card.FLOW)


def _draw(sheet: Sheet, top: float, first: int, last: int, parts: tuple[card.Part, ...]) -> None:
    _legend(sheet, top)
    top += 54

    def at(hole: str) -> Point:
        return (_X0 + card.column(hole) * _PITCH, top + 22 + (card.row(hole) - first) * _PITCH)

    _holes(sheet, top, first, last)
    for name, hole in card.TERMINALS.items():
        if first <= card.row(hole) <= last:
            _terminal(sheet, name, at(hole))
    for part in parts:
        points = [at(hole) for hole in part.holes if card.row(hole) <= last]
        if len(points) == len(part.holes):
            _part(sheet, part, points)
    if last < card.ROWS and any(card.row(hole) > last for p in parts for hole in p.holes):
        note = "One more link, below: L-60 to R-60."
        sheet.say((_X0, sheet.bottom + 26), note, ink=_INK["link"], bold=True)
    _values(sheet, parts)


def _legend(sheet: Sheet, top: float) -> None:
    for number, (kind, words) in enumerate(_KINDS):
        x, y = 30 + number % 3 * 270, top + number // 3 * 22
        sheet.line((x, y), (x + 30, y), _INK[kind], 4)
        sheet.say((x + 38, y + 4), words, size=12)


def _holes(sheet: Sheet, top: float, first: int, last: int) -> None:
    letters = [(f"1{letter}", letter) for letter in "abcdefghij"]
    for hole, words in [*letters, *((f"{rail}1", rail) for rail in card.RAILS)]:
        sheet.say((_X0 + card.column(hole) * _PITCH, top + 4), words, "middle", 12, bold=True)
    for row in range(first, last + 1):
        y = top + 22 + (row - first) * _PITCH
        for low, high in ((3, 7), (10, 14)):
            ends = [(_X0 + column * _PITCH, y) for column in (low, high)]
            sheet.line(ends[0], ends[1], "#ececE4", 15)
        sheet.say((_X0 + 8.5 * _PITCH, y + 4), str(row), "middle", 11, "#666")
        for rail in card.RAILS:
            x = _X0 + card.column(f"{rail}1") * _PITCH
            sheet.line((x, y - 12), (x, y + 12), "#d9e4ee" if rail[1] == "-" else "#f6dcdc", 11)
        for column in (0, 1, *range(3, 8), *range(10, 15), 16, 17):
            sheet.disc((_X0 + column * _PITCH, y), 2, "#999", "none")


def _terminal(sheet: Sheet, name: str, at: Point) -> None:
    """A point for a wire; its name and what it is stand at the nearer edge."""
    place, _, number = name.partition(".")
    words = PLACES[place].terminals[number]
    left = place in ("X4", "X6")
    sheet.disc(at, 8, "#ffe98a")
    edge = _X0 - 22 if left else _X0 + 17 * _PITCH + 22
    if left:
        sheet.line((edge, at[1]), (at[0] - 8, at[1]), "#bbb", 1, dashed=True)
        sheet.say((edge - 4, at[1] - 1), name, "end", 12, bold=True)
        sheet.say((edge - 4, at[1] + 11), words, "end", 10)
    else:
        sheet.line((at[0] + 8, at[1]), (edge, at[1]), "#bbb", 1, dashed=True)
        sheet.say((edge + 4, at[1] - 1), name, "start", 12, bold=True)
        sheet.say((edge + 4, at[1] + 11), words, "start", 10)


def _part(sheet: Sheet, part: card.Part, points: list[Point]) -> None:
    ink = _INK[part.kind]
    start, end = points[0], points[-1]
    dashed = bool(part.only) and part not in card.SECOND + card.FLOW
    sheet.line(start, end, ink, 3 if part.kind == "link" else 5, dashed=dashed)
    for x, y in points:
        sheet.disc((x, y), 4, ink, "none")
    if part.kind == "link":
        return
    if part.kind == "D":
        _ring(sheet, start, end, ink)
    if part.first == "the plus leg":
        sheet.say((start[0] + 8, start[1] - 5), "+", "middle", 16, ink, bold=True)
    if part.kind == "Q":
        for letter, (x, y) in zip("CBE", points, strict=True):
            sheet.say((x + 10, y + 4), letter, "middle", 12, bold=True)
    where = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    if part.kind == "Q":
        where = (where[0] - 22, where[1])
    _name(sheet, part, where)


def _ring(sheet: Sheet, start: Point, end: Point, ink: str) -> None:
    """A bar across the line, near the leg with the ring."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    x, y = start[0] + dx * 0.22, start[1] + dy * 0.22
    across = (-dy / length * 9, dx / length * 9)
    sheet.line((x - across[0], y - across[1]), (x + across[0], y + across[1]), ink, 5)


def _name(sheet: Sheet, part: card.Part, at: Point) -> None:
    half = 4 * len(part.id)
    sheet.box((at[0] - half, at[1] - 8), (at[0] + half, at[1] + 7), "white", "#ccc", round_px=2)
    sheet.say((at[0], at[1] + 4), part.id, "middle", 11, bold=True)


def _values(sheet: Sheet, parts: tuple[card.Part, ...]) -> None:
    """What each of them is, and which way round."""
    top = sheet.bottom + 30
    named = [part for part in parts if part.kind != "link"]
    rows = (len(named) + 2) // 3
    for number, part in enumerate(named):
        x, y = 30 + number // rows * 280, top + number % rows * 18
        only = ", current only" if part.only == "current sensor" else ""
        sheet.say((x, y), part.id, size=11, bold=True)
        sheet.say((x + 32, y), f"{part.value}{only}  {' - '.join(part.holes)}", size=11)
