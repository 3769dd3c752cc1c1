"""Wiring of one board: the way of the pump's current, the board's supply, and every pin."""

import schemdraw
from schemdraw import elements as elm

from device.pins import TABLE
from hardware_notes.drawings.marks import (
    board_ground,
    box,
    dot,
    ground,
    part,
    say,
    tag,
    wire,
)

TITLES = {"rp2": "RP2040 class", "esp32": "ESP32"}
PREFIX = {"rp2": "GP", "esp32": "GPIO"}
SUPPLY_PIN = {"rp2": "VSYS", "esp32": "5V"}
"""The pin of 5 V behind the board's own diode from its USB; where there is none, see the page."""
_DOWN = 1.9
"""From a wire to the ground below it."""
_BOARD_X = 4.0
"""Right edge of the board; its pins go on from there."""


def draw(sheet: schemdraw.Drawing, board: str) -> None:
    """The whole sheet for one board of the table."""
    _pump_path(sheet, 23.6)
    _supply(sheet, 15.4, board)
    _pins(sheet, board)


def _pump_path(sheet: schemdraw.Drawing, y: float) -> None:
    """Battery, fuse, switch, contact, an optional second one, pressure switch, motor."""
    low = y - 4.0
    say(sheet, (0, y + 1.6), "The pump's current: thick wire")
    part(sheet, elm.Battery, (0, low), (0, y), "12 V", "bottom")
    wire(sheet, (0, y), (0.6, y))
    dot(sheet, (0.3, y))
    wire(sheet, (0.3, y), (0.3, y + 0.8))
    tag(sheet, (0.3, y + 0.8), "P", "top")
    part(sheet, elm.Fuse, (0.6, y), (2.9, y), "on the post\n30 to 60 A")
    part(sheet, elm.Fuse, (2.9, y), (5.2, y), "main fuse\n25 A, beside it")
    part(sheet, elm.Switch, (5.2, y), (7.5, y), "hand switch")
    wire(sheet, (7.5, y), (8.4, y))
    dot(sheet, (7.5, y))
    part(sheet, elm.Resistor, (7.5, y), (7.5, y - 2.4), "100 kΩ", "bottom")
    tag(sheet, (7.5, y - 2.4), "A", "bottom")
    part(sheet, elm.Switch, (8.4, y), (11.4, y), "contact of the relay")
    part(sheet, elm.Switch, (11.4, y), (14.4, y), "second relay,\nwhere one is fitted", "bottom")
    wire(sheet, (14.4, y), (16.2, y))
    dot(sheet, (15.3, y))
    part(sheet, elm.Resistor, (15.3, y), (15.3, y - 2.4), "10 kΩ", "bottom")
    tag(sheet, (15.3, y - 2.4), "L", "bottom")
    say(sheet, (9.8, y - 3.3), "both at the terminal")
    part(sheet, elm.Switch, (16.2, y), (19.2, y), "pressure switch")
    wire(sheet, (19.2, y), (24.0, y))
    part(sheet, elm.Motor, (20.4, y), (20.4, low), "pump", "top")
    part(sheet, elm.Diode, (22.2, low), (22.2, y))
    part(sheet, elm.Capacitor, (24.0, y), (24.0, low), "100 nF", "bottom")
    for x in (20.4, 22.2):
        dot(sheet, (x, y))
        dot(sheet, (x, low))
    wire(sheet, (0, low), (24.0, low))
    dot(sheet, (10.0, low))
    ground(sheet, (10.0, low))
    say(sheet, (10.5, low - 0.6), "the one common point")
    wire(sheet, (5.0, low), (5.0, low - 0.5))
    dot(sheet, (5.0, low))
    board_ground(sheet, (5.0, low - 0.5))
    say(sheet, (4.5, low - 0.8), "the board's ground: one wire", "right")


def _supply(sheet: schemdraw.Drawing, y: float, board: str) -> None:
    """From the battery's post, past the main fuse, to the board's pin of 5 V."""
    say(sheet, (0, y + 1.7), "The board's supply")
    tag(sheet, (0, y), "P", "left")
    part(sheet, elm.Fuse, (0, y), (3, y), "board fuse\n1 A, at the post")
    wire(sheet, (3, y), (4.5, y))
    _to_ground(sheet, elm.Zener, (4.2, y), "suppressor 18 V", upward=True)
    part(sheet, elm.Schottky, (4.5, y), (7.5, y), "reverse polarity")
    wire(sheet, (7.5, y), (11.4, y))
    _to_ground(sheet, elm.Capacitor2, (8.4, y), "470 µF")
    dot(sheet, (10.2, y))
    wire(sheet, (10.2, y), (10.2, y + 0.9))
    tag(sheet, (10.2, y + 0.9), "+12 V", "top")
    box(sheet, (11.4, y - 1.0), (14.4, y + 1.0), "converter\n12 V to 5 V")
    wire(sheet, (12.9, y - 1.0), (12.9, y - 1.8))
    ground(sheet, (12.9, y - 1.8))
    wire(sheet, (14.4, y), (18.0, y))
    _to_ground(sheet, elm.Zener, (15.6, y), "suppressor 5 V", upward=True)
    dot(sheet, (17.0, y))
    part(sheet, elm.Fuse, (17.0, y), (17.0, y + 2.4), "0.2 A, resettable", "bottom")
    tag(sheet, (17.0, y + 2.4), "+5 V out", "top")
    part(sheet, elm.Schottky, (18.0, y), (21.0, y))
    wire(sheet, (21.0, y), (23.0, y))
    _to_ground(sheet, elm.Capacitor2, (22.0, y), "100 µF")
    tag(sheet, (23.0, y), f"to {SUPPLY_PIN[board]}", "top")


