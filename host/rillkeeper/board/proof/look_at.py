"""Where to look when a step of the proof has failed: the likeliest first.

Terminals (X1.4) are those of ``hardware_notes/wires.md``.
"""

_PLUG = "was the right plug or wire off? Else it is on another terminal: wires.md"
_LIMITS = (
    "was the battery charged and no charger on, the strainer under water, the outlet open? Then "
    "walk it again; if it stays, flash the firmware anew and write the site's settings"
)

LOOK_AT: dict[str, str] = {
    # Season.
    "stays-dead": "a relay module that is active-low, contact 87a or NC instead of 87, R2 on the "
    "card (10 kΩ, base to ground). Leave the pump unplugged; relay.md, 'Which relay'.",
    "relay-click": "board fuse F2; wires X5.1 to the pin and X4.3, X4.4 to the coil; the "
    "transistor turned round; the load-sense wire X1.5 to X4.8. Did the lamp light?",
    "relay-closed": "does the lead reach 30 and 87? Load sense: the 10 kΩ from X1.4 to X1.5, wire "
    "X1.5 to X4.8.",
    "bad-pressure": _PLUG,
    "pressure-zero": "is the hose really off, the port dry? Else the 5 V at X3.2, the divider "
    "(5.1 kΩ, 10 kΩ), or another span in the site file.",
    "weak-supply": "main fuse and hand switch on, pump in its plug, battery charged? With 'no "
    "prime' or 'dry run': strainer, foot valve, joints of the suction line.",
    "hand-switch": "S1 sits between X1.1 and X1.2, and nothing goes past it. A pump that runs on "
    "with S1 off is wired before it: do not use it.",
    "battery-meter": "the meter at X1.2 and X2.1, on V DC, its battery fresh; then the divider "
    "(100 kΩ at X1.2, 22 kΩ on the card) and the ground at X2.3.",
    "dead-head": "was the tap shut all the way? Then the transducer: it sits before the tap, and "
    "its zero was proved. 'dry run' or 'no prime': the water first.",
    "pressure-switch": "in series with the motor, at the outlet before the tap? Set it below the "
    "pump's rating, by its own screw.",
    "relay-closed-unsensed": "does the lead reach 30 and 87, and did the pump work? Then battery "
    "sense at X1.2 and the transducer.",
    "dry-run": "was the strainer out long enough to draw air? Then the transducer's zero, and "
    "dry_pa in the settings.",
    "no-prime": "the strainer must be out before the start. If water came all the same, the line "
    "was still full: let the pump run it empty.",
    "no-flow": "was the meter's plug or wire pulled after water had come? Off from the start: "
    "'no prime', where there is no pressure sensor.",
    "fuse-and-joints": "the printed rating against `rillkeeper size`; a warm joint is cleaned, "
    "crimped anew, tightened, hand switch off and clamps off.",
    # Build.
    "pull-down": "R2 on the card, 10 kΩ from base to ground, and the emitter at the card's "
    "ground. A module that is active-low closes here: it is not for this.",
    "polarity": "red and black in the plug M1, then at X1.4 and X2.2. Nothing at all: test fuse, "
    "hand switch, relay.",
    "pressure-known": "no air in the hose, its end open, the height from the transducer up. Then "
    "the 5 V at X3.2 and the divider.",
    "button": "wires X3.9 and X3.10, and X5.7 to the pin; the meter shows below 0.1 V while it "
    "is pressed.",
    "rain-contact": "wires X3.7 and X3.8, and X5.6 to the pin; wet it well, for a whole minute.",
    "bad-battery": _PLUG,
    "bad-frost": _PLUG,
    "swapped": "both exchanged? Then the wires X5.3 and X5.4 to the pins.",
    "frost": "ice and water, well stirred, two minutes. Then T1's three legs, and X3.4: 0.50 V "
    "at 0 °C.",
    "relay-open": _PLUG,
    "relay-stuck": "is the lead over the first relay, K1, alone? Then load sense at X1.5, and "
    "`second_relay` in the site file.",
    "relay-chatter": "it must come off for a moment and go back within a second or two.",
    "no-clock": "the clock chip's four wires, its cell; a board without a chip must have been "
    "without all power, USB too.",
    "power-lost": "F2 and the USB cable both out at once? Else the log: `rillkeeper log`, and "
    "free room on the flash.",
    "bad-current": _PLUG,
    "flow-meter": "no pulse: the 5 V at X3.2, wires X3.13 and X5.16, the meter's arrow, a fibre "
    "in its wheel. Far off: `flow_pulses` in the site file against its sheet, a tub that leaks.",
    "bad-meter": "was its plug or wire off from the start? Then the pressure: it must fall in the "
    "rest, so leave the outlet open.",
    "line-open": "open the tee's tap farther, or wait until the pressure was steady for a minute. "
    "'dry run': open it less.",
    "slow-choke": "the outlet open in the three runs, shut a little in the fourth, and not so far "
    "that it trips.",
    "dry-too-long": "keep the strainer out until it stops; 'no prime' means that it was out "
    "before the pump had primed.",
    # By itself.
    "brown-out": _LIMITS,
    "over-voltage": _LIMITS,
    "charge-reserve": _LIMITS,
    "too-many-starts": _LIMITS,
    "late-tick": _LIMITS,
    "bad-supply": _LIMITS,
    "stall-by-sag": _LIMITS,
    "stall": _LIMITS,
    "no-sag": _LIMITS,
    "low-charge": _LIMITS,
    "high-pressure": _LIMITS,
    "over-run": _LIMITS,
    "duty": _LIMITS,
}
"""By the step's name."""
