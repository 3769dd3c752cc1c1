"""The card with the small parts: which part sits in which holes, and what must be joined by it.

The card is a solderable board that is laid out like a plug-in board for trials: in each row the
holes a to e are one piece of copper, f to j another, and along each side run two rails. A hole is
written "7c", or "L-7" for the left minus rail beside row 7. ``nets`` follows copper and links from
hole to hole; a test holds what it finds to CIRCUIT, which is the circuit of the wiring picture.
"""

from dataclasses import dataclass

ROWS = 60
RAILS = {"L-": "ground", "L+": "12 V behind the diode", "R+": "3.3 V", "R-": "ground"}


@dataclass(frozen=True)
class Part:
    """A part and its holes; ``first`` says what leads the way where it can be turned round."""

    id: str
    value: str
    holes: tuple[str, ...]
    first: str = ""
    only: str = ""
    """What it is left out without."""

    @property
    def kind(self) -> str:
        """R, C, D, F, Q, or a link of wire."""
        return self.id.rstrip("0123456789")


_BAND, _PLUS = "the ring", "the plus leg"

SUPPLY = (
    Part("D1", "suppressor 18 V", ("1a", "L-1"), _BAND),
    Part("D2", "Schottky 1 A, 40 V", ("5d", "1d"), _BAND),
    Part("link", "", ("3a", "L+3")),
    Part("link", "", ("5a", "L+5")),
    Part("link", "", ("5e", "5f")),
    Part("C1", "470 µF", ("5h", "2h"), _PLUS),
    Part("link", "", ("2j", "R-2")),
    Part("D3", "coil diode", ("3c", "7c"), _BAND),
    Part("Q1", "NPN", ("7d", "8d", "9d"), "collector, then base, then emitter"),
    Part("R1", "470 Ω", ("8e", "8h")),
    Part("R2", "10 kΩ", ("8a", "L-7")),
    Part("link", "", ("9a", "L-9")),
    Part("D4", "suppressor 5 V", ("11a", "L-11"), _BAND),
    Part("D5", "Schottky 1 A, 20 V", ("11g", "11e"), _BAND),
    Part("C2", "100 µF", ("11h", "13h"), _PLUS),
    Part("link", "", ("13j", "R-13")),
    Part("F3", "0.2 A resettable", ("11c", "13c")),
    Part("link", "", ("13b", "16b")),
    Part("link", "", ("L-60", "R-60")),
)


def _cell(
    row: int,
    number: int,
    top: str,
    earth: int = 0,
    bottom: str = "",
    capacitor: str = "",
    only: str = "",
) -> tuple[Part, ...]:
    """One input, six rows: the lead at the left, the solder point to the board at the right.

    ``earth`` is the row whose left half is ground.
    """
    node = row + 3
    first = Part(f"R{number}", top, (f"{row}d", f"{node}d"), "", only)
    if not top:
        first = Part("link", "", (f"{row}d", f"{node}d"))
    parts = [
        first,
        Part("link", "", (f"{node}e", f"{node}f"), "", only),
        Part(f"R{number + 2}", "1 kΩ", (f"{node}g", f"{row}g"), "", only),
        Part(f"D{number}", "clamp", (f"R+{row + 2}", f"{node}i"), _BAND, only),
        Part(f"D{number + 1}", "clamp", (f"{node}j", f"R-{row + 4}"), _BAND, only),
    ]
    if bottom:
        parts.append(Part(f"R{number + 1}", bottom, (f"{node}a", f"L-{node}"), "", only))
    if capacitor:
        parts.append(Part(f"C{number}", capacitor, (f"{node}c", f"{earth}c"), "", only))
    if earth:
        parts.append(Part("link", "", (f"{earth}a", f"L-{earth}"), "", only))
    return tuple(parts)


