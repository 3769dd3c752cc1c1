"""What the board's rules, causes and commands mean to a gardener: one row each.

The board writes numbers; this is where they get their words. A test holds every table to the
board's own lists, so that no rule can be added without a sentence for the person who will read
about it in the morning.
"""

from typing import NamedTuple

from keeper.clockwatch import VERDICTS
from keeper.cycle import STATES
from keeper.hand import COMMANDS
from keeper.records import CAUSES
from keeper.rules import ACTIONS
from keeper.sense import QUALITIES
from keeper.settings import UNITS
from keeper.standstill import KINDS


class RuleWords(NamedTuple):
    """One rule in words."""

    short: str
    """A few words for a table."""
    seen: str
    """What was seen against which limit; {value} and {limit} come with their units."""
    look: str
    """What to look at first."""
    harmless: bool = False
    """Nothing has broken when it trips."""


_OFF_FIRST = "Hand switch off first; then "
_DEAD_FIRST = "Hand switch off, then the negative clamp; then "
"""A clamp that is moved while current flows makes a spark at a post that gives off hydrogen."""

RULES = {
    "high pressure": RuleWords(
        "pressure over the rating",
        "{value} at the pump's outlet, which is rated for {limit}",
        "Open every tap behind the pump, then look for a kink in the hose and a blocked "
        "nozzle. Look over pump and fittings for leaks before the next start.",
    ),
    "dead head": RuleWords(
        "line shut",
        "{value} at the pump's outlet, limit {limit}",
        "Is the tap at the sprinkler open? Then look for a kink in the hose and for a blocked"
        " nozzle.",
    ),
    "dry run": RuleWords(
        "pump ran dry",
        "only {value} at the pump's outlet, limit {limit}",
        "Is the strainer under water and clean? Then look for air at the joints of the "
        "suction line, and at the foot valve. If water runs out behind the pump instead, the "
        "line is open: look for a burst, or a coupling that has come off.",
    ),
    "no prime": RuleWords(
        "pump drew no water",
        "no pressure {value} after the start; it must come within {limit}",
        "Is the strainer under water? Fill the suction line by hand; if it drains again, "
        "clean or change the foot valve and tighten the joints. If water runs out behind the "
        "pump instead, the line is open: look for a burst, a coupling that has come off, or a "
        "missing nozzle. A pump that is hot and silent has switched itself off: let it cool, "
        "then find out what made it hot.",
    ),
    "line open": RuleWords(
        "line open",
        "pressure at {value} of what is normal here, limit {limit}",
        "Walk along the hose: look for a burst, a coupling that has come off, or a missing "
        "nozzle. Where it is whole, the suction side gives too little: clean the strainer, then "
        "look for air at the joints of the suction line. Where the jet is as it always was, the "
        "pressure sensor reads too low: at rest it must read the water that stands in the line; "
        "where it does not, its port may be closed by silt.",
    ),
    "slow choke": RuleWords(
        "pressure creeping away",
        "pressure {value} away from that of earlier nights, limit {limit}",
        "Clean strainer and nozzle; look along the hose for a flat spot, and at the pump for "
        "wear.",
    ),
    "low charge": RuleWords(
        "battery flat",
        "battery at {value}, corrected for the wiring drop, limit {limit}",
        "Take the battery home and charge it at once; a lead-acid battery left empty is "
        "spoilt in days. If the charger finds it full, hold a meter to its posts: the board may "
        "read it too low.",
    ),
    "brown-out": RuleWords(
        "voltage too low for the pump",
        "{value} at the board under load, at least {limit} are needed",
        "Are the clamps clean and tight (hand switch off before you touch them), and the cable "
        "thick and short? Then charge and test the battery.",
    ),
    "over-voltage": RuleWords(
        "voltage too high",
        "{value} at the board, limit {limit}",
        "Take any charger off the battery, and see that it is a 12 V battery.",
    ),
    "weak supply": RuleWords(
        "battery, clamps or cable getting weak",
        "battery, clamps and cable take too much of the voltage while the pump runs: {value}, "
        "limit {limit} (thousandths of an ohm)",
        _OFF_FIRST
        + "clean and tighten both battery clamps. If that does not help, have the battery tested; "
        "if the board warns no more, hold a meter to its posts: the reading may have slipped.",
    ),
    "bad supply": RuleWords(
        "battery, clamps or cable too weak to start",
        "battery, clamps and cable take too much of the voltage while the pump runs: {value}, "
        "limit {limit} (thousandths of an ohm)",
        _OFF_FIRST
        + "clean and tighten both battery clamps and look at the cable: a bad joint gets hot. "
        "Then have the battery tested. Where the board goes on to say that the battery is flat, "
        "it was that: charge it first. Where all is sound, hold a voltmeter at the board's "
        "terminals against what it reads.",
    ),
    "stall by sag": RuleWords(
        "pump stuck",
        "the voltage fell by {value} and no pressure came, limit {limit}",
        _DEAD_FIRST + "turn the pump by hand: grit, ice or a seized bearing "
        "holds it. Check the fuse. Where no pressure sensor is fitted a clamp that has gone bad "
        "looks the same: clean and tighten both meanwhile.",
    ),
    "stall": RuleWords(
        "pump stuck",
        "{value} into the pump, limit {limit}",
        _DEAD_FIRST + "turn the pump by hand: grit, ice or a seized bearing "
        "holds it. Check the fuse.",
    ),
    "charge reserve": RuleWords(
        "charge too low",
        "{value} short of what the set needs beside the reserve",
        "Take the battery home and charge it. If the charger finds it full, hold a meter to its "
        "posts: the board may read it too low.",
    ),
    "over-run": RuleWords(
        "ran too long",
        "the pump was switched on for {value}, allowed are {limit}",
        "Does the set ask for more than one run may give? Otherwise look at pressure and "
        "flow: water may be lost.",
    ),
    "too many starts": RuleWords(
        "too many starts",
        "{value} starts within an hour, allowed are {limit}",
        "See what stopped the earlier starts: those stops are in this list too.",
    ),
    "duty": RuleWords(
        "motor must cool",
        "{value} of pumping that the motor has not yet cooled down from, allowed are {limit}",
        "Give less, or leave a longer pause between the runs.",
    ),
    "relay closed": RuleWords(
        "pump does not stop",
        "the pump works although it is switched off: {value}",
        "Hand switch off now: the pump may be running, and the board cannot stop it. "
        "A contact that has welded means a new relay; an active-low module must be set to close "
        "on a high level, or changed. If the pump stands after all, open the tap at the "
        "sprinkler: a shut line holds its pressure. If that still reads as at work, its sensor "
        "shows what is not there: its zero has moved, or silt has closed its port. So may a "
        "current sensor: with the pump off it must read nothing.",
    ),
    "relay open": RuleWords(
        "pump gets no power",
        "the pump's wire stayed dead after the relay was told to close",
        "Look at the hand switch, the pump's fuse and the plugs first, then at the relay.",
    ),
    "relay chatter": RuleWords(
        "relay chatters (opens and closes by itself)",
        "the contact changed {value} times in ten seconds, limit {limit}",
        "Look for a loose wire at relay and battery; a burnt contact means a new relay.",
    ),
    "late tick": RuleWords(
        "board was late",
        "{value} between two looks at the readings, at most {limit} are allowed",
        "If it comes again, restart the board and note what was connected to it.",
    ),
    "swapped": RuleWords(
        "sensor wires exchanged",
        "the battery reading looks like the pressure sensor's, and the other way round",
        "Exchange the wires of battery sense and pressure sensor at the board.",
    ),
    "bad battery": RuleWords(
        "battery reading bad",
        "the battery reading is {value}",
        "Where it is above all that is possible, take any charger off the battery first: one "
        "without a limit looks like a shorted wire. Then look at the hand switch and the pump's "
        "fuse, behind which it is read, and at the battery sense wire and its plug. A meter at "
        "the battery's posts tells one that is spent from a wire.",
    ),
    "bad pressure": RuleWords(
        "pressure reading bad",
        "the pressure reading is {value}",
        "Look at the pressure sensor's wire and plug; water in the plug is the usual cause. One "
        "that reads pressure with the pump off and the line open: clean its port of silt, then "
        "calibrate or change it.",
    ),
    "no sag": RuleWords(
        "battery reading does not move",
        "the pump ran and the battery reading did not fall as it must",
        "Look at the battery sense wire: it must sit behind the pump's fuse, at the relay, not on "
        "a charger or another battery. If no water came either, the pump stood: one that is hot "
        "and silent has switched itself off, so let it cool and find out why.",
    ),
    "bad frost": RuleWords(
        "temperature reading bad",
        "the temperature reading is {value}",
        "Look at the wire and plug of the frost sensor.",
    ),
    "bad current": RuleWords(
        "current reading bad",
        "the current reading is {value}",
        "Look at the wire and plug of the current sensor.",
    ),
    "no clock": RuleWords(
        "clock cannot be trusted",
        "the clock {value}",
        "Set the clock; if it forgets again, change its cell.",
    ),
    "frost": RuleWords(
        "frost",
        "{value} at the sensor, no start below {limit}",
        "Nothing to mend. Drain pump and hose if hard frost is coming.",
        harmless=True,
    ),
    "fuse blown": RuleWords(
        "pump's fuse blown (pump stuck?)",
        "the pump no longer gets power, although it is switched on",
        _DEAD_FIRST + "turn the pump by hand: grit, ice or a seized bearing holds "
        "it. Look along the cable for a chafed place. Only then put in a new fuse of the same "
        "rating. If the fuse is whole, look at its holder and at both clamps.",
    ),
    "runs broken off": RuleWords(
        "power lost in mid-run again and again",
        "the power went while the pump ran, {value} times in a row; allowed is {limit}",
        "Was the battery taken off while the pump ran? Stop the pump first, then clear. If not, "
        "look at the pump's fuse, and whether the pump turns; then, the hand switch off, at both "
        "battery clamps.",
    ),
    "dry too long": RuleWords(
        "pump dry for too long",
        "{value} of pumping without water in one night, at most {limit} are allowed",
        "Feel whether the pump is hot: it may have switched itself off. Is the strainer "
        "under water and clean? Fill the suction line by hand, then look for air at its joints "
        "and at the foot valve. If water runs out behind the pump instead, its hose is off or "
        "burst there.",
    ),
    "relay stuck": RuleWords(
        "one of two relays stays closed",
        "with the other relay alone the pump still worked: {value}",
        "The other relay keeps the pump off. Hand switch off, then change that relay: its contact "
        "has most likely welded. If it is sound, look at its transistor, its wire and the board's "
        "pin. Clear when it is mended: both are proved again before the next start.",
    ),
    "no flow": RuleWords(
        "little water past the meter",
        "hardly any water passed the flow meter for {value} with the pump on, limit {limit}",
        "Is every tap behind the pump open, and no hose kinked? Is the strainer under water and "
        "clean? Is the pump hot, and has switched itself off? Then look at the meter: a fibre may "
        "hold its wheel, or its lead may be off. If the pressure reads as always with the line "
        "shut, silt has closed its sensor's port.",
    ),
    "bad meter": RuleWords(
        "flow meter stands still",
        "after a rest the pressure rose again as with water, and the flow meter hardly turned",
        "Look into the flow meter: a fibre or silt may hold its wheel. Then look at its wire, its "
        "plug and its supply. Until it turns again the litres are those of the pressure.",
    ),
}

