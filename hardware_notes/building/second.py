"""The steps for a second relay in series: its driver on the card, its socket, and their proof."""

from hardware_notes.building.step import BEEP, DIODE, FINGERS, OHM, VOLT, Check, Need, Step

SECOND = (
    Step(
        "Second relay: its driver on the card",
        (Need(1, "second relay, if any"),),
        "soldering iron of 30 to 60 W, solder with flux, side cutters, goggles",
        (
            "**S1 off, F1, F2 and the USB cable out.** The same parts as rows 3 to 9, once more "
            "in rows 55 to 60: a second transistor, its own two resistors, its own diode. "
            "Nothing is shared but plus, minus and the board: what is common to both fails for "
            "both.",
            "Who knows from the outset that a second relay comes solders this with step 6.",
        ),
        (
            Check(
                "X4.9",
                "X4.2",
                BEEP,
                "beeps",
                "the link 55a to L+55 is missing, or the L+ rail is cut in its middle",
            ),
            Check(
                "X4.10",
                "X4.9",
                DIODE,
                "0.4 to 0.8 V",
                "no reading: D6 is turned round, and F2 would blow at the first start",
            ),
            Check(
                "X4.5",
                "X5.15",
                OHM,
                "9.9 to 11.0 kΩ",
                "far less: the transistor's legs; no reading: R3 or R4 is not soldered",
            ),
        ),
        picture="card second",
        caution="Goggles on. A card that is wired already is unscrewed and turned over with its "
        "wires on.",
        optional=True,
    ),
    Step(
        "Second relay: socket and wires",
        (Need(1, "relay socket"),),
        FINGERS + ", crimping tool for 6.3 mm contacts",
        (
            "**S1 off, F1, F2 and the USB cable out.** Socket K2 beside K1 as in the picture of "
            "step 2, terminals down, 10 mm from the first. **Take wire 9 out**: both contacts now "
            "lie one behind the other, from K1 to K2 to X1.4.",
            "Push the second relay in. Its 87a, if it has one, stays empty and is covered.",
        ),
        (
            Check(
                "X1.2",
                "X1.4",
                BEEP,
                "silent",
                "a contact is 87a, or wire 9 is still there and a relay is welded",
            ),
            Check(
                "K1.87",
                "K2.30",
                BEEP,
                "beeps",
                "a crimp or the wrong terminal: count 30, 87 on the socket",
            ),
            Check(
                "K1.87",
                "X1.4",
                BEEP,
                "silent: wire 9 is out",
                "wire 9 is still in: it goes past the second relay, which then stops nothing",
            ),
            Check(
                "X4.9",
                "X4.10",
                OHM,
                "80 to 120 Ω, the second coil",
                "no reading: not pushed in, or 85 and 86 not reached; below 1 Ω: a short circuit",
            ),
            Check(
                "X5.15",
                "A1.second_relay",
                BEEP,
                "beeps",
                "the pin beside it: its number is that of the chip, printed on the adapter",
            ),
        ),
        wires=(
            ("K1.87", "K2.30"),
            ("K2.87", "X1.4"),
            ("X4.9", "K2.86"),
            ("X4.10", "K2.85"),
            ("X5.15", "A1.second_relay"),
        ),
        optional=True,
    ),
    Step(
        "Second relay: each opens for the other",
        (),
        "meter, test lamp, laptop on its own battery",
        (
            "In the site file `second_relay = true` under `[board]`, `rillkeeper site check`, "
            "then `rillkeeper flash --settings my-plot.toml` again. A board that is not told of "
            "it does not pump.",
            "Pump unplugged, the lamp between X1.4 and X2.2, test fuse in F1, F2 in, S1 on. "
            "`rillkeeper run 1`: the first relay clicks alone, then the second alone, a second "
            "each, and the lamp stays dark; then both close and it burns.",
            "S1 off. A lead with a fuse of 1 A over K1, from 30 to 87. S1 on, `rillkeeper run 1`: "
            "a flash of the lamp at most, then **locked out**, relay stuck. S1 off, the lead off, "
            "`rillkeeper clear`. Then the same at K2.",
            "Read both at `rillkeeper status`. Then the bench part of commissioning once more: "
            "`rillkeeper prove --round build`.",
        ),
        (
            Check(
                "X1.4",
                "X2.2",
                VOLT,
                "0 V while one relay is closed alone",
                "the other contact is bridged or welded, or is 87a: back to the step before",
            ),
            Check(
                "X1.4",
                "X2.2",
                VOLT,
                "12 to 13 V when both are closed",
                "the second stays open: X5.15, its transistor, or the setting is not on the board",
            ),
        ),
        picture="two relays",
        caution="The lead goes over a contact with S1 off, and comes off with S1 off.",
        optional=True,
    ),
)
