"""Wiring of one board: the way of the pump's current, the board's supply, and every pin."""

import schemdraw
from schemdraw import elements as elm

from device.pins import TABLE
from hardware_notes.drawings.marks import box, dot, ground, part, say, tag, wire

TITLES = {"rp2": "RP2040 class", "esp32": "ESP32"}
PREFIX = {"rp2": "GP", "esp32": "GPIO"}
_BOARD_X = 4.0
"""Right edge of the board; its pins go on from there."""


def draw(sheet: schemdraw.Drawing, board: str) -> None:
    """The whole sheet for one board of the table."""
    _pump_path(sheet, 21.0)
    _supply(sheet, 14.0)
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
    part(sheet, elm.Fuse, (0.6, y), (3.6, y), "main fuse\n25 A, at the post")
    part(sheet, elm.Switch, (3.6, y), (6.6, y), "hand switch")
    wire(sheet, (6.6, y), (8.4, y))
    dot(sheet, (7.5, y))
    wire(sheet, (7.5, y), (7.5, y - 1.2))
    tag(sheet, (7.5, y - 1.2), "A", "bottom")
    part(sheet, elm.Switch, (8.4, y), (11.4, y), "contact of the relay")
    part(sheet, elm.Switch, (11.4, y), (14.4, y), "second relay,\nwhere one is fitted", "bottom")
    wire(sheet, (14.4, y), (16.2, y))
    dot(sheet, (15.3, y))
    wire(sheet, (15.3, y), (15.3, y - 1.2))
    tag(sheet, (15.3, y - 1.2), "L", "bottom")
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


def _supply(sheet: schemdraw.Drawing, y: float) -> None:
    """From the battery's post, past the main fuse, to 5 V."""
    say(sheet, (0, y + 1.4), "The board's supply")
    tag(sheet, (0, y), "P", "left")
    part(sheet, elm.Fuse, (0, y), (3, y), "board fuse\n1 A, at the post")
    wire(sheet, (3, y), (4.5, y))
    dot(sheet, (4.2, y))
    part(sheet, elm.Zener, (4.2, y - 2.2), (4.2, y), "suppressor 18 V", "bottom")
    ground(sheet, (4.2, y - 2.2))
    part(sheet, elm.Schottky, (4.5, y), (7.5, y), "reverse polarity")
    wire(sheet, (7.5, y), (10.5, y))
    dot(sheet, (8.6, y))
    wire(sheet, (8.6, y), (8.6, y - 1.0))
    tag(sheet, (8.6, y - 1.0), "+12 V", "bottom")
    box(sheet, (10.5, y - 1.0), (14.1, y + 1.0), "converter\n12 V to 5 V")
    wire(sheet, (12.3, y - 1.0), (12.3, y - 1.8))
    ground(sheet, (12.3, y - 1.8))
    wire(sheet, (14.1, y), (15.6, y))
    tag(sheet, (15.6, y), "+5 V")


def _pins(sheet: schemdraw.Drawing, board: str) -> None:
    """The board with what hangs on each pin."""
    row = TABLE[board]
    say(sheet, (0, 9.9), f"The board: {TITLES[board]}")
    circuits = [
        ("relay", 7.6, _relay),
        ("second_relay", 4.4, _second_relay),
        ("load_sense", 3.4, _load_sense),
        ("battery", -0.2, _battery),
        ("pressure", -3.8, _pressure),
        ("frost", -7.4, _frost),
        ("current", -9.2, _current),
        ("rain", -10.8, _rain),
        ("button", -12.4, _button),
        ("sda", -14.2, _clock),
        ("scl", -15.2, None),
    ]
    bottom = -16.4
    if row["lamp"] != 25:
        circuits.append(("lamp", -17.2, _lamp))
        bottom = -18.2
    box(sheet, (0, bottom), (_BOARD_X, 9.0), "")
    for name, y, circuit in circuits:
        text = f"{PREFIX[board]}{row[name]} {name}"
        say(sheet, (_BOARD_X - 0.15, y), text, "right")
        if circuit:
            circuit(sheet, y)
    for y, text, name in ((8.4, "5 V", "+5 V"), (6.8, "3V3", "3.3 V")):
        wire(sheet, (0, y), (-1.0, y))
        tag(sheet, (-1.0, y), name, "left")
        say(sheet, (0.15, y), text)
    wire(sheet, (0, 5.2), (-1.0, 5.2), (-1.0, 4.6))
    ground(sheet, (-1.0, 4.6))
    say(sheet, (0.15, 5.2), "GND")