ACTION_WORDS = {
    "warn": "The board went on and only says so.",
    "by hand": "No set starts by itself while this lasts; the button still works.",
    "shorten": "That is too little to start for: nothing was pumped.",
    "refuse": "The pump was not started that night.",
    "retry": "Stopped, to try again after a rest.",
    "night": "Stopped for the night; the next night begins as usual.",
    "flat": "Stopped until the battery has been charged.",
    "lock": "Locked out: the pump stays off until a person has looked and cleared it.",
    "end run": "The run by hand was ended; tonight's sets go ahead as planned.",
}

CAUSE_WORDS = {
    "complete": "all given",
    "by hand": "by hand",
    "rain": "rain",
    "on hold": "on hold, as asked",
    "missed": "missed its time",
    "clock": "the clock could not be trusted",
    "battery": "too little charge in the battery",
    "tripped": "the readings would not settle before the start",
    "noon": "cut by noon",
    "hand run": "a run by hand was still under way",
}

STATE_WORDS = {
    "unset": "without valid settings",
    "idle": "waiting",
    "check": "checking its readings before a start",
    "prime": "starting the pump, until water comes",
    "run": "pumping",
    "soak": "pausing between two runs, so that the water sinks in",
    "rest": "resting before another try",
    "done": "stopped for the night",
    "flat": "stopped until the battery is charged",
    "lockout": "locked out",
}

