"""The steps that join card, board, strips and relay, still without power."""

from hardware_notes.building.step import BEEP, FINGERS, OHM, Check, Need, Step

JOINING = (
    Step(
        "Board, converter and clock; grounds first",
        (
            Need(1, "board"),
            Need(1, "screw adapter for the board"),
            Need(1, "step-down converter, 12 V to 5 V"),
            Need(1, "clock chip with its own cell"),
            Need(1, "feed wire"),
            Need(1, "thin wire"),
            Need(1, "spacers and screws"),
        ),
        FINGERS + ", soldering iron for the card's points",
        (
            "Put the card, the board in its adapter A1, converter U1 and clock U2 on the plate "
            "as in the picture of step 2, on spacers and screws of plastic, the USB socket where "
            "a cable can reach it. A wire to a point of the card: 5 mm of bare end through the "
            "hole, soldered below. Read on [parts](parts.md#clock) which cell the clock takes.",
            "Two GND screws of A1 are used: one goes to the ground bar, the other to the card. "
            "**Nothing of the card goes to the bar itself**: with its emitter there the relay "
            "could close when the board loses its ground ([why](wiring.md#grounds)).",
            "Converter: only its inputs now, its minus to the bar and not to the card: without "
            "its ground it may pass 12 V. Its output waits for step 12.",
        ),
        (
            Check("X4.5", "X2.3", BEEP, "beeps", "one of the two GND wires, or link L-60 to R-60"),
            Check(
                "A1.3V3",
                "A1.GND1",
                BEEP,
                "silent, after a moment",
                "goes on: a bridge of solder on the card between R+ and R-, or 3V3 and GND "
                "exchanged",
            ),
            Check(
                "U1.IN-",
                "U1.OUT-",
                BEEP,
                "beeps: OUT- stays empty",
                "silent: its two sides are apart; this converter is not for this box",
            ),
        ),
        wires=(
            ("A1.GND1", "X2.3"),
            ("A1.GND2", "X5.11"),
            ("A1.3V3", "X5.9"),
            ("X4.2", "U1.IN+"),
            ("U1.IN-", "X2.4"),
            ("X5.12", "U2.VCC"),
            ("X5.13", "U2.GND"),
        ),
    ),
    Step(
        "From the card to the pins",
        (Need(1, "lamp"),),
        FINGERS + ", soldering iron for the card's points",
        (
            "Each to the pin that is named for your board: the number of the chip, printed on "
            "the adapter, not counted along the edge. What is marked for the other board, or "
            "for a sensor that you have not, is left out.",
            "An ESP32 has no lamp of its own: a light-emitting diode with 1 kΩ in a sleeve on "
            "its long leg, glued behind a hole of its size in the lid.",
        ),
        (
            Check(
                "X5.1",
                "A1.relay",
                BEEP,
                "beeps",
                "another pin: count by the number of the chip, printed on the adapter",
            ),
            Check("X5.3", "A1.battery", BEEP, "beeps", "as above"),
            Check(
                "U2.SDA",
                "A1.sda",
                BEEP,
                "beeps, and so does each wire of this step",
                "SDA and SCL are exchanged, or another pin",
            ),
            Check(
                "A1.relay",
                "A1.load_sense",
                BEEP,
                "silent, as any pin to its neighbour",
                "a strand across two screws: cut it, crimp anew",
            ),
        ),
        wires=(
            ("X5.1", "A1.relay"),
            ("X5.2", "A1.load_sense"),
            ("X5.3", "A1.battery"),
            ("X5.4", "A1.pressure"),
            ("X5.5", "A1.frost"),
            ("X5.6", "A1.rain"),
            ("X5.7", "A1.button"),
            ("X5.8", "A1.current"),
            ("U2.SDA", "A1.sda"),
            ("U2.SCL", "A1.scl"),
            ("H1.1", "A1.lamp"),
            ("X5.14", "H1.2"),
        ),
    ),
    Step(
        "From the card to strips and relay",
        (Need(1, "coil and 5 V wire"),),
        FINGERS,
        (
            "86 takes the plus of the coil; on a relay with a diode inside it is the one that "
            "is marked plus. The two sense wires begin behind their resistors.",
        ),
        (
            Check(
                "X4.3",
                "X4.4",
                OHM,
                "80 to 120 Ω, the coil",
                "no reading: 85 or 86 is not reached; near 0: the two wires touch",
            ),
            Check(
                "X1.2",
                "A1.battery",
                OHM,
                "99 to 103 kΩ",
                "11 kΩ: the two sense wires 13 and 14 are exchanged; no reading: wire 13 or 24",
            ),
            Check(
                "X1.4",
                "A1.load_sense",
                OHM,
                "10.4 to 11.6 kΩ",
                "101 kΩ: the two sense wires are exchanged; no reading: wire 14 or 23",
            ),
            Check(
                "X3.1",
                "A1.pressure",
                OHM,
                "6.0 to 6.2 kΩ",
                "no reading: wire 36 or 25; another value: on another screw of X3",
            ),
            Check(
                "X3.3",
                "X2.3",
                BEEP,
                "beeps, as do X3.6, X3.8 and X3.10",
                "count the screws of X3 anew: signal, supply and ground of each stand side by "
                "side",
            ),
        ),
        wires=(
            ("X1.6", "X4.1"),
            ("X4.3", "K1.86"),
            ("X4.4", "K1.85"),
            ("X1.3", "X4.7"),
            ("X1.5", "X4.8"),
            *((f"X6.{number}", f"X3.{number}") for number in range(1, 13)),
        ),
    ),
)
