"""The step for a flow meter: its input on the card, its lead, and its place in the line."""

from hardware_notes.building.step import BEEP, FINGERS, OHM, VOLT, Check, Need, Step

METERING = (
    Step(
        "Flow meter: input, lead and place",
        (
            Need(1, "flow meter, if any"),
            Need(1, "gland M12"),
        ),
        "soldering iron of 30 to 60 W, solder with flux, side cutters, goggles; " + FINGERS,
        (
            "**S1 off, F1, F2 and the USB cable out;** F2 in again for the last check, before the "
            "meter is in the line. On the card the parts of rows 42 to 45: "
            "4.7 kΩ, 220 kΩ to the 3.3 V, 6.8 nF, two clamp diodes, 1 kΩ. Two more poles on the "
            "sensor strip, X3.13 and X3.14; one more hole and gland beside the others.",
            "The meter goes into the line at the pump's outlet, behind the pressure sensor's tee "
            "and before any tap or branch: its arrow with the water, the straight pipe before it "
            "that its sheet asks for, its lead downwards, so that no drop runs along it into the "
            "wheel's house. The strainer before the pump is what keeps fibres out of it.",
            "Lay its lead apart from the pump's cable. A meter that is rated for less than the "
            "pump's pressure bursts at a shut tap.",
            "In the site file `flow_meter = true` and `flow_pulses = ...` under `[board]`, "
            "`rillkeeper site check`, then `rillkeeper flash --settings my-plot.toml` again, and "
            "`rillkeeper prove --round build`: a tub of known litres says what a pulse is.",
        ),
        (
            Check(
                "X6.13",
                "X5.16",
                OHM,
                "5.4 to 6.0 kΩ",
                "no reading: R80, R82 or the link 45e to 45f is missing",
            ),
            Check(
                "X5.16",
                "A1.flow",
                BEEP,
                "beeps",
                "the pin beside it: its number is that of the chip, printed on the adapter",
            ),
            Check(
                "X3.13",
                "X3.14",
                VOLT,
                "3.3 V or 0 V, changes as you blow hard",
                "always low: its lead is shorted; always high: no 5 V at X3.2, or a wheel that "
                "sticks; near 5 V: it drives its output itself, which the 4.7 kΩ bears",
            ),
        ),
        wires=(
            ("X5.16", "A1.flow"),
            ("X6.13", "X3.13"),
            ("X6.14", "X3.14"),
            ("G1.out", "X3.13"),
            ("G1.+", "X3.2"),
            ("G1.-", "X3.14"),
        ),
        picture="card flow",
        caution="Goggles on. Hand switch off and no pressure in the line before you open a joint.",
        optional=True,
    ),
)
