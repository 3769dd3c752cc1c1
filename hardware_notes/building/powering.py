"""The steps from the battery's cable to a board that answers: the first power."""

from hardware_notes.building.step import BEEP, VOLT, Check, Need, Step

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
            "goes through an M20 gland, W2 through an M12 one: a single wire, which wears "
            "heat-shrink there until the gland grips it. Leave a loop below each.",
        ),
        (
            Check("F1.2", "X1.1", BEEP, "beeps", "a crimp, or F1.2 and F2.2 are exchanged"),
            Check(
                "BAT.-",
                "X2.1",
                BEEP,
                "beeps",
                "a crimp, or the two conductors of W1 are exchanged",
            ),
            Check("F2.2", "X1.6", BEEP, "beeps", "a crimp, or F2.2 and F1.2 are exchanged"),
            Check(
                "X1.1",
                "X2.1",
                BEEP,
                "silent, S1 on",
                "find the bridge before any clamp goes on; with S1 on it may be behind the switch",
            ),
            Check(
                "BAT.+",
                "X1.1",
                BEEP,
                "silent: no fuse is in",
                "a fuse is still in a holder, or a wire goes past one: find it before any clamp "
                "goes on",
            ),
        ),
        wires=(
            ("F0.2", "F1.1"),
            ("BAT.+", "F2.1"),
            ("F1.2", "X1.1"),
            ("BAT.-", "X2.1"),
            ("F2.2", "X1.6"),
        ),
        picture="post",
        caution="A spanner across the posts melts, and burns whoever holds it: more than a "
        "thousand amperes flow, from a lithium battery too. The battery stays away from the "
        "bench; tools with insulated handles, goggles on.",
    ),
    Step(
        "Polarity, with a fuse of 1 A",
        (Need(1, "test fuse"), Need(1, "board fuse")),
        "meter; rings and watches off",
        (
            "Hand switch S1 off, F2 empty, the **test fuse** of 1 A in F1. The meter on the "
            "battery's posts first: which one is plus? Then the red clamp, then the black one.",
            "The first three readings. Then S1 off, the board fuse into F2: a red lamp on the "
            "converter may light; the fourth reading. Smoke, warmth or a fuse that blows: S1 off, "
            "F2 out, black clamp off, and back to the step of that wire. **A fuse that has blown "
            "is never replaced by a larger one.**",
        ),
        (
            Check(
                "X1.1",
                "X2.1",
                VOLT,
                "12 to 13 V, not minus",
                "minus: the clamps are exchanged: black off, red off, swap; nothing: the test "
                "fuse, then wires 1, 3, 4",
            ),
            Check(
                "X1.2",
                "X2.1",
                VOLT,
                "0 V with S1 off, 12 to 13 V on",
                "12 V with S1 off: something goes past the switch; it is what stops a welded "
                "relay",
            ),
            Check(
                "X1.4",
                "X2.1",
                VOLT,
                "0 V, S1 on",
                "12 V: contact 87a, or a bridge over the relay: no pump until it is gone",
            ),
            Check(
                "X4.2",
                "X4.5",
                VOLT,
                "11.5 to 13 V, F2 in",
                "nothing: F2, wires 2, 5, 10, or D2 turned round; F2 blown: D1 or C1 turned round",
            ),
        ),
        picture="post, test fuse",
        caution="The first power: goggles on. Clamps only with S1 off and F2 out: red first on, "
        "black first off.",
    ),
    Step(
        "The converter: 5.0 V, then joined",
        (),
        "small screwdriver for the converter's trimmer, meter",
        (
            "Clamps on, test fuse in F1, S1 off until the last reading. With F2 in, turn the "
            "converter's trimmer, if it has one, until the first reading is right. **F2 out.** "
            "Join OUT+ to the card. F2 in: second to fourth reading. **F2 out.** Join the card "
            "to the board's pin of 5 V: VSYS on an RP2040 board, 5V or VIN on an ESP32, **never "
            "VBUS**. F2 in: the rest.",
            "On an ESP32 board look at [the table](power.md#which-pin-of-the-board): one "
            "without a diode behind its USB socket takes a USB cable without a 5 V wire.",
        ),
        (
            Check(
                "U1.OUT+",
                "U1.IN-",
                VOLT,
                "5.00 to 5.10 V",
                "12 V: never join it: the trimmer, or a broken converter; nothing: IN+ and IN-",
            ),
            Check(
                "X4.6",
                "X4.5",
                VOLT,
                "5.00 to 5.10 V",
                "0.1 V or more below the first: wire 17; far below, and D4 warm: it is turned "
                "round",
            ),
            Check("X3.2", "X3.3", VOLT, "4.9 to 5.1 V", "nothing: F3, wire 37 or 38"),
            Check(
                "X5.10",
                "X4.5",
                VOLT,
                "0.05 to 0.5 V less than at X4.6",
                "nothing: D5 turned round; the same as X4.6: D5 is bridged",
            ),
            Check(
                "A1.3V3",
                "A1.GND1",
                VOLT,
                "3.25 to 3.35 V",
                "nothing: another pin than that of 5 V; F2 out at once if anything gets warm",
            ),
            Check("X3.5", "X3.6", VOLT, "3.25 to 3.35 V", "nothing: F4, wire 40 or 41"),
            Check(
                "A1.battery",
                "A1.GND1",
                VOLT,
                "2.1 to 2.4 V, S1 on",
                "0.6 V: D61 turned round; 2.7 V or more: D60; 12 V divided otherwise: 100 kΩ or "
                "22 kΩ",
            ),
        ),
        wires=(("U1.OUT+", "X4.6"), ("X5.10", "A1.5V")),
        also=(
            "On an RP2040 board its pin VBUS to GND reads less than 1 V while no USB cable is in. "
            "Else: the 5 V is on VBUS, where a laptop and the converter feed each other.",
        ),
    ),
    Step(
        "Firmware, settings, clock",
        (),
        "laptop on its own battery, USB cable",
        (
            "The site file comes first: `rillkeeper site new my-plot.toml`, filled in, then "
            "`rillkeeper site check my-plot.toml`; how rillkeeper comes onto the laptop: "
            "[the first page](../README.md#try-it). F1 and F2 out. Plug the USB cable in and "
            "follow [flashing](flashing.md): MicroPython, then `rillkeeper flash --settings "
            "my-plot.toml`, then `rillkeeper clock --set`.",
            "`rillkeeper status` must answer. The USB cable out for a minute and in again: "
            "`rillkeeper clock` must still be right, by the chip's own cell.",
        ),
        (
            Check(
                "X4.6",
                "X4.5",
                VOLT,
                "below 2 V on USB alone: the diode blocks",
                "about 4.7 V: D5 is bridged or missing, and USB feeds the converter",
            ),
            Check(
                "A1.relay",
                "A1.GND1",
                VOLT,
                "0 V",
                "3.3 V: another pin, or a board that runs something else: flash it again",
            ),
        ),
    ),
)
