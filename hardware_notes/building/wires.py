"""Every wire: from, to, what it carries. The pins of the board are the firmware's own."""

from dataclasses import dataclass

from hardware_notes.building.terminals import SIGNALS


@dataclass(frozen=True)
class Kind:
    """What a wire carries decides its gauge and its colour."""

    carries: str
    gauge: str
    colour: str
    ink: str
    """The colour on the pictures."""


_THICK = "12 AWG or 4 mm²"
_FEED = "18 AWG or 0.75 mm²"
_COIL = "20 AWG or 0.5 mm²"
_THIN = "24 AWG or 0.25 mm²"

KINDS = {
    "plus": Kind("battery plus", _THICK, "red", "#c22"),
    "pump": Kind("plus of the pump, behind the relay", _THICK, "brown", "#8a5223"),
    "minus": Kind("minus", _THICK, "black", "#000"),
    "feed": Kind("12 V of the board", _FEED, "red", "#c22"),
    "ground": Kind("the board's ground", _FEED, "black", "#000"),
    "coil": Kind("coil of the relay", _COIL, "blue", "#1b5fc1"),
    "5 V": Kind("5 V", _COIL, "orange", "#e07b00"),
    "5 V out": Kind("5 V of the transducer", _THIN, "orange", "#e07b00"),
    "3.3 V": Kind("3.3 V", _THIN, "violet", "#8433b5"),
    "reading": Kind("a voltage that is read", _THIN, "white", "#8d9aa5"),
    "contact": Kind("high or low", _THIN, "grey", "#555"),
    "return": Kind("ground of a sensor", _THIN, "black", "#000"),
}
"""Green with yellow is the protective earth of the mains, and is nowhere in this box."""


@dataclass(frozen=True)
class Wire:
    """One wire. ``cable`` is the sheath in which it lies outside of the box."""

    start: str
    end: str
    kind: str
    length_m: float
    cable: str = ""
    only: str = ""
    """The board or the part without which this wire is not there."""

    @property
    def gauge(self) -> str:
        """Thickness, in both ways of saying it."""
        return KINDS[self.kind].gauge

    @property
    def colour(self) -> str:
        """Of its insulation."""
        return KINDS[self.kind].colour


_CARD_OF = {
    "relay": ("X5.1", "contact"),
    "load_sense": ("X5.2", "contact"),
    "battery": ("X5.3", "reading"),
    "pressure": ("X5.4", "reading"),
    "frost": ("X5.5", "reading"),
    "rain": ("X5.6", "contact"),
    "button": ("X5.7", "contact"),
    "current": ("X5.8", "reading"),
    "lamp": ("H1.1", "contact"),
    "sda": ("U2.SDA", "contact"),
    "scl": ("U2.SCL", "contact"),
}
"""Where the pins are wired to, and what the wires carry; those of a second relay and of a flow
meter are laid last."""
_ONLY = {"current": "current sensor", "lamp": "ESP32"}


def _to_the_pins() -> tuple[Wire, ...]:
    return tuple(
        Wire(_CARD_OF[name][0], f"A1.{name}", _CARD_OF[name][1], 0.15, only=_ONLY.get(name, ""))
        for name in SIGNALS
        if name in _CARD_OF
    )


