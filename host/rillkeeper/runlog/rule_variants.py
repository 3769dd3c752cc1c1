"""Where the words of a rule are others than in its row: by what it did, and by what is fitted."""

WARN_SEEN = {
    "charge reserve": "{value} left: only charging clears a flat battery",
}
"""Where a warning of a rule means something else than its trip."""

NO_CHIP_LOOK = (
    "Set the clock. This board has no clock chip: it forgets the time when the battery comes off."
)
"""In the place of the look of "no clock"."""
SEEN_WITHOUT_LOAD_SENSE = {
    "relay closed": "{witness} the pump works although it is switched off: {value}",
    "relay open": "{witness} the pump gets no power after the relay was told to close",
    "relay chatter": "{witness} the pump came and went {value} times in ten seconds, limit "
    "{limit}",
    "fuse blown": "{witness} the pump no longer gets power, although it is switched on",
}
SEEN_WITHOUT_PRESSURE = {
    "no prime": "the flow meter did not turn {value} after the start; it must within {limit}",
    "stall by sag": "the voltage fell by {value} when the pump was switched on, limit {limit}",
}
"""What follows from other readings, where the sensor that would see it is not fitted."""

SHUT_FIRST = "Is every tap behind the pump open, and no hose kinked? "
LOOK_WITHOUT_PRESSURE = dict.fromkeys(("no prime", "dry too long"), SHUT_FIRST)
"""What is to be looked at before the rest, where a flow meter alone tells of the water: behind a
shut line it stands as still as at a dry pump."""

DID = {
    "relay closed": "Locked out, but the board cannot stop this pump: its battery must come off.",
}
"""What the board did, where the words of the action would promise too much."""