QUALITY_WORDS = {
    "good": "good",
    "below band": "below all that is possible: a wire is off or shorted to ground",
    "above band": "above all that is possible: shorted to a supply",
    "stuck": "stuck: it does not move at all",
    "jumping": "jumping from tick to tick",
    "stale": "not there",
    "off zero": "as much too high as it was before the start: its zero has drifted, or its port "
    "is closed",
}

VERDICT_WORDS = {
    "good": "is good",
    "not set": "is not set",
    "went back": "went back",
    "stopped": "stands still",
    "apart from the ticks": "runs faster or slower than the board's own count",
}

CLOSED_WORDS = {
    "stands still": "it stands",
    "stayed closed": "it went on when it was told to stop (a welded relay contact?)",
    "closed by itself": "it started by itself (a wire over the relay's contact, a shorted "
    "transistor, water in the box?)",
    "closed since power came": "it was so from power-up on (an active-low relay module, which "
    "closes when it is told to open?)",
    "closed when told to open": "it stopped when it was told to start (an active-low relay "
    "module, or the wire on the contact that is closed at rest?)",
}

STUCK_WORDS = (
    "both open",
    "the first one, which makes and breaks the current, does not open",
    "the second one does not open",
)
"""By the number of the relay that does not open (keeper.relay)."""

