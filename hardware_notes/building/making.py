"""The steps of box and card, each by itself."""

from hardware_notes.building.step import BEEP, DIODE, OHM, Check, Need, Step

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
        also=(
            "A piece of cable in each gland, tightened by hand, holds a gentle pull. A lamp "
            "in the closed box shows no light in a dark room.",
        ),
        caution="Goggles on; the box is clamped down, not held by hand.",
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
            Check(
                "S1.1",
                "S1.2",
                BEEP,
                "beeps with S1 on, silent with S1 off",
                "another pair of its lugs: try until one pair does this, and mark it 1 and 2",
            ),
            Check(
                "X1.1",
                "X2.1",
                BEEP,
                "silent",
                "a bridge between the strips: look for a screw or a strand across",
            ),
            Check(
                "S4.1",
                "S4.2",
                BEEP,
                "beeps while it is pressed",
                "always beeps: a contact that opens when it is pressed; take the other kind",
            ),
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
            "one: outside cables go to the lower, wires of the box to the upper one; X1.2, to "
            "which no outside cable comes, takes wire 7 above and wire 8 below. Screws as tight "
            "as their maker says, and again after a day: copper gives way.",
            "Push the relay in. Its contact 87a, if it has one, stays empty and is covered.",
        ),
        (
            Check(
                "X1.1",
                "X1.2",
                BEEP,
                "beeps with S1 on, silent with S1 off",
                "never: a crimp or S1's lugs; always: S1 is bridged, wires 6 and 7 share a lug",
            ),
            Check(
                "X1.2",
                "X1.4",
                BEEP,
                "silent: the contact is open",
                "beeps: wire 9 is on 87a, not on 87: a pump there runs whenever the board is off",
            ),
            Check(
                "K1.86",
                "K1.85",
                OHM,
                "80 to 120 Ω, the coil",
                "no reading: another pair of lugs, or the relay is not in; below 80 Ω: another "
                "coil, too much for transistor and fuse",
            ),
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
            "screw, under the same screw as the thick wire where there is one, its end folded "
            "double so that the screw grips it: a gentle pull. They keep a chafed sense wire "
            "from carrying what the main fuse lets through.",
        ),
        (
            Check(
                "X1.2",
                "X1.3",
                OHM,
                "99 to 101 kΩ",
                "10 kΩ: the two are exchanged; no reading: a leg is not gripped",
            ),
            Check(
                "X1.4",
                "X1.5",
                OHM,
                "9.5 to 10.5 kΩ",
                "100 kΩ: the two are exchanged; no reading: a leg is not gripped",
            ),
        ),
        picture="strip",
    ),
    Step(
        "The card: supply and relay driver",
        (),
        _SOLDER,
        (
            "Every resistor is held to the meter before it goes in, and put on a paper with its "
            "name: the rings on it mislead. Diodes are told by their print; three kinds look "
            "alike.",
            "Links are cut-off legs or bare thin wire. Solder in the order links, resistors, "
            "diodes, transistor, capacitors. A hole is named by its row and letter; L- is the "
            "left rail marked minus. The yellow points stay free for wires. Diodes: the ring "
            "where the picture has its bar. Electrolytic capacitors: the stripe is minus. X4.5 "
            "is a loop of wire for the meter's probe.",
            "The transistor's legs in the order of its data sheet: collector in row 7, base 8, "
            "emitter 9. Turned round it may fit and not switch.",
            "A rail that is cut in the middle is bridged with a link. Rails in another order "
            "on your board: go by their names, not their places. Where legs are close, parts "
            "stand on end; a leg that crosses a rail wears a sleeve.",
        ),
        (
            Check(
                "X4.1",
                "X4.2",
                DIODE,
                "0.15 to 0.40 V",
                "no reading: D2 is turned round; 0.00: it is bridged by solder",
            ),
            Check(
                "X4.2",
                "X4.1",
                DIODE,
                "climbs until there is no reading",
                "0.15 to 0.40 V: D2 is turned round; 0.00: bridged",
            ),
            Check(
                "X4.2",
                "X4.5",
                OHM,
                "climbs past 10 kΩ",
                "stays low: C1 is turned round and leaks, or solder bridges two rows",
            ),
            Check(
                "X4.5",
                "X5.1",
                OHM,
                "9.9 to 11.0 kΩ",
                "no reading: R1 or R2 is not soldered; far less: the transistor's legs",
            ),
            Check(
                "X4.4",
                "X4.3",
                DIODE,
                "0.4 to 0.8 V",
                "no reading: D3 is turned round: F2 would blow at the first start",
            ),
            Check(
                "X4.6",
                "X5.10",
                DIODE,
                "0.15 to 0.40 V",
                "no reading: D5 is turned round: the board would get no power",
            ),
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
            "A second relay comes later, or never: X4.9, X4.10 and X5.15 stay free until step 21.",
        ),
        (
            Check(
                "X6.1",
                "X5.4",
                OHM,
                "6.0 to 6.2 kΩ",
                "another value: a resistor of another cell; no reading: a link is missing",
            ),
            Check("X6.4", "X5.5", OHM, "5.4 to 6.0 kΩ", "as above, rows 20 to 23"),
            Check("X6.7", "X5.6", OHM, "5.4 to 6.0 kΩ", "as above, rows 26 to 29"),
            Check("X6.9", "X5.7", OHM, "5.4 to 6.0 kΩ", "as above, rows 32 to 35"),
            Check(
                "X5.3",
                "X4.5",
                OHM,
                "22.5 to 23.5 kΩ",
                "5.7 kΩ: R61 and R71 are exchanged; no reading: the L- rail is cut",
            ),
            Check(
                "X5.2",
                "X4.5",
                OHM,
                "5.4 to 6.0 kΩ",
                "23 kΩ: R71 and R61 are exchanged; no reading: the L- rail is cut",
            ),
            Check(
                "X5.9",
                "X4.5",
                OHM,
                "above 10 kΩ, or no reading",
                "low: both clamp diodes of a cell are turned round, or solder bridges R+ and R-",
            ),
            Check(
                "X6.2",
                "X4.6",
                OHM,
                "below 5 Ω, F3",
                "no reading: F3 or the link 13b to 16b is missing",
            ),
            Check(
                "X6.5",
                "X5.9",
                OHM,
                "below 10 Ω, F4",
                "no reading: F4 or the link 22e to 22f is missing",
            ),
        ),
        picture="card inputs",
        also=(
            "The dial on diode, at the bare link in the middle of each cell (rows 17, 23, 29, 35, "
            "47, 53). Red on X4.5, black on the link: **0.4 to 0.8 V**; red on the link, black on "
            "X5.9: **0.4 to 0.8 V**. Else: no reading is a clamp diode that is turned round.",
        ),
        caution="Goggles on. Battery plus on a lead ends the board where a clamp is missing.",
    ),
)
