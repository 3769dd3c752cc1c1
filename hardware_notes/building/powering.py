"""The steps from the battery's cable to the closed box, with the first power in between."""

from hardware_notes.building.step import BEEP, FINGERS, VOLT, Check, Need, Step

POWERING = (
    Step(
        "Battery cable and its fuses",
        (
            Need(1, "clamps"),
            Need(1, "fuse on the post"),
            Need(1, "main fuse and holder"),
            Need(1, "holder of the board fuse"),
            Need(1, "cable, battery to pump, two conductors"),
            Need(1, "ferrules, ring terminals, heat-shrink, tags"),
        ),
        "crimping tool for ring terminals, spanners, insulated screwdriver",
        (
            "**No clamp on the battery yet, no blade fuse in a holder.** On the bolt of the "
            "red clamp sit the fuse on the post and the ring of F2's holder; on its far bolt "
            "the ring of F1's holder. Not a hand's breadth of wire between them.",
            "Cut the cable in two: W1 and W3, as long as the list says and a loop more. W1 "
            "goes through an M20 gland, W2 through an M12 one. Leave a loop below each.",
        ),
        (
            Check("F1.2", "X1.1", BEEP, "beeps"),
            Check("BAT.-", "X2.1", BEEP, "beeps"),
            Check("F2.2", "X1.6", BEEP, "beeps"),
            Check("X1.1", "X2.1", BEEP, "silent, S1 on"),
            Check("BAT.+", "X1.1", BEEP, "silent: no fuse is in"),
        ),
        wires=(
            ("F0.2", "F1.1"),
            ("BAT.+", "F2.1"),
            ("F1.2", "X1.1"),
            ("BAT.-", "X2.1"),
            ("F2.2", "X1.6"),
        ),
        picture="post",
    ),
    Step(
        "Polarity, with a fuse of 1 A",
        (Need(1, "test fuse"), Need(1, "board fuse")),
        "meter; rings and watches off",
        (
            "Hand switch S1 off, F2 empty, the **test fuse** of 1 A in F1. The meter on the "
            "battery's posts first: which one is plus? Then the red clamp, then the black one.",
            "Read the meter as below. Then S1 off, and the board fuse into F2: a red lamp on "
            "the converter may light. Smoke, warmth or a fuse that blows: S1 off, black clamp "
            "off, and back to the step of that wire.",
        ),
        (
            Check("X1.1", "X2.1", VOLT, "12 to 13 V, not minus"),
            Check("X1.2", "X2.1", VOLT, "0 V with S1 off, 12 to 13 V on"),
            Check("X1.4", "X2.1", VOLT, "0 V, S1 on"),
            Check("X4.2", "X4.5", VOLT, "11.5 to 13 V, F2 in"),
        ),
        caution="The first power. Clamps only with S1 off: red first on, black first off.",
    ),
    Step(
        "The converter: 5.0 V, then joined",
        (),
        "small screwdriver for the converter's trimmer, meter",
        (
            "With F2 in, turn the converter's trimmer, if it has one, until the first reading "
            "is right. **F2 out.** Join OUT+ to the card. F2 in: second to fourth reading. "
            "**F2 out.** Join the card to the board's pin of 5 V: VSYS on an RP2040 board, 5V "
            "or VIN on an ESP32, **never VBUS**. F2 in: the rest.",
            "On an ESP32 board look at [the table](power.md#which-pin-of-the-board): one "
            "without a diode behind its USB socket takes a USB cable without a 5 V wire.",
        ),
        (
            Check("U1.OUT+", "U1.IN-", VOLT, "5.00 to 5.10 V"),
            Check("X4.6", "X4.5", VOLT, "5.00 to 5.10 V"),
            Check("X3.2", "X3.3", VOLT, "4.9 to 5.1 V"),
            Check("X5.10", "X4.5", VOLT, "0.05 to 0.5 V less than at X4.6"),
            Check("A1.3V3", "A1.GND1", VOLT, "3.25 to 3.35 V"),
            Check("X3.5", "X3.6", VOLT, "3.25 to 3.35 V"),
            Check("A1.battery", "A1.GND1", VOLT, "2.1 to 2.4 V, S1 on"),
        ),
        wires=(("U1.OUT+", "X4.6"), ("X5.10", "A1.5V")),
        also="On an RP2040 board its pin VBUS to GND reads less than 1 V while no USB cable is "
        "in.",
    ),
    Step(
        "Firmware, settings, clock",
        (),
        "laptop on its own battery, USB cable",
        (
            "The site file comes first: `rillkeeper site new my-plot.toml`, filled in, then "
            "`rillkeeper site check my-plot.toml`. F1 and F2 out. Plug the USB cable in and "
            "follow [flashing](flashing.md): MicroPython, then `rillkeeper flash --settings "
            "my-plot.toml`, then `rillkeeper clock --set`.",
            "`rillkeeper status` must answer. The USB cable out for a minute and in again: "
            "`rillkeeper clock` must still be right, by the chip's own cell.",
        ),
        (
            Check("X4.6", "X4.5", VOLT, "below 2 V on USB alone: the diode blocks"),
            Check("A1.relay", "A1.GND1", VOLT, "0 V"),
        ),
    ),
    Step(
        "Pressure transducer",
        (Need(1, "pressure transducer"), Need(1, "sensor cable")),
        FINGERS,
        (
            "F2 out. The transducer's sheet says which colour is which. W4 through an M12 "
            "gland, apart from the pump's cable. F2 in.",
        ),
        (
            Check("X3.2", "X3.3", VOLT, "4.9 to 5.1 V"),
            Check("X3.1", "X3.3", VOLT, "0.45 to 0.55 V, port open"),
        ),
        wires=(("P1.out", "X3.1"), ("P1.+", "X3.2"), ("P1.-", "X3.3")),
        also="`rillkeeper status`: `pressure_pa` between -20000 and 20000.",
    ),
    Step(
        "Frost sensor",
        (Need(1, "temperature sensor (frost)"),),
        FINGERS + ", soldering iron, heat-shrink with glue",
        (
            "F2 out. Solder the sensor to its cable, each leg in its own heat-shrink, then all "
            "in one with glue. It will hang in the open air under a small roof. F2 in.",
        ),
        (Check("X3.4", "X3.6", VOLT, "0.70 V at 20 °C, 10 mV a degree"),),
        wires=(("T1.out", "X3.4"), ("T1.+", "X3.5"), ("T1.-", "X3.6")),
    ),
    Step(
        "Rain contact and button",
        (Need(1, "rain contact"),),
        FINGERS,
        ("F2 out. Either wire of a contact may go to either screw. F2 in.",),
        (
            Check("X3.7", "X3.8", VOLT, "3.0 to 3.4 V dry, below 0.1 V wet"),
            Check("X3.9", "X3.10", VOLT, "3.0 to 3.4 V, below 0.1 V while pressed"),
        ),
        wires=(
            ("S3.1", "X3.7"),
            ("S3.2", "X3.8"),
            ("S4.1", "X3.9"),
            ("S4.2", "X3.10"),
            ("I1.out", "X3.11"),
            ("I1.-", "X3.12"),
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
            Check("X1.4", "X2.2", VOLT, "0 V whenever it is dark"),
            Check("X1.4", "X2.2", VOLT, "12 to 13 V during the run"),
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
            "S1 off, clamps off, lamp off. W3 through the other M20 gland to the plug M1 of "
            "the pump. A pump with a pressure switch inside takes the wire straight to M1.",
            "In the plug's half that stays with the pump: the diode, **its ring to the red "
            "wire**, and the capacitor, both across red and black.",
        ),
        (
            Check("X1.4", "S2.2", BEEP, "beeps: no pressure, so it is closed"),
            Check("X2.2", "M1.-", BEEP, "beeps"),
            Check("M1.+", "M1.-", BEEP, "silent, pump unplugged"),
        ),
        wires=(("X1.4", "S2.1"), ("S2.2", "M1.+"), ("X2.2", "M1.-")),
        picture="plug",
        also="The dial on diode, at the pump's half with the motor not yet joined: red probe "
        "on the red wire, no reading; the other way round, 0.4 to 0.8 V.",
    ),
    Step(
        "Polarity at the pump",
        (),
        "meter; a second person at the hand switch",
        (
            "Pump unplugged, test fuse in F1, F2 in, S1 on. The probes in the plug, red on the "
            "red wire, and `rillkeeper run 1`. Minus means that red and black are turned "
            "round: swap them in the plug and read again. With the main fuse in, that short "
            "circuit may weld the relay.",
            "S1 off. **The pump stays unplugged and the test fuse in**: the bench part of "
            "commissioning comes first, and says when pump and main fuse go in.",
        ),
        (Check("M1.+", "M1.-", VOLT, "10 to 15 V during the run, not minus"),),
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
        (Check("F1.2", "BAT.-", VOLT, "12 to 13 V: the fuse in F1 is whole"),),
        picture="closed",
        also="A gentle pull at each cable moves nothing inside.",
    ),
)