COMMAND_WORDS = {
    "none": "Nothing was asked for.",
    "hold": "A person put the sets on hold{value}.",
    "run": "A person started a run{value}.",
    "stop": "A person stopped the pump.",
    "clear": "A person has looked and cleared the stop.",
    "battery": "A person said what is in the battery{value}.",
    "clock": "A person set the clock.",
    "relearn": "A person said that nozzle or hose was changed: what is normal is learned anew.",
}

UNIT_WORDS = {"off": "off", "minutes": "minutes", "depth": "depth", "volume": "volume"}

BOOT_WORDS = (
    "Power came on",
    "Power came back",
    "Power came back; it had gone while the pump ran",
)
"""By the cause of the start; the board counts on from what it remembers after the second."""
BROKEN_RUN_LOOK = (
    "Did somebody take the battery off? Then stop the pump first, the next time. If not, look at "
    "the pump's fuse: one that has blown means a pump that is stuck, or a wire that is chafed. "
    "Then, the hand switch off, at the clamps."
)
"""What to look at where a run was broken off by a loss of power."""

BOARD_LISTS = (
    (ACTIONS, ACTION_WORDS),
    (CAUSES, CAUSE_WORDS),
    (STATES, STATE_WORDS),
    (QUALITIES, QUALITY_WORDS),
    (VERDICTS, VERDICT_WORDS),
    (KINDS, CLOSED_WORDS),
    (COMMANDS, COMMAND_WORDS),
    (UNITS, UNIT_WORDS),
)
"""Each list of the board with its words."""


def word_of(names: tuple[str, ...], words: dict[str, str], number: int) -> str:
    """The words for a number of one of the board's lists; a later board may have more.

    >>> word_of(("warn",), {"warn": "The board went on."}, 0), word_of(("warn",), {}, 7)
    ('The board went on.', 'number 7, which this version does not know')
    """
    if 0 <= number < len(names):
        return words[names[number]]
    return f"number {number}, which this version does not know"