INPUTS = (
    *_cell(14, 10, "5.1 kΩ", 18, "10 kΩ", "1000 nF"),
    Part("F4", "0.1 A resettable", ("R+21", "22i")),
    Part("link", "", ("22f", "22e")),
    *_cell(20, 20, "4.7 kΩ", 24, "", "100 nF"),
    *_cell(26, 30, "4.7 kΩ", 28),
    *_cell(32, 40, "4.7 kΩ", 34),
    *_cell(38, 50, "4.7 kΩ", 40, "", "100 nF", "current sensor"),
    *_cell(44, 60, "", 48, "22 kΩ", "100 nF"),
    *_cell(50, 70, "", 0, "4.7 kΩ"),
)
_SECOND = "second relay"
SECOND = (
    Part("link", "", ("55a", "L+55"), "", _SECOND),
    Part("D6", "coil diode", ("55c", "57c"), _BAND, _SECOND),
    Part("Q2", "NPN", ("57d", "58d", "59d"), "collector, then base, then emitter", _SECOND),
    Part("R3", "470 Ω", ("58e", "60f"), "", _SECOND),
    Part("R4", "10 kΩ", ("58a", "L-57"), "", _SECOND),
    Part("link", "", ("59a", "L-59"), "", _SECOND),
)
"""The driver of a second relay: the first one's again, and nothing common to both."""
_FLOW = "flow meter"
FLOW = (
    Part("R80", "4.7 kΩ", ("42b", "45b"), "", _FLOW),
    Part("link", "", ("45e", "45f"), "", _FLOW),
    Part("R81", "220 kΩ", ("R+42", "42j"), "", _FLOW),
    Part("R82", "1 kΩ", ("45h", "42h"), "", _FLOW),
    Part("D80", "clamp", ("R+44", "45i"), _BAND, _FLOW),
    Part("D81", "clamp", ("45j", "R-46"), _BAND, _FLOW),
    Part("C80", "6.8 nF", ("45c", "43c"), "", _FLOW),
    Part("link", "", ("43a", "L-43"), "", _FLOW),
)
"""The input of a flow meter, in rows that the others leave free."""
PARTS = SUPPLY + INPUTS + SECOND + FLOW

TERMINALS = {
    "X4.1": "1b",
    "X4.2": "3b",
    "X4.3": "5b",
    "X4.4": "7b",
    "X4.5": "9b",
    "X4.6": "11b",
    "X6.1": "14a",
    "X6.2": "16a",
    "X6.3": "18b",
    "X6.4": "20a",
    "X6.5": "22a",
    "X6.6": "24b",
    "X6.7": "26a",
    "X6.8": "28b",
    "X6.9": "32a",
    "X6.10": "34b",
    "X6.11": "38a",
    "X6.12": "40b",
    "X4.7": "44a",
    "X4.8": "50a",
    "X5.1": "8j",
    "X5.10": "11j",
    "X5.4": "14j",
    "X5.5": "20j",
    "X5.6": "26j",
    "X5.7": "32j",
    "X5.8": "38j",
    "X5.3": "44j",
    "X5.2": "50j",
    "X5.14": "R-55",
    "X5.9": "R+56",
    "X5.11": "R-57",
    "X5.12": "R+58",
    "X5.13": "R-59",
    "X4.9": "55b",
    "X4.10": "57b",
    "X5.15": "60j",
    "X6.13": "42a",
    "X6.14": "43e",
    "X5.16": "42i",
}
"""The solder points, each with its hole: to the box (X4), the sensors (X6) and the board (X5)."""

