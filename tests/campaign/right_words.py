"""Which words of the board are right for which fault: one table, held against every cell.

Words are those of the log: "trip NAME", "warn NAME", "clock VERDICT", "skip CAUSE"; "relay closed"
goes on with how the pump came to work, since the report names another culprit for each. A word is
right where what the morning report says about it (``rillkeeper/runlog/rule_text.py``) sends the
gardener to the thing that is wrong. A reason stands where that is not obvious.
"""

from typing import NamedTuple

from keeper.standstill import KINDS

FOLLOWS = ("skip missed", "skip battery", "short", "warn charge reserve")
"""What only follows from a stop that was told before: neither right nor wrong."""


class Right(NamedTuple):
    """The words that are right for one fault."""

    words: tuple[str, ...]
    blind: tuple[str, ...] = ()
    """Right as well on a board without load sense."""
    corrected: tuple[tuple[str, str], ...] = ()
    """(word, other): right as well where the board goes on to say the other one by itself, for it
    can tell only by then; wrong where it leaves it at that."""
    silent: bool = False
    """The board may stop the pump, or lose its water, and say nothing."""
    why: str = ""


NO_FLOW = "no flow"
"""Its words begin with a shut line, go on to a dry source, and end at the meter."""
DRY = ("dry run", "no prime", "dry too long", NO_FLOW)
SHUT = ("dead head", "high pressure", "slow choke", NO_FLOW)
SUPPLY = ("weak supply", "bad supply", "brown-out")
SPENT = ("low charge", "charge reserve", *SUPPLY)
NO_TIME = ("no clock", "clock not set", "clock went back", "clock stopped", "skip clock")
APART = "clock apart from the ticks"
BROKEN_OFF = ("power lost in a run", "runs broken off")
STUCK = "relay stuck"
STAYED, BY_ITSELF, SINCE_POWER, INVERTED = (f"relay closed: {kind}" for kind in KINDS[1:])

