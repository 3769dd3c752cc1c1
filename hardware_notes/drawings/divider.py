"""The divider and filter before a converter pin, with its clamp diodes."""

import schemdraw
from schemdraw import elements as elm

from device.pins import TABLE
from hardware_notes.drawings.marks import board_ground, dot, part, say, tag, wire


def draw(sheet: schemdraw.Drawing) -> None:
    """Battery and pressure, one above the other."""
    _divider(sheet, 0.0, "Battery", "battery", ("100 kΩ", "22 kΩ", "100 nF"), "battery", "88 Hz")
    _divider(
        sheet, -9.0, "Pressure", "transducer", ("5.1 kΩ", "10 kΩ", "1000 nF"), "pressure", "47 Hz"
    )
    say(sheet, (-1.0, -13.6), "The 100 kΩ sit at the terminal where the battery is tapped.")


def _divider(
    sheet: schemdraw.Drawing,
    y: float,
    title: str,
    source: str,
    values: tuple[str, str, str],
    pin: str,
    corner: str,
) -> None:
    top, bottom, capacitor = values
    say(sheet, (-1.0, y + 3.2), f"{title}: corner at {corner}")
    tag(sheet, (0, y), source, "left")
    part(sheet, elm.Resistor, (0, y), (3, y), top)
    wire(sheet, (3, y), (10.4, y))
    part(sheet, elm.Resistor, (10.4, y), (13.4, y), "1 kΩ")
    part(sheet, elm.Resistor, (4, y), (4, y - 2.6), bottom, "bottom")
    part(sheet, elm.Capacitor, (6.6, y), (6.6, y - 2.6), capacitor, "bottom")
    part(sheet, elm.Diode, (9.6, y - 2.6), (9.6, y), "clamp", "bottom")
    part(sheet, elm.Diode, (9.6, y), (9.6, y + 2.0), "clamp", "bottom")
    tag(sheet, (9.6, y + 2.0), "3.3 V", "top")
    for x in (4, 6.6, 9.6):
        dot(sheet, (x, y))
        board_ground(sheet, (x, y - 2.6))
    pins = f"GP{TABLE['rp2'][pin]} or GPIO{TABLE['esp32'][pin]}"
    tag(sheet, (13.4, y), pins)