CIRCUIT = {
    "ground": "X4.5 X6.3 X6.6 X6.8 X6.10 X6.12 X5.11 X5.13 X5.14 D1.2 C1.2 Q1.3 R2.2 D4.2 C2.2 "
    "R11.2 C10.2 D11.2 C20.2 D21.2 D31.2 D41.2 C50.2 D51.2 R61.2 C60.2 D61.2 R71.2 D71.2 "
    "Q2.3 R4.2 X6.14 C80.2 D81.2",
    "12 V in": "X4.1 D1.1 D2.2",
    "12 V behind the diode": "X4.2 X4.3 D2.1 C1.1 D3.1 X4.9 D6.1",
    "collector": "X4.4 D3.2 Q1.1",
    "base": "Q1.2 R1.1 R2.1",
    "relay": "X5.1 R1.2",
    "second collector": "X4.10 D6.2 Q2.1",
    "second base": "Q2.2 R3.1 R4.1",
    "second relay": "X5.15 R3.2",
    "5 V": "X4.6 D4.1 D5.2 F3.1",
    "5 V to the board": "X5.10 D5.1 C2.1",
    "5 V out": "X6.2 F3.2",
    "3.3 V": "X5.9 X5.12 F4.1 D10.1 D20.1 D30.1 D40.1 D50.1 D60.1 D70.1 D80.1 R81.1",
    "3.3 V out": "X6.5 F4.2",
    "pressure lead": "X6.1 R10.1",
    "pressure node": "R10.2 R12.1 R11.1 C10.1 D10.2 D11.1",
    "pressure": "X5.4 R12.2",
    "frost lead": "X6.4 R20.1",
    "frost node": "R20.2 R22.1 C20.1 D20.2 D21.1",
    "frost": "X5.5 R22.2",
    "rain lead": "X6.7 R30.1",
    "rain node": "R30.2 R32.1 D30.2 D31.1",
    "rain": "X5.6 R32.2",
    "button lead": "X6.9 R40.1",
    "button node": "R40.2 R42.1 D40.2 D41.1",
    "button": "X5.7 R42.2",
    "current lead": "X6.11 R50.1",
    "current node": "R50.2 R52.1 C50.1 D50.2 D51.1",
    "current": "X5.8 R52.2",
    "battery node": "X4.7 R61.1 R62.1 C60.1 D60.2 D61.1",
    "battery": "X5.3 R62.2",
    "load node": "X4.8 R71.1 R72.1 D70.2 D71.1",
    "load_sense": "X5.2 R72.2",
    "flow lead": "X6.13 R80.1",
    "flow node": "R80.2 R82.1 C80.1 D80.2 D81.1",
    "flow": "X5.16 R81.2 R82.2",
}
"""What must be joined, by part and leg or terminal. A second table on purpose: see the tests."""


def copper(hole: str) -> str:
    """The piece of copper in which a hole is.

    >>> copper("7c"), copper("7f"), copper("L-7")
    ('7 left', '7 right', 'L-')
    """
    if hole[:2] in RAILS:
        return hole[:2]
    return f"{hole[:-1]} {'left' if hole[-1] in 'abcde' else 'right'}"


def nets() -> set[frozenset[str]]:
    """What is joined on the card as it is laid out: legs and terminals, a set for each net."""
    joined = {copper(hole): copper(hole) for part in PARTS for hole in part.holes}
    joined |= {copper(hole): copper(hole) for hole in TERMINALS.values()}

    def root(piece: str) -> str:
        while joined[piece] != piece:
            piece = joined[piece]
        return piece

    for part in PARTS:
        if part.kind == "link":
            joined[root(copper(part.holes[0]))] = root(copper(part.holes[1]))
    found: dict[str, set[str]] = {}
    for name, hole in TERMINALS.items():
        found.setdefault(root(copper(hole)), set()).add(name)
    for part in PARTS:
        if part.kind != "link":
            for leg, hole in enumerate(part.holes, 1):
                found.setdefault(root(copper(hole)), set()).add(f"{part.id}.{leg}")
    return {frozenset(one) for one in found.values()}


def column(hole: str) -> float:
    """Where a hole lies from the left, in holes.

    >>> column("L-7"), column("7a"), column("7j"), column("R-7")
    (0.0, 3.0, 14.0, 17.0)
    """
    rails = {"L-": 0.0, "L+": 1.0, "R+": 16.0, "R-": 17.0}
    if hole[:2] in rails:
        return rails[hole[:2]]
    at = "abcdefghij".index(hole[-1])
    return 3.0 + at + (2.0 if at > 4 else 0.0)


def row(hole: str) -> int:
    """The row of a hole.

    >>> row("17c"), row("R-60")
    (17, 60)
    """
    return int(hole[2:]) if hole[:2] in RAILS else int(hole[:-1])