WIRES = (
    Wire("F0.2", "F1.1", "plus", 0.1),
    Wire("BAT.+", "F2.1", "feed", 0.1),
    Wire("F1.2", "X1.1", "plus", 0.5, "W1"),
    Wire("BAT.-", "X2.1", "minus", 0.6, "W1"),
    Wire("F2.2", "X1.6", "feed", 0.5, "W2"),
    Wire("X1.1", "S1.1", "plus", 0.25),
    Wire("S1.2", "X1.2", "plus", 0.25),
    Wire("X1.2", "K1.30", "plus", 0.2),
    Wire("K1.87", "X1.4", "pump", 0.2),
    Wire("X1.6", "X4.1", "feed", 0.25),
    Wire("X4.3", "K1.86", "coil", 0.25),
    Wire("X4.4", "K1.85", "coil", 0.25),
    Wire("X1.3", "X4.7", "reading", 0.3),
    Wire("X1.5", "X4.8", "reading", 0.3),
    Wire("X4.2", "U1.IN+", "feed", 0.15),
    Wire("U1.IN-", "X2.4", "ground", 0.25),
    Wire("U1.OUT+", "X4.6", "5 V", 0.15),
    Wire("A1.GND1", "X2.3", "ground", 0.25),
    Wire("A1.GND2", "X5.11", "ground", 0.15),
    Wire("A1.3V3", "X5.9", "3.3 V", 0.15),
    Wire("X5.10", "A1.5V", "5 V", 0.15),
    *_to_the_pins(),
    Wire("X5.12", "U2.VCC", "3.3 V", 0.15),
    Wire("X5.13", "U2.GND", "return", 0.15),
    Wire("X5.14", "H1.2", "return", 0.2, only="ESP32"),
    Wire("X6.1", "X3.1", "reading", 0.15),
    Wire("X6.2", "X3.2", "5 V", 0.15),
    Wire("X6.3", "X3.3", "return", 0.15),
    Wire("X6.4", "X3.4", "reading", 0.15),
    Wire("X6.5", "X3.5", "3.3 V", 0.15),
    Wire("X6.6", "X3.6", "return", 0.15),
    Wire("X6.7", "X3.7", "contact", 0.15),
    Wire("X6.8", "X3.8", "return", 0.15),
    Wire("X6.9", "X3.9", "contact", 0.15),
    Wire("X6.10", "X3.10", "return", 0.15),
    Wire("X6.11", "X3.11", "reading", 0.15, only="current sensor"),
    Wire("X6.12", "X3.12", "return", 0.15, only="current sensor"),
    Wire("P1.out", "X3.1", "reading", 1.5, "W4"),
    Wire("P1.+", "X3.2", "5 V out", 1.5, "W4"),
    Wire("P1.-", "X3.3", "return", 1.5, "W4"),
    Wire("T1.out", "X3.4", "reading", 2.0, "W5"),
    Wire("T1.+", "X3.5", "3.3 V", 2.0, "W5"),
    Wire("T1.-", "X3.6", "return", 2.0, "W5"),
    Wire("S3.1", "X3.7", "contact", 2.0, "W6"),
    Wire("S3.2", "X3.8", "return", 2.0, "W6"),
    Wire("S4.1", "X3.9", "contact", 0.3),
    Wire("S4.2", "X3.10", "return", 0.3),
    Wire("I1.out", "X3.11", "reading", 0.3, only="current sensor"),
    Wire("I1.-", "X3.12", "return", 0.3, only="current sensor"),
    Wire("I1.+", "X3.5", "3.3 V", 0.3, only="current sensor"),
    Wire("X1.4", "S2.1", "pump", 0.7, "W3"),
    Wire("S2.2", "M1.+", "pump", 0.1),
    Wire("X2.2", "M1.-", "minus", 0.8, "W3"),
    Wire("K1.87", "K2.30", "pump", 0.2, only="second relay"),
    Wire("K2.87", "X1.4", "pump", 0.2, only="second relay"),
    Wire("X4.9", "K2.86", "coil", 0.35, only="second relay"),
    Wire("X4.10", "K2.85", "coil", 0.35, only="second relay"),
    Wire("X5.15", "A1.second_relay", "contact", 0.2, only="second relay"),
    Wire("X5.16", "A1.flow", "contact", 0.15, only="flow meter"),
    Wire("X6.13", "X3.13", "contact", 0.15, only="flow meter"),
    Wire("X6.14", "X3.14", "return", 0.15, only="flow meter"),
    Wire("G1.out", "X3.13", "contact", 1.5, "W7", only="flow meter"),
    Wire("G1.+", "X3.2", "5 V out", 1.5, "W7", only="flow meter"),
    Wire("G1.-", "X3.14", "return", 1.5, "W7", only="flow meter"),
)
"""In the order in which the guide lays them, about. Lengths are hints: measure, and add a loop."""
NUMBER = {wire: number for number, wire in enumerate(WIRES, 1)}
"""What stands on the tag at each end of a wire."""


def wire_between(start: str, end: str) -> Wire:
    """The wire with these ends; raises KeyError where there is none."""
    for wire in WIRES:
        if (wire.start, wire.end) == (start, end):
            return wire
    raise KeyError(f"no wire from {start} to {end}")