def _to_ground(
    sheet: schemdraw.Drawing,
    kind: type[elm.Element2Term],
    at: tuple[float, float],
    text: str,
    upward: bool = False,
) -> None:
    """A part from a wire down to the board's ground, or ``upward`` from there to the wire."""
    low = (at[0], at[1] - _DOWN)
    dot(sheet, at)
    start, end = (low, at) if upward else (at, low)
    part(sheet, kind, start, end, text, "bottom")
    board_ground(sheet, low)


def _pins(sheet: schemdraw.Drawing, board: str) -> None:
    """The board with what hangs on each pin."""
    row = TABLE[board]
    say(sheet, (0, 9.9), f"The board: {TITLES[board]}")
    circuits = [
        ("relay", 7.6, _relay),
        ("second_relay", 3.2, _second_relay),
        ("load_sense", 1.0, _load_sense),
        ("battery", -3.4, _battery),
        ("pressure", -8.0, _pressure),
        ("frost", -12.6, _frost),
        ("current", -17.2, _current),
        ("rain", -21.8, _rain),
        ("button", -26.4, _button),
        ("flow", -30.8, _flow),
        ("sda", -35.0, _clock),
        ("scl", -36.0, None),
    ]
    bottom = -37.2
    if row["lamp"] != 25:
        circuits.append(("lamp", -38.0, _lamp))
        bottom = -39.0
    box(sheet, (0, bottom), (_BOARD_X, 9.0), "")
    for name, y, circuit in circuits:
        text = f"{PREFIX[board]}{row[name]} {name}"
        say(sheet, (_BOARD_X - 0.15, y), text, "right")
        if circuit:
            circuit(sheet, y)
    for y, text, name in ((8.4, SUPPLY_PIN[board], ""), (6.8, "3V3", "3.3 V")):
        wire(sheet, (0, y), (-1.0, y))
        tag(sheet, (-1.0, y), name, "left")
        say(sheet, (0.15, y), text)
    part(sheet, elm.Fuse, (0, 5.6), (-2.6, 5.6), "0.1 A, resettable", "bottom")
    tag(sheet, (-2.6, 5.6), "3.3 V out", "left")
    say(sheet, (0.15, 5.6), "3V3")
    for y in (4.0, 2.8):
        wire(sheet, (0, y), (-1.0, y))
        say(sheet, (0.15, y), "GND")
    wire(sheet, (-1.0, 4.0), (-1.0, 2.4))
    board_ground(sheet, (-1.0, 2.4))


def _relay(sheet: schemdraw.Drawing, y: float) -> None:
    part(sheet, elm.Resistor, (_BOARD_X, y), (7.5, y), "470 Ω")
    dot(sheet, (8.0, y))
    wire(sheet, (7.5, y), (9.0, y))
    part(sheet, elm.Resistor, (8.0, y), (8.0, y - 2.2), "10 kΩ", "bottom")
    board_ground(sheet, (8.0, y - 2.2))
    transistor = sheet.add(elm.BjtNpn(circle=True).theta(0).anchor("base").at((9.0, y)))
    collector = tuple(transistor.absanchors["collector"])
    emitter = tuple(transistor.absanchors["emitter"])
    wire(sheet, emitter, (emitter[0], y - 1.4))
    board_ground(sheet, (emitter[0], y - 1.4))
    x = collector[0]
    wire(sheet, collector, (x, y + 0.9), (12.0, y + 0.9))
    part(sheet, elm.Inductor2, (12.0, y + 0.9), (15.5, y + 0.9), "coil of the relay")
    wire(sheet, (15.5, y + 0.9), (17.0, y + 0.9))
    tag(sheet, (17.0, y + 0.9), "+12 V")
    wire(sheet, (12.0, y + 0.9), (12.0, y - 0.6))
    part(sheet, elm.Diode, (12.0, y - 0.6), (15.5, y - 0.6), "ring to +12 V", "bottom")
    wire(sheet, (15.5, y - 0.6), (15.5, y + 0.9))
    dot(sheet, (12.0, y + 0.9))
    dot(sheet, (15.5, y + 0.9))
    lines = (
        "The emitter returns to the board's ground.",
        "With that wire off nothing closes a circuit",
        "through coil or base: the relay stays open.",
    )
    say(sheet, (11.0, y - 2.6), "\n".join(lines))


