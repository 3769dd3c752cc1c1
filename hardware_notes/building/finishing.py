"""The steps from the sensors to the closed box, with the proof that the pump stands."""

from hardware_notes.building.step import BEEP, FINGERS, VOLT, Check, Need, Step

_DEAD = "**S1 off, F1, F2 and the USB cable out: nothing in the box is live.** "

FINISHING = (
    Step(
        "Pressure transducer",
        (Need(1, "pressure transducer"), Need(1, "sensor cable")),
        FINGERS,
        (
            _DEAD
            + "The transducer's sheet says which colour is which. W4 through an M12 gland, apart "
            "from the pump's cable. F2 in, and the USB cable.",
        ),
        (
            Check(
                "X3.2",
                "X3.3",
                VOLT,
                "4.9 to 5.1 V",
                "less than before: the transducer's plus and minus are exchanged: F2 and USB out",
            ),
            Check(
                "X3.1",
                "X3.3",
                VOLT,
                "0.45 to 0.55 V, port open",
                "0 or 5 V: its wires exchanged, by the sheet; elsewhere: water stands above it",
            ),
            Check(
                "A1.pressure",
                "A1.GND1",
                VOLT,
                "0.29 to 0.37 V, port open",
                "with X3.1 right: a clamp diode or a resistor of rows 14 to 18",
            ),
        ),
        wires=(("P1.out", "X3.1"), ("P1.+", "X3.2"), ("P1.-", "X3.3")),
        also=(
            "`rillkeeper status`: *outlet* between -0.2 and 0.2 bar. Else, with the readings "
            "above right: wire 25, or another span in the site file.",
        ),
    ),
    Step(
        "Frost sensor",
        (Need(1, "temperature sensor (frost)"),),
        FINGERS + ", soldering iron, heat-shrink with glue",
        (
            _DEAD
            + "Solder the sensor to its cable, each leg in its own heat-shrink, then all in one "
            "with glue; which leg is which stands in its sheet. It will hang in the open air "
            "under a small roof. F2 in, and the USB cable.",
        ),
        (
            Check(
                "X3.4",
                "X3.6",
                VOLT,
                "0.70 V at 20 °C, 10 mV a degree",
                "near 0 or 3.3 V, or it gets warm: F2 and USB out, its legs are in another order",
            ),
            Check(
                "A1.frost",
                "A1.GND1",
                VOLT,
                "as at X3.4, within 0.02 V",
                "a clamp diode or a resistor of rows 20 to 24",
            ),
        ),
        wires=(("T1.out", "X3.4"), ("T1.+", "X3.5"), ("T1.-", "X3.6")),
    ),
    Step(
        "Rain contact and button",
        (Need(1, "rain contact"),),
        FINGERS,
        (
            _DEAD + "Either wire of a contact may go to either screw. A current sensor, if "
            "any, shares the 3.3 V of the frost sensor. F2 in, and the USB cable.",
        ),
        (
            Check(
                "X3.7",
                "X3.8",
                VOLT,
                "3.0 to 3.4 V dry, below 0.1 V wet",
                "the other way round: a contact that opens in rain; take the other kind",
            ),
            Check(
                "X3.9",
                "X3.10",
                VOLT,
                "3.0 to 3.4 V, below 0.1 V while pressed",
                "always below 0.1 V: bridged; always 3.3 V: S4 or its wires",
            ),
        ),
        wires=(
            ("S3.1", "X3.7"),
            ("S3.2", "X3.8"),
            ("S4.1", "X3.9"),
            ("S4.2", "X3.10"),
            ("I1.out", "X3.11"),
            ("I1.-", "X3.12"),
            ("I1.+", "X3.5"),
        ),
    ),
    Step(
        "The first proof: a lamp that stays dark",
        (Need(1, "test lamp"),),
        "meter, laptop on its own battery",
        (
            "The lamp between X1.4 and X2.2, in the pump's place; test fuse in F1, S1 on. It "
            "stays **dark** with F2 out; with F2 in and the board's reset held for ten seconds "
            "(no reset button: its pin RUN or EN to GND); with the wire off A1's pin `relay`; "
            "while the board starts and then stands idle.",
            "`rillkeeper run 1`: the relay clicks, the lamp burns for a minute, or less where "
            "the board stops for want of pressure. While it burns, the wire off X2.3: **dark "
            "within a second**. F2 out and in, that wire still off: dark. The wire back on; "
            "the same with the wire at X5.11.",
            "The board may try again by itself: `rillkeeper stop`. `rillkeeper clear` ends "
            "what it has stopped for.",
        ),
        (
            Check(
                "X1.4",
                "X2.2",
                VOLT,
                "0 V whenever it is dark",
                "the contact is bridged or is 87a, or the module is active-low",
            ),
            Check(
                "X1.4",
                "X2.2",
                VOLT,
                "12 to 13 V during the run",
                "no click: the wires X5.1, X4.3, X4.4, the transistor; a click and no volts: "
                "contact 30, 87",
            ),
        ),
        picture="lamp",
        caution="A lamp that glows when it should be dark: stop here. See "
        "[relay](relay.md#which-relay) and [grounds](wiring.md#grounds).",
    ),
    Step(
        "Pump cable, pressure switch, diode at the motor",
        (
            Need(1, "second cut-off"),
            Need(1, "plug and socket of the pump"),
            Need(1, "diode over the motor"),
            Need(1, "capacitor over the motor"),
        ),
        "crimping tools, spanners, heat-shrink with glue",
        (
            "S1 off, F2 out, clamps off, lamp off. W3 through the other M20 gland to the plug M1 "
            "of the pump; the half with the covered contacts, which a finger cannot reach, is "
            "that of the cable. A pump with a pressure switch inside takes the wire straight to "
            "M1.",
            "In the plug's half that stays with the pump: the diode, **its ring to the red "
            "wire**, and the capacitor, both across red and black.",
        ),
        (
            Check(
                "X1.4",
                "S2.2",
                BEEP,
                "beeps: no pressure, so it is closed",
                "silent: it opens at no pressure; that one is a starter, not a cut-out",
            ),
            Check(
                "X2.2", "M1.-", BEEP, "beeps", "a crimp, or red and black exchanged in the plug"
            ),
            Check("M1.+", "M1.-", BEEP, "silent, pump unplugged", "a strand across the plug"),
        ),
        wires=(("X1.4", "S2.1"), ("S2.2", "M1.+"), ("X2.2", "M1.-")),
        picture="plug",
        also=(
            "The dial on diode, at the pump's half with the motor not yet joined: red probe on "
            "the red wire, no reading; the other way round, 0.4 to 0.8 V. Else: the diode is "
            "turned round, a short circuit at the first start.",
        ),
    ),
    Step(
        "Polarity at the pump",
        (),
        "meter; a second person at the hand switch",
        (
            "Pump unplugged, test fuse in F1, the clamps on (red first), F2 in, S1 on. The "
            "probes in the plug, red on the red wire, and `rillkeeper run 1`. Minus means that "
            "red and black are turned round: swap them in the plug and read again. With the main "
            "fuse in, that short circuit may weld the relay.",
            "S1 off. **The pump stays unplugged and the test fuse in**: the bench part of "
            "commissioning comes first, and says when pump and main fuse go in.",
        ),
        (
            Check(
                "M1.+",
                "M1.-",
                VOLT,
                "10 to 15 V during the run, not minus",
                "minus: red and black are turned round; nothing: S2, the relay, the test fuse",
            ),
        ),
        picture="probes",
        caution="The plug is live during the run: nothing but the probes in it.",
    ),
    Step(
        "Close and label",
        (),
        "screwdriver, pen, cable ties",
        (
            "Screws once more. Each cable is tied to something solid a hand's breadth before "
            "its gland, with a loop below it. Caps on unused glands. Close the lid.",
            "Labels: the fuses with their ratings, S1 ON and OFF, the tap **not for "
            "drinking**. Where it stands: [enclosure](enclosure.md).",
            "Then [commissioning](commissioning.md): what was not proved is not there.",
        ),
        (
            Check(
                "F1.2",
                "BAT.-",
                VOLT,
                "12 to 13 V: the fuse in F1 is whole",
                "nothing: the fuse has blown: find why before the next one",
            ),
        ),
        picture="closed",
        also=("A gentle pull at each cable moves nothing inside.",),
    ),
)