WORDS: dict[str, Right] = {
    "source_empty": Right(DRY),
    "source_falling": Right(
        (*DRY, "slow choke", "line open"),
        why="line open: its words end at the strainer, for less and less water looks alike",
    ),
    "foot_valve_leak": Right(DRY),
    "air_leak": Right(
        (*DRY, "slow choke", "line open"),
        why="line open: less water at less pressure, as through a hole behind the pump, and the "
        "current follows the pressure alone; its words end at the joints of the suction line",
    ),
    "strainer_blocking": Right(
        (*DRY, "slow choke", "line open"),
        why="line open: its words name a strainer that clogs within a run",
    ),
    "outlet_shut": Right(SHUT),
    "hose_kinked": Right(SHUT),
    "hose_burst": Right(
        ("line open", "slow choke", "no prime", "dry run", "dry too long"),
        why="no prime, dry run, dry too long: near the pump a burst leaves no pressure at all; "
        "their words end at it",
    ),
    "sprinkler_blocked": Right(SHUT),
    "nozzle_worn": Right(("slow choke", "line open")),
    "nozzle_gone": Right(("line open", "slow choke")),
    "pump_stalled": Right(
        ("stall", "stall by sag", "fuse blown", "relay open", *BROKEN_OFF),
        why="relay open, power lost: the fuse melts first, and their words send to the fuse",
    ),
    "motor_cut_out": Right(
        ("relay open", "no sag", *DRY),
        why="no water while the relay is closed; the words of no prime and dry too long name the "
        "cut-out, and dry run is followed by them; no sag: its words end at the cut-out",
    ),
    "pump_worn": Right(
        ("slow choke", "no prime", "dry too long"),
        why="slow choke: its words name wear; no prime, and dry too long after several of them: "
        "worn valves do not lift a dry line",
    ),
    "weak_cell": Right(SPENT),
    "battery_tired": Right(SPENT),
    "battery_cold": Right(SPENT),
    "flat_battery": Right(
        ("low charge", "charge reserve", "brown-out", "bad battery"),
        corrected=(("bad supply", "low charge"),),
        why="bad battery: one that is spent reads less than the band, and its words end at a "
        "meter at its posts; brown-out: its words end at charge and test the battery; bad supply "
        "is wrong: volts that go down at once under load look like a joint's, but a joint gives "
        "them back without a load",
    ),
    "battery_lifted": Right(
        BROKEN_OFF, silent=True, why="a board without supply says nothing until it is back"
    ),
    "thin_cable": Right(
        SUPPLY, why="brown-out: its words begin with clamps and cable; low charge is wrong"
    ),
    "corroded_clamp": Right(
        (*SUPPLY, *BROKEN_OFF), why="as thin_cable; power lost: its words end at the clamps"
    ),
    "over_voltage": Right(
        ("over-voltage", "bad battery"),
        why="bad battery: beyond the end of the converter a charger and a shorted wire read the "
        "same; its words begin with the charger, which boils the battery",
    ),
    "battery_channel_open": Right(("bad battery", "no sag")),
    "battery_channel_short": Right(("bad battery", "no sag")),
    "pressure_channel_open": Right(("bad pressure",)),
    "pressure_channel_short": Right(("bad pressure",)),
    "pressure_channel_stuck": Right(("bad pressure",)),
    "pressure_offset": Right(
        ("slow choke", "bad pressure", "line open", SINCE_POWER),
        corrected=(("dead head", "bad pressure"), ("dry run", "line open")),
        why="slow choke: the only words for a slow drift; line open: its words end at the sensor, "
        "and so do those of closed since power came, where a weak pump makes no more than the "
        "step; dead head, dry run: a step while the pump runs is a line that is shut, or dry, "
        "until the next start",
    ),
    "battery_offset": Right(
        ("bad battery", "no sag", "weak supply", "bad supply", "low charge", "charge reserve"),
        why="2 to 3 % off: a step while the pump runs looks like a battery that is not read, or "
        "downwards like a joint that got worse, and at rest like charge that is missing: one "
        "channel cannot tell itself from its battery, and the words of these four end at a meter",
    ),
    "channels_swapped": Right(
        ("swapped", "bad battery", "bad pressure"),
        why="bad battery, bad pressure: both send to the plugs of the sensors",
    ),
    "relay_open": Right(("relay open",)),
    "relay_welded": Right(
        (STAYED, SINCE_POWER, STUCK),
        why="closed since power came: after a loss of power nobody knows how it came to be; relay "
        "stuck: where a second one opens for it",
    ),
    "relay_bridged": Right(
        (BY_ITSELF, STAYED, SINCE_POWER, STUCK),
        why="stayed closed: bridged while the pump ran it is as a welded one; since power came: "
        "as relay_welded, and so is relay stuck",
    ),
    "relay_inverted": Right(
        (SINCE_POWER, INVERTED, BY_ITSELF, "relay open", STUCK),
        why="closed by itself: such a module is so from power-up on, and here it begins in the "
        "night; relay open: it is, and its words end at the relay",
    ),
    "relay_chatter": Right(
        ("relay chatter",),
        blind=("relay open",),
        why="without load sense a chattering contact is only seen as one that does not carry",
    ),
    "relay_worn": Right(("slow choke", "relay open", "relay chatter")),
    "second_relay_open": Right(("relay open",)),
    "second_relay_welded": Right((STUCK,)),
    "clock_lost": Right((*NO_TIME, APART)),
    "clock_back": Right((*NO_TIME, APART)),
    "clock_stopped": Right((*NO_TIME, APART)),
    "clock_misread": Right((*NO_TIME, APART)),
    "frost": Right(("frost",)),
    "rain": Right(("skip rain",), silent=True, why="a run ends by rain without a trip"),
    "pressure_port_clogged": Right(
        ("bad pressure", "no prime", "dry too long", "line open", SINCE_POWER),
        why="bad pressure: the next start does not move it; no prime, dry too long: one that "
        "clogs at rest shows no pressure at the start; line open: one that clogs while the line "
        "fills shows that little; closed since power came: it shows pressure at rest; the words "
        "of all end at the port",
    ),
    "meter_stuck": Right((NO_FLOW, "bad meter")),
    "current_channel_open": Right(("bad current",)),
    "current_channel_short": Right(("bad current",)),
    "current_offset": Right(("bad current",)),
}


def bare(said: str) -> str:
    """The word itself, without whether it tripped or warned."""
    return said.removeprefix("trip ").removeprefix("warn ")


def wrong_words(faults: tuple[str, ...], said: list[str], load_sense: bool) -> list[str]:
    """What is said of these faults and right for none of them."""
    bares = [bare(word) for word in said]
    right = {word for name in faults for word in WORDS[name].words}
    for word, other in (pair for name in faults for pair in WORDS[name].corrected):
        if word in bares and other in bares[bares.index(word) :]:
            right.add(word)
    if not load_sense:
        right |= {word for name in faults for word in WORDS[name].blind}
    return [word for word, name in zip(said, bares, strict=True) if name not in right]