def _relay(sheet: schemdraw.Drawing, y: float) -> None:
    part(sheet, elm.Resistor, (_BOARD_X, y), (7.5, y), "470 Ω")
    dot(sheet, (8.0, y))
    wire(sheet, (7.5, y), (9.0, y))
    part(sheet, elm.Resistor, (8.0, y), (8.0, y - 2.2), "10 kΩ", "bottom")
    ground(sheet, (8.0, y - 2.2))
    transistor = sheet.add(elm.BjtNpn(circle=True).theta(0).anchor("base").at((9.0, y)))
    collector = tuple(transistor.absanchors["collector"])
    emitter = tuple(transistor.absanchors["emitter"])
    wire(sheet, emitter, (emitter[0], y - 1.4))
    ground(sheet, (emitter[0], y - 1.4))
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


def _second_relay(sheet: schemdraw.Drawing, y: float) -> None:
    wire(sheet, (_BOARD_X, y), (5.5, y))
    say(sheet, (5.8, y), "the same again, with parts of its own, where a second relay is fitted")


def _divided(
    sheet: schemdraw.Drawing, y: float, top: str, bottom: str, capacitor: str, source: str
) -> None:
    """Pin, lower resistor, filter, upper resistor, source."""
    wire(sheet, (_BOARD_X, y), (9.0, y))
    dot(sheet, (6.0, y))
    part(sheet, elm.Resistor, (6.0, y), (6.0, y - 2.2), bottom, "bottom")
    ground(sheet, (6.0, y - 2.2))
    if capacitor:
        dot(sheet, (8.6, y))
        part(sheet, elm.Capacitor, (8.6, y), (8.6, y - 2.2), capacitor, "bottom")
        ground(sheet, (8.6, y - 2.2))
    part(sheet, elm.Resistor, (9.0, y), (12.0, y), top)
    wire(sheet, (12.0, y), (13.5, y))
    if source:
        tag(sheet, (13.5, y), source)


def _load_sense(sheet: schemdraw.Drawing, y: float) -> None:
    _divided(sheet, y, "10 kΩ", "4.7 kΩ", "", "L")
    lines = (
        "load_sense, battery, pressure:",
        "two clamp diodes and 1 kΩ before",
        "the pin: see the divider",
    )
    say(sheet, (15.0, y - 1.5), "\n".join(lines))


def _battery(sheet: schemdraw.Drawing, y: float) -> None:
    _divided(sheet, y, "100 kΩ", "22 kΩ", "100 nF", "A")


def _sensor(sheet: schemdraw.Drawing, y: float, text: str, supply: str) -> None:
    """A bought sensor with output, supply and ground."""
    box(sheet, (13.5, y - 0.8), (17.5, y + 0.8), text)
    wire(sheet, (17.5, y + 0.4), (18.6, y + 0.4))
    tag(sheet, (18.6, y + 0.4), supply)
    wire(sheet, (17.5, y - 0.4), (18.6, y - 0.4))
    ground(sheet, (18.6, y - 0.4))


def _pressure(sheet: schemdraw.Drawing, y: float) -> None:
    _divided(sheet, y, "5.1 kΩ", "10 kΩ", "1000 nF", "")
    _sensor(sheet, y, "pressure\n0.5 to 4.5 V", "+5 V")


def _frost(sheet: schemdraw.Drawing, y: float) -> None:
    wire(sheet, (_BOARD_X, y), (13.5, y))
    _sensor(sheet, y, "frost sensor\n10 mV/°C", "3.3 V")


def _current(sheet: schemdraw.Drawing, y: float) -> None:
    wire(sheet, (_BOARD_X, y), (5.5, y))
    say(sheet, (5.8, y), "current sensor, where one is fitted (0 to 3.3 V)")


def _contact(sheet: schemdraw.Drawing, y: float, kind: type[elm.Element2Term], text: str) -> None:
    wire(sheet, (_BOARD_X, y), (6.0, y))
    part(sheet, kind, (6.0, y), (9.0, y))
    wire(sheet, (9.0, y), (10.0, y))
    ground(sheet, (10.0, y))
    say(sheet, (11.0, y), text)


def _rain(sheet: schemdraw.Drawing, y: float) -> None:
    _contact(sheet, y, elm.Switch, "rain contact")


def _button(sheet: schemdraw.Drawing, y: float) -> None:
    _contact(sheet, y, elm.Button, "push button")


def _clock(sheet: schemdraw.Drawing, y: float) -> None:
    wire(sheet, (_BOARD_X, y), (13.5, y))
    wire(sheet, (_BOARD_X, y - 1.0), (13.5, y - 1.0))
    box(sheet, (13.5, y - 1.6), (17.5, y + 0.6), "clock chip\nwith its cell")
    wire(sheet, (17.5, y), (18.6, y))
    tag(sheet, (18.6, y), "3.3 V")
    wire(sheet, (17.5, y - 1.0), (18.6, y - 1.0))
    ground(sheet, (18.6, y - 1.0))


def _lamp(sheet: schemdraw.Drawing, y: float) -> None:
    part(sheet, elm.Resistor, (_BOARD_X, y), (7.0, y), "1 kΩ")
    part(sheet, elm.LED, (7.0, y), (10.0, y))
    wire(sheet, (10.0, y), (10.6, y))
    ground(sheet, (10.6, y))