def _second_relay(sheet: schemdraw.Drawing, y: float) -> None:
    wire(sheet, (_BOARD_X, y), (5.5, y))
    say(sheet, (5.8, y), "the same again, with parts of its own, where a second relay is fitted")


def _input(sheet: schemdraw.Drawing, y: float, top: str, bottom: str, capacitor: str) -> None:
    """Pin, 1 kΩ, clamp diodes, what divides and filters, and the first resistor of the lead."""
    part(sheet, elm.Resistor, (_BOARD_X, y), (6.6, y), "1 kΩ")
    wire(sheet, (6.6, y), (12.4, y))
    _to_ground(sheet, elm.Diode, (7.2, y), "", upward=True)
    part(sheet, elm.Diode, (7.2, y), (7.2, y + 1.4))
    tag(sheet, (7.2, y + 1.4), "3.3 V", "right")
    for x, kind, text in ((9.4, elm.Resistor, bottom), (11.4, elm.Capacitor, capacitor)):
        if text:
            _to_ground(sheet, kind, (x, y), text)
    if top:
        part(sheet, elm.Resistor, (12.4, y), (15.2, y), top)
    else:
        wire(sheet, (12.4, y), (15.2, y))


def _load_sense(sheet: schemdraw.Drawing, y: float) -> None:
    _input(sheet, y, "", "4.7 kΩ", "")
    tag(sheet, (15.2, y), "L")


def _battery(sheet: schemdraw.Drawing, y: float) -> None:
    _input(sheet, y, "", "22 kΩ", "100 nF")
    tag(sheet, (15.2, y), "A")


def _sensor(sheet: schemdraw.Drawing, y: float, text: str, supply: str) -> None:
    """A bought sensor with output, supply and ground."""
    box(sheet, (15.2, y - 0.8), (19.2, y + 0.8), text)
    wire(sheet, (19.2, y + 0.4), (20.3, y + 0.4))
    tag(sheet, (20.3, y + 0.4), supply)
    wire(sheet, (19.2, y - 0.4), (20.3, y - 0.4))
    board_ground(sheet, (20.3, y - 0.4))


def _pressure(sheet: schemdraw.Drawing, y: float) -> None:
    _input(sheet, y, "5.1 kΩ", "10 kΩ", "1000 nF")
    _sensor(sheet, y, "pressure\n0.5 to 4.5 V", "+5 V out")


def _frost(sheet: schemdraw.Drawing, y: float) -> None:
    _input(sheet, y, "4.7 kΩ", "", "100 nF")
    _sensor(sheet, y, "frost sensor\n10 mV/°C", "3.3 V out")


def _current(sheet: schemdraw.Drawing, y: float) -> None:
    _input(sheet, y, "4.7 kΩ", "", "100 nF")
    say(sheet, (15.5, y), "current sensor, where one is fitted\n(0 to 3.3 V, fed by 3.3 V out)")


def _contact(sheet: schemdraw.Drawing, y: float, kind: type[elm.Element2Term], text: str) -> None:
    _input(sheet, y, "4.7 kΩ", "", "")
    part(sheet, kind, (15.2, y), (18.2, y), text)
    wire(sheet, (18.2, y), (19.2, y))
    board_ground(sheet, (19.2, y))


def _rain(sheet: schemdraw.Drawing, y: float) -> None:
    _contact(sheet, y, elm.Switch, "rain contact")


def _button(sheet: schemdraw.Drawing, y: float) -> None:
    _contact(sheet, y, elm.Button, "push button")


def _flow(sheet: schemdraw.Drawing, y: float) -> None:
    """The input has a pull-up of its own: the pin's is weak for a lead in the open."""
    _input(sheet, y, "4.7 kΩ", "", "6.8 nF")
    x = _BOARD_X + 0.4
    dot(sheet, (x, y))
    part(sheet, elm.Resistor, (x, y), (x, y - 2.4), "220 kΩ", "bottom")
    tag(sheet, (x, y - 2.4), "3.3 V", "right")
    _sensor(sheet, y, "flow meter,\nwhere one is fitted", "+5 V out")


def _clock(sheet: schemdraw.Drawing, y: float) -> None:
    wire(sheet, (_BOARD_X, y), (13.5, y))
    wire(sheet, (_BOARD_X, y - 1.0), (13.5, y - 1.0))
    box(sheet, (13.5, y - 1.6), (17.5, y + 0.6), "clock chip\nwith its cell")
    wire(sheet, (17.5, y), (18.6, y))
    tag(sheet, (18.6, y), "3.3 V")
    wire(sheet, (17.5, y - 1.0), (18.6, y - 1.0))
    board_ground(sheet, (18.6, y - 1.0))


def _lamp(sheet: schemdraw.Drawing, y: float) -> None:
    part(sheet, elm.Resistor, (_BOARD_X, y), (7.0, y), "1 kΩ")
    part(sheet, elm.LED, (7.0, y), (10.0, y))
    wire(sheet, (10.0, y), (10.6, y))
    board_ground(sheet, (10.6, y))
