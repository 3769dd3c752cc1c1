"""The steps without power: box, strips, card, and the wires between them."""

from hardware_notes.building.step import BEEP, DIODE, FINGERS, OHM, Check, Need, Step

_SOLDER = "soldering iron of 30 to 60 W, solder with flux, side cutters, goggles"

MAKING = (
    Step(
        "Holes and glands",
        (Need(1, "box"), Need(2, "gland M20"), Need(4, "gland M12"), Need(1, "vent")),
        "drill, step drill to 21 mm, file, pencil, two spanners",
        (
            "Mark the holes on the underside only, as in the picture, and drill: 20.5 mm for "
            "M20, 12.5 mm for M12. Smooth the edges; a hole of 16 mm in the front for the "
            "button, and that of the hand switch by its own template.",
            "Screw glands and vent in, each with its seal on the outside.",
        ),
        (),
        picture="holes",
        also="A piece of cable in each gland, tightened by hand, holds a gentle pull. A lamp "
        "in the closed box shows no light in a dark room.",
    ),
    Step(
        "Plate, strips, switch, socket",
        (
            Need(1, "mounting plate"),
            Need(1, "power strip"),
            Need(1, "ground bar"),
            Need(1, "sensor strip"),
            Need(1, "relay socket"),
            Need(1, "hand switch"),
            Need(1, "push button"),
        ),
        "screwdrivers, drill, pen for labels",
        (
            "Screw X1, X2, X3 and the relay's socket K1 to the plate as in the picture, the "
            "socket with its terminals down. Number the screws from the left: X1.1 to X1.6, "
            "X2.1 to X2.4, X3.1 to X3.12.",
            "Hand switch S1 and button S4 go into the front, within reach when the lid is "
            "shut. Write ON and OFF beside S1.",
        ),
        (
            Check("S1.1", "S1.2", BEEP, "beeps with S1 on, silent with S1 off"),
            Check("X1.1", "X2.1", BEEP, "silent"),
            Check("S4.1", "S4.2", BEEP, "beeps while it is pressed"),
        ),
        picture="box",
    ),
    Step(
        "Thick wire in the box",
        (Need(1, "thick wire for the box"), Need(1, "relay")),
        "screwdrivers, stripper, crimping tools for ferrules and for 6.3 mm contacts",
        (
            "Four wires, those to S1 long enough for the lid to open; each crimp is pulled by "
            "hand before it goes into its place. Each pole of a strip has two screws that are "
            "one: outside cables go to the lower, wires of the box to the upper one. Screws as "
            "tight as their maker says, and again after a day: copper gives way.",
            "Push the relay in. Its contact 87a, if it has one, stays empty and is covered.",
        ),
        (
            Check("X1.1", "X1.2", BEEP, "beeps with S1 on, silent with S1 off"),
            Check("X1.2", "X1.4", BEEP, "silent: the contact is open"),
            Check("K1.86", "K1.85", OHM, "80 to 120 Ω, the coil"),
        ),
        wires=(
            ("X1.1", "S1.1"),
            ("S1.2", "X1.2"),
            ("X1.2", "K1.30"),
            ("K1.87", "X1.4"),
        ),
    ),
    Step(
        "The two resistors at the strip",
        (Need(1, "battery divider", "100 kΩ, 1 %"), Need(1, "load-sense divider", "10 kΩ, 5 %")),
        "side cutters, heat-shrink or sleeve over the legs",
        (
            "The 100 kΩ goes from X1.2 to X1.3, the 10 kΩ from X1.4 to X1.5: one leg in each "
            "screw, under the same screw as the thick wire where there is one. They keep a "
            "chafed sense wire from carrying what the main fuse lets through.",
        ),
        (
            Check("X1.2", "X1.3", OHM, "99 to 101 kΩ"),
            Check("X1.4", "X1.5", OHM, "9.5 to 10.5 kΩ"),
        ),
        picture="strip",
    ),
    Step(
        "The card: supply and relay driver",
        (),
        _SOLDER,
        (
            "Solder in the order links, resistors, diodes, transistor, capacitors. A hole is "
            "named by its row and letter; L- is the left rail marked minus. The yellow points "
            "stay free for wires. Diodes: the ring where the picture has its bar. Electrolytic "
            "capacitors: the stripe is minus. X4.5 is a loop of wire for the meter's probe.",
            "The transistor's legs in the order of its data sheet: collector in row 7, base 8, "
            "emitter 9. Turned round it may fit and not switch.",
            "A rail that is cut in the middle is bridged with a link. Rails in another order "
            "on your board: go by their names, not their places. Where legs are close, parts "
            "stand on end; a leg that crosses a rail wears a sleeve.",
        ),
        (
            Check("X4.1", "X4.2", DIODE, "0.15 to 0.40 V"),
            Check("X4.2", "X4.1", DIODE, "climbs until there is no reading"),
            Check("X4.2", "X4.5", OHM, "climbs past 10 kΩ"),
            Check("X4.5", "X5.1", OHM, "9.9 to 11.0 kΩ"),
            Check("X4.4", "X4.3", DIODE, "0.4 to 0.8 V"),
            Check("X4.6", "X5.10", DIODE, "0.15 to 0.40 V"),
        ),
        picture="card supply",
        caution="Goggles on: a leg that is cut off flies, an electrolytic that is turned round "
        "bursts. Solder fumes go out of the window.",
    ),
    Step(
        "The card: inputs",
        (),
        _SOLDER,
        (
            "Seven inputs, all alike: first resistor, clamp diodes, 1 kΩ to the board. The "
            "cell of rows 38 to 43 only where a current sensor is fitted.",
            "Both clamp diodes of a cell have their ring towards 3.3 V: D10 with its ring in "
            "the R+ rail, D11 with its ring at the input, and so on.",
        ),
        (
            Check("X6.1", "X5.4", OHM, "6.0 to 6.2 kΩ"),
            Check("X6.4", "X5.5", OHM, "5.4 to 6.0 kΩ"),
            Check("X6.7", "X5.6", OHM, "5.4 to 6.0 kΩ"),
            Check("X6.9", "X5.7", OHM, "5.4 to 6.0 kΩ"),
            Check("X5.3", "X4.5", OHM, "22.5 to 23.5 kΩ"),
            Check("X5.2", "X4.5", OHM, "5.4 to 6.0 kΩ"),
            Check("X5.9", "X4.5", OHM, "above 10 kΩ, or no reading"),
            Check("X6.2", "X4.6", OHM, "below 5 Ω, F3"),
            Check("X6.5", "X5.9", OHM, "below 10 Ω, F4"),
        ),
        picture="card inputs",
    ),
    Step(
        "Board, converter and clock; grounds first",
        (
            Need(1, "board"),
            Need(1, "screw adapter for the board"),
            Need(1, "step-down converter, 12 V to 5 V"),
            Need(1, "clock chip with its own cell"),
            Need(1, "feed wire"),
            Need(1, "thin wire"),
        ),
        FINGERS + ", soldering iron for the card's points",
        (
            "Put the card, the board in its adapter A1, converter U1 and clock U2 on the plate "
            "as in the picture of step 2, on spacers, the USB socket where a cable can reach "
            "it. A wire to a point of the card: 5 mm of bare end through the hole, soldered "
            "below. Read on [parts](parts.md#clock) which cell the clock takes.",
            "Two GND screws of A1 are used: one goes to the ground bar, the other to the card. "
            "**Nothing of the card goes to the bar itself**: with its emitter there the relay "
            "could close when the board loses its ground ([why](wiring.md#grounds)).",
            "Converter: only its inputs now, its minus to the bar and not to the card: without "
            "its ground it may pass 12 V. Its output waits for step 12.",
        ),
        (
            Check("X4.5", "X2.3", BEEP, "beeps"),
            Check("A1.3V3", "A1.GND1", BEEP, "silent, after a moment"),
            Check("U1.IN-", "U1.OUT-", BEEP, "beeps: OUT- stays empty"),
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
            Check("X5.1", "A1.relay", BEEP, "beeps"),
            Check("X5.3", "A1.battery", BEEP, "beeps"),
            Check("U2.SDA", "A1.sda", BEEP, "beeps, and so does each wire of this step"),
            Check("A1.relay", "A1.load_sense", BEEP, "silent, as any pin to its neighbour"),
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
            Check("X4.3", "X4.4", OHM, "80 to 120 Ω, the coil"),
            Check("X1.2", "A1.battery", OHM, "99 to 103 kΩ"),
            Check("X1.4", "A1.load_sense", OHM, "10.4 to 11.6 kΩ"),
            Check("X3.1", "A1.pressure", OHM, "6.0 to 6.2 kΩ"),
            Check("X3.3", "X2.3", BEEP, "beeps, as do X3.6, X3.8 and X3.10"),
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
