"""Every place that a wire ends at, with its terminals. Numbers are those written on the strips."""

from dataclasses import dataclass

from device.pins import TABLE

BOARDS = {"rp2": "RP2040 class", "esp32": "ESP32"}
_PREFIX = {"rp2": "GP", "esp32": "GPIO"}
_SUPPLY = {
    "rp2": {"5V": "VSYS", "3V3": "3V3", "GND1": "GND", "GND2": "GND"},
    "esp32": {"5V": "5V or VIN", "3V3": "3V3", "GND1": "GND", "GND2": "GND"},
}
SIGNALS = (
    "relay",
    "load_sense",
    "battery",
    "pressure",
    "frost",
    "rain",
    "button",
    "current",
    "lamp",
    "sda",
    "scl",
    "second_relay",
    "flow",
)
"""What is wired to a pin of the board; the names are those of the firmware's table."""


@dataclass(frozen=True)
class Place:
    """A thing with terminals."""

    name: str
    terminals: dict[str, str]
    """What each is, by its number or mark."""


PLACES = {
    "BAT": Place("battery", {"+": "positive clamp", "-": "negative clamp"}),
    "F0": Place("fuse on the post", {"1": "to the clamp", "2": "to the main fuse"}),
    "F1": Place("main fuse", {"1": "from the post", "2": "to the box"}),
    "F2": Place("board fuse", {"1": "from the post", "2": "to the box"}),
    "S1": Place("hand switch", {"1": "from the main fuse", "2": "to the relay"}),
    "K1": Place(
        "relay",
        {"30": "contact, supply", "87": "contact, pump", "85": "coil", "86": "coil, plus"},
    ),
    "K2": Place(
        "second relay",
        {"30": "contact, supply", "87": "contact, pump", "85": "coil", "86": "coil, plus"},
    ),
    "X1": Place(
        "power strip",
        {
            "1": "from the main fuse",
            "2": "behind the hand switch",
            "3": "battery sense, by 100 kΩ",
            "4": "pump, plus",
            "5": "load sense, by 10 kΩ",
            "6": "from the board fuse",
        },
    ),
    "X2": Place(
        "ground bar",
        {
            "1": "battery, minus",
            "2": "pump, minus",
            "3": "the board's ground",
            "4": "converter, ground",
        },
    ),
    "X3": Place(
        "sensor strip",
        {
            "1": "pressure, signal",
            "2": "pressure, 5 V",
            "3": "pressure, ground",
            "4": "frost, signal",
            "5": "frost, 3.3 V",
            "6": "frost, ground",
            "7": "rain, contact",
            "8": "rain, ground",
            "9": "button, contact",
            "10": "button, ground",
            "11": "current, signal",
            "12": "current, ground",
            "13": "flow, pulses",
            "14": "flow, ground",
        },
    ),
    "X4": Place(
        "card, to the box",
        {
            "1": "12 V from the board fuse",
            "2": "12 V to the converter",
            "3": "coil, plus",
            "4": "coil, minus: the transistor",
            "5": "ground, for the meter",
            "6": "5 V from the converter",
            "7": "battery sense",
            "8": "load sense",
            "9": "second coil, plus",
            "10": "second coil, minus",
        },
    ),
    "X5": Place(
        "card, to the board",
        {
            "1": "relay",
            "2": "load_sense",
            "3": "battery",
            "4": "pressure",
            "5": "frost",
            "6": "rain",
            "7": "button",
            "8": "current",
            "9": "3.3 V from the board",
            "10": "5 V to the board",
            "11": "ground from the board",
            "12": "3.3 V to the clock",
            "13": "ground to the clock",
            "14": "ground to the lamp",
            "15": "second_relay",
            "16": "flow",
        },
    ),
    "X6": Place(
        "card, to the sensors",
        {
            "1": "pressure, signal",
            "2": "pressure, 5 V",
            "3": "pressure, ground",
            "4": "frost, signal",
            "5": "frost, 3.3 V",
            "6": "frost, ground",
            "7": "rain, contact",
            "8": "rain, ground",
            "9": "button, contact",
            "10": "button, ground",
            "11": "current, signal",
            "12": "current, ground",
            "13": "flow, pulses",
            "14": "flow, ground",
        },
    ),
    "A1": Place(
        "board",
        {"5V": "5 V in", "3V3": "3.3 V out", "GND1": "ground", "GND2": "another ground"}
        | {name: name for name in SIGNALS},
    ),
    "U1": Place(
        "converter",
        {"IN+": "12 V", "IN-": "ground", "OUT+": "5 V", "OUT-": "empty"},
    ),
    "U2": Place("clock chip", {"VCC": "3.3 V", "GND": "ground", "SDA": "data", "SCL": "clock"}),
    "H1": Place("lamp with its 1 kΩ", {"1": "long leg, by the 1 kΩ", "2": "short leg"}),
    "P1": Place("pressure transducer", {"+": "5 V", "out": "signal", "-": "ground"}),
    "T1": Place("frost sensor", {"+": "3.3 V", "out": "signal", "-": "ground"}),
    "I1": Place("current sensor", {"+": "3.3 V", "out": "signal", "-": "ground"}),
    "G1": Place("flow meter", {"+": "5 V", "out": "pulses", "-": "ground"}),
    "S2": Place("pressure switch", {"1": "from the box", "2": "to the motor"}),
    "S3": Place("rain contact", {"1": "contact", "2": "contact"}),
    "S4": Place("push button", {"1": "contact", "2": "contact"}),
    "M1": Place("pump", {"+": "red wire", "-": "black wire"}),
}


def is_terminal(name: str) -> bool:
    """Whether there is such a terminal.

    >>> is_terminal("X1.6"), is_terminal("X1.7"), is_terminal("K1.87a")
    (True, False, False)
    """
    place, _, number = name.partition(".")
    return place in PLACES and number in PLACES[place].terminals


def pin_name(terminal: str, board: str) -> str:
    """What is printed beside a terminal of the board.

    >>> pin_name("A1.relay", "rp2"), pin_name("A1.5V", "rp2"), pin_name("A1.lamp", "esp32")
    ('GP18', 'VSYS', 'GPIO27')
    """
    number = terminal.partition(".")[2]
    supply = _SUPPLY[board].get(number)
    return supply or f"{_PREFIX[board]}{TABLE[board][number]}"


def shown(terminal: str) -> str:
    """A terminal as a person finds it: the board's by what is printed on either board.

    The lamp of an RP2040 board is on it: that pin is wired on the other board alone.

    >>> shown("X1.6"), shown("A1.battery"), shown("A1.GND2")
    ('X1.6', 'A1 GP26 / GPIO34', 'A1 GND')
    """
    if not terminal.startswith("A1."):
        return terminal
    if terminal == "A1.lamp":
        return f"A1 {pin_name(terminal, 'esp32')}"
    first, second = (pin_name(terminal, board) for board in BOARDS)
    return f"A1 {first}" if first == second else f"A1 {first} / {second}"
