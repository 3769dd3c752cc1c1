"""Every step of the proof: what is done, what must happen, and in which round it is walked.

Within a round the order is that of this list: first with the pump unplugged, then with the pump
on. A rule whose real cause would do harm is met with its limit brought to what is harmless: the
settings under "trial" live in the board's memory for that step only, and are gone with the next
loss of power. No step pulls a clamp, bares a live wire, lets a hose whip or needs a ladder.
"""

from rillkeeper.board.proof.step import (
    ASK,
    BATTERY,
    BEGAN,
    BENCH,
    BUTTON,
    BY_ITSELF,
    CLICK,
    CUT_OUT,
    DEAD,
    DRIFT,
    FUSE,
    HALT,
    HAND_SWITCH,
    HELD,
    LOOK,
    POLARITY,
    POWER,
    PRESSURE,
    PRIMED,
    RAIN,
    SEASON,
    SET,
    SLACK_MS,
    START,
    TOLD,
    TUB,
    VALUE,
    ZERO,
    Step,
)

HALT_MS = 1500
THROTTLED_S = 61
"""The pressure of a night is learned a minute after the prime."""
HANDS_MS = 120_000
"""How long a person is waited for while the pump runs."""
_CHECK = (10_000,)
_PRIME = ("prime_ms", 15_000)
_HANDS = ("prime_ms", HANDS_MS)
_UNPLUGGED = "The pump is unplugged."
_BOARD_OFF = (
    "Hand switch off, then the board's own fuse out, before you touch plug or wire; the switch "
    "on last."
)
_LEAD_OFF = "Hand switch off while you fit the lead or take it off: a live contact is never bared."
_NOT_ALONE = "Not alone at the bank: one lifts by the rope from firm ground, one is at the switch."
_PLUGS = ("switch", "fuse", "plug", "plug", "fuse", "switch")
"""Hands that pull a plug and put it back, by that caution."""
_LEAD = ("switch", "lead", "switch", "switch", "lead", "switch")
_STRAINER = ("walk", "strainer", "walk")

_SEEMS_TO_STAND = (
    "normal_pa = dead_head_pa - 1",
    "primed_pa = dead_head_pa - 2",
    "dry_pa = normal_pa + 1500",
    "static_pa = normal_pa - 2000",
    "current_fitted = 0",
)
"""A pump whose pressure is that of standing water, and whose current nobody sees, is none that
turns."""

# fmt: off
_SEASON = (
    # The pump unplugged.
    Step("stays-dead", "No power, no pump", DEAD,
         f"{_UNPLUGGED} A lamp of 5 W, or the meter, is in its place where you see it. Hand "
         "switch on.",
         "the lamp is dark without power, at power-up and while reset is held",
         ask="Did the lamp stay dark throughout: without power, as the board came up, in reset?",
         round=SEASON, place=BENCH, hands=("switch", "plug", "lamp"),
         caution="Hand switch off while you unplug the pump; a new build has a main fuse of 1 A."),
    Step("relay-click", "The relay clicks", CLICK,
         f"{_UNPLUGGED} Listen to the relay. Without load sense, hold a meter or a 12 V lamp to "
         "its load side and to minus.",
         "the relay clicks, its load side is live, and dead again after the stop",
         round=SEASON, place=BENCH, hands=("look",),
         caution="The pump stays unplugged until it is said."),
    Step("relay-closed", "Welded relay", LOOK,
         f"{_UNPLUGGED} Hand switch off. A test lead, insulated, with a fuse of 1 A in it, goes "
         "over the relay's contact (of two relays, over both): battery side to load side. Hand "
         "switch on.",
         "locked out", "relay closed", round=SEASON, place=BENCH, needs="load_sense",
         after="Hand switch off; take the lead off; hand switch on.", caution=_LEAD_OFF,
         hands=_LEAD, within=("weld_hold_ms", SLACK_MS), patience=(70_000,)),
    Step("bad-pressure", "Pressure sensor off", START,
         "Pull the plug of the pressure sensor, or the wire off X3.1.",
         "no start", "bad pressure", round=SEASON, place=BENCH, after="Put it back.",
         caution=_BOARD_OFF, hands=_PLUGS, within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("pressure-zero", "Pressure at zero", ZERO,
         "Take the hose off the pressure sensor, so that no water stands above it.",
         "the board reads zero", round=SEASON, place=BENCH, needs="pressure",
         after="Put the hose back.", hands=("unscrew", "unscrew")),
    # The pump on.
    Step("weak-supply", "Resistance of the supply", START,
         "Hand switch off; take the lamp out and plug the pump in; the main fuse in. Strainer "
         "under water, outlet open, nobody in the spray. Hand switch on.",
         "the resistance is learned and a warning comes", "weak supply", round=SEASON,
         trial=("resistance_mohm = 1", "resistance_warn_mohm = 2"), timed=PRIMED, within=(6000,),
         patience=_PRIME, hands=("switch", "plug", "walk", "walk", "switch"),
         caution="From here on the pump may start: hands off pump and wiring."),
    Step("hand-switch", "The hand switch", HAND_SWITCH,
         "Outlet open. Have a hand on the hand switch.",
         "the pump stops at once, and the board says that it gets nothing", round=SEASON,
         during="Hand switch off.", after="Hand switch on.",
         ask="Did the pump stop at once with the switch?", hands=("switch", "switch"),
         caution="It is what stops a welded relay. If the pump runs on, pull no clamp: the board "
         "stops it within two minutes."),
    Step("battery-meter", "Battery voltage against a meter", BATTERY,
         "Hold the meter to the relay's battery terminal and to minus (X1.2 and X2.1), where the "
         "board measures. It is read twice: the pump off, then on.",
         "the board reads what the meter shows", round=SEASON, needs="battery",
         hands=("meter", "meter"),
         caution="A slip of the probe from 12 V to a pin destroys the board."),
    Step("dead-head", "Line shut", START, "Have a hand on the tap at the outlet.", "stopped",
         "dead head", round=SEASON, during="Shut the tap, within a second or two.",
         after="Open the tap.", hands=("walk", "tap", "tap", "walk"),
         within=("dead_head_hold_ms", SLACK_MS), patience=_HANDS,
         caution="Never over a minute: if it does not stop, hand switch off."),
    Step("pressure-switch", "Pressure switch at the pump", CUT_OUT,
         "Have a hand on the tap at the outlet. The board lets a shut line be for ten seconds "
         "this once. Without a pressure switch leave this step out.",
         "the switch stops the pump by itself, below its rating", round=SEASON,
         during="Shut the tap, within a second or two.", after="Open the tap.",
         ask="Did the pump fall silent while the tap was shut, some seconds before the relay "
         "clicked?", trial=("dead_head_hold_ms = 10000",), hands=("walk", "tap", "tap", "walk"),
         caution="The board still stops at the rating. If neither does, hand switch off."),
    Step("relay-closed-unsensed", "Welded relay, told by battery and pressure", LOOK,
         "Hand switch off. A test lead, insulated, of the pump's own gauge and with a fuse as the "
         "main one in it, goes over the relay's contact. Hand switch on: the pump runs, and goes "
         "on until you switch it off.", "locked out", "relay closed", round=SEASON,
         after="Hand switch off: the pump stands. Take the lead off; hand switch on.",
         needs="battery pressure !load_sense", caution=_LEAD_OFF, hands=_LEAD,
         within=("weld_hold_ms", SLACK_MS), patience=(150_000,)),
    Step("dry-run", "Pump runs dry", START, "Have the strainer's rope in your hand.", "stopped",
         "dry run", round=SEASON, during="Lift the strainer out of the water.",
         caution=_NOT_ALONE, hands=("walk", "strainer"),
         within=("dry_hold_ms", SLACK_MS), patience=("prime_ms", "dry_hold_ms", HANDS_MS)),
    Step("no-prime", "Pump does not prime", START, "The strainer is out of the water.",
         "stopped", "no prime", round=SEASON, after="Put the strainer back under water.",
         timed=VALUE, caution=_NOT_ALONE, hands=("strainer", "walk"),
         within=("prime_ms", SLACK_MS), patience=("prime_ms", 30_000), starts=2,
         first=("dry run", "no flow")),
    Step("no-flow", "Little water past the meter", START,
         "Outlet open, nobody in the spray. Have two fingers on the plug of the flow meter, or on "
         "wire 69 at the board's pin, its screw loosened.", "stopped", "no flow", round=SEASON,
         during="Pull it.", after="Put it back.", hands=("plug", "plug"), timed=VALUE,
         within=("no_flow_ms", SLACK_MS), patience=_HANDS,
         caution="A lead of milliamperes; of the thick wires none is touched."),
    Step("fuse-and-joints", "Main fuse and joints", FUSE,
         "Hand switch off. Feel what the current went through: clamps, fuse holder, hand switch, "
         "relay terminals, the pump's plug. Read what is printed on the main fuse.",
         "the fuse is the one that the cable was sized for, and no joint is warm", round=SEASON,
         after="Hand switch on.", ask="Are all joints as cold as the cable beside them?",
         caution="A bad joint can be hot: come near with the back of the hand first.",
         hands=("switch", "feel", "look", "switch")),
)

_BUILD = (
    # The pump unplugged.
    Step("pull-down", "Resistor that holds the relay open", ASK,
         f"{_UNPLUGGED} A lamp of 5 W, or the meter, is in its place. Pull the wire off the "
         "board's pin of the relay, of two relays both wires, and listen; hand switch on.",
         "the lamp stays dark and no relay clicks",
         ask="Is the lamp dark, and did no relay click?", place=BENCH,
         after="Hand switch off; put the wire back; hand switch on.",
         caution="Hand switch off first; a fuse of 1 A for the main one until the pump goes in.",
         hands=("switch", "lamp", "plug", "switch", "look", "switch", "plug", "switch")),
    Step("polarity", "Pump's wires not turned round", POLARITY,
         f"{_UNPLUGGED} The meter is in the plug that the pump goes to, red on its red wire.",
         "nothing while the relay is open, then 10 to 15 V, not minus 10 to 15 V", place=BENCH,
         trial=("open_hold_ms = 10000",), hands=("meter",),
         caution="A fuse of 1 A for the main one: wires turned round are a short circuit."),
    Step("pressure-known", "Pressure at zero and at a known pressure", PRESSURE,
         "Take the hose off the pressure sensor, so that no water stands above it.",
         "the board reads zero, and then what the gauge or the height of water says",
         place=BENCH, needs="pressure", after="Put the hose back.",
         hands=("unscrew", "unscrew", "unscrew", "unscrew"),
         caution="Stay below the rating, and on the ground: four metres of water are enough."),
    Step("button", "The button starts and stops", BUTTON, _UNPLUGGED,
         "a short press closes the relay, another one opens it", place=BENCH, needs="button",
         hands=("look", "look")),
    Step("rain-contact", "The rain contact", RAIN,
         "Close the rain contact, or wet it, and leave it so for a minute.",
         "the board writes that it rains", place=BENCH, needs="rain", after="Open it again.",
         hands=("plug", "plug")),
    Step("bad-battery", "Battery wire off", START,
         "Pull the plug of the battery sense wire, or the wire off X1.3.",
         "no start", "bad battery", place=BENCH, after="Put it back.", caution=_BOARD_OFF,
         hands=_PLUGS, within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("bad-frost", "Frost sensor off", START,
         "Pull the plug of the frost sensor, or the wire off X3.4.",
         "no start", "bad frost", place=BENCH, after="Put it back.", caution=_BOARD_OFF,
         hands=_PLUGS, within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("swapped", "Sensor wires exchanged", START,
         "Exchange battery sense and pressure sensor at the board: both plugs, or the wires "
         "24 and 25 at its pins.",
         "no start", "swapped", place=BENCH, after="Put both back where they belong.",
         caution=_BOARD_OFF, hands=(*_PLUGS, "plug", "plug"),
         within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("frost", "Frost", START, "Hold the frost sensor in ice water, in a bag, for two minutes.",
         "no start", "frost", place=BENCH, after="Dry the sensor and let it warm up.",
         hands=("ice",), within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("relay-open", "Relay that does not close", START,
         "Pull the plug of the relay's coil, or the relay out of its socket.",
         "stopped", "relay open", place=BENCH, after="Put it back.", caution=_BOARD_OFF,
         hands=_PLUGS, within=("open_hold_ms", SLACK_MS), patience=(20_000,)),
    Step("relay-stuck", "One of two relays that does not open", START,
         f"{_UNPLUGGED} Hand switch off. The test lead with the fuse of 1 A goes over the contact "
         "of the first relay, and no other. Hand switch on.",
         "locked out", "relay stuck", place=BENCH, needs="load_sense",
         after="Hand switch off; take the lead off; hand switch on.", caution=_LEAD_OFF,
         hands=_LEAD, within=(SLACK_MS,), patience=_CHECK),
    Step("relay-chatter", "Relay that chatters", START,
         "Have two fingers on the plug of the load-side sense, or on wire 23 at the board's pin, "
         "its screw loosened.", "locked out", "relay chatter",
         place=BENCH, needs="load_sense", during="Pull it once, and put it back at once.",
         trial=("chatter_max = 2", "open_hold_ms = 10000"), hands=("plug", "plug"),
         caution="A sense wire of milliamperes; of the thick wires none is touched.",
         timed=VALUE, unit="changes", within=(3,), patience=(20_000,), starts=2),
    Step("no-clock", "Clock gone", LOOK,
         "Pull the plug of the clock chip, or wire 31 off the board's pin. Without a chip: the "
         "board's own fuse and USB out for ten seconds.",
         "a warning; nothing starts by itself", "no clock", place=BENCH,
         after="Put it back; the clock is then set from this computer.",
         hands=("plug", "plug"), timed=TOLD, within=(62_000,), patience=(62_000,)),
    Step("power-lost", "Power lost in mid-run", POWER,
         f"{_UNPLUGGED} Have a hand at the board's own fuse, or at the plug of its supply.",
         "the relay is open when power comes back, nothing starts, the log is whole", place=BENCH,
         during="The board's own fuse out, and the USB cable; count to ten; both in again.",
         trial=("open_hold_ms = 10000",), hands=("fuse",),
         caution="With the pump unplugged nothing flows but the coil's current; clamps stay on."),
    # The pump on.
    Step("bad-current", "Current sensor off", START,
         "Hand switch off; the pump plugged in, the main fuse in; pull the plug of the current "
         "sensor, or the wire off X3.11. Strainer under water, outlet open. Hand switch on.",
         "stopped", "bad current", after="Put it back.", caution=_BOARD_OFF,
         hands=_PLUGS, within=("sensor_hold_ms", SLACK_MS), patience=_PRIME),
    Step("flow-meter", "What a pulse of the flow meter is", TUB,
         "Pump plugged in, main fuse in. The strainer in a tub of 40 litres or more, full up to a "
         "mark; have a jug or a scale. Outlet open, nobody in the spray. The pump first fills its "
         "lines from it.",
         "the board counts what the tub has lost, or is told what a pulse is", needs="flow",
         after="Put the strainer back where it was.", hands=("strainer", "tub", "tub", "strainer"),
         caution="The pump is stopped before the tub is empty. If not, hand switch off."),
    Step("bad-meter", "Flow meter that stands still", START,
         "Outlet open, nobody in the spray. Pull the plug of the flow meter, or wire 69 off the "
         "board's pin. The board stops once, and starts again by itself.",
         "a warning, and the pump goes on", "bad meter", needs="pressure", after="Put it back.",
         trial=("retry_rest_s = 10", "dead_head_tries = 1"), hands=_PLUGS, timed=PRIMED,
         within=("no_flow_ms", 2000), patience=("prime_ms", "prime_ms", "no_flow_ms",
                                               "no_flow_ms", 60_000), first=("no flow",),
         caution=_BOARD_OFF),
    Step("line-open", "Line open", START,
         "Pump plugged in, main fuse in. A tee with a tap, shut, is in the line before the "
         "nozzle; its open end lies tied down where water may run.", "stopped", "line open",
         during="Open the tap of the tee.", after="Shut the tap of the tee.",
         hands=("walk", "tap", "tap", "walk"), within=("line_open_hold_ms", SLACK_MS),
         patience=("prime_ms", "line_open_hold_ms", HANDS_MS),
         caution="No joint is undone while it runs: a loose hose whips. If the board says dry run "
         "instead, open the tap less."),
    Step("slow-choke", "Pressure that drifts over nights", DRIFT,
         "Outlet open: three runs of a minute, in which the board learns what is normal.",
         "a warning", "slow choke", during="Shut the tap a little, so that the spray gets weaker.",
         after="Open the tap.", trial=("drift_permille = 50",), hands=("walk", "tap", "walk"),
         timed=PRIMED, within=(THROTTLED_S * 1000, 1000), patience=("prime_ms", 90_000)),
    Step("dry-too-long", "Pump dry for too long", START, "Have the strainer's rope in your hand.",
         "locked out", "dry too long", during="Lift the strainer out of the water.",
         after="Put the strainer back under water.", caution=_NOT_ALONE,
         hands=_STRAINER, trial=("dry_night_s = 10", "dry_hold_ms = 20000",
                                 "line_open_hold_ms = 30000", "no_flow_ms = 30000"),
         timed=VALUE, unit="s", within=("dry_night_s", 1000), patience=_HANDS),
)

_WATERED = "Pump plugged in, strainer under water, outlet open, nobody in the spray."
_NO_CHARGER = f"{_WATERED} No charger is on the battery."
_BY_ITSELF = (
    # The pump stands.
    Step("brown-out", "Voltage too low", START, _NO_CHARGER, "no start", "brown-out",
         trial=("floor_mv = charging_mv - 3", "cutout_mv = charging_mv - 2",
                "reconnect_mv = charging_mv - 1"),
         round=BY_ITSELF, within=("floor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("over-voltage", "Voltage too high", START, _WATERED, "no start", "over-voltage",
         trial=("over_mv = battery_mv - 300", "charging_mv = battery_mv - 310",
                "charged_mv = battery_mv - 320", "reconnect_mv = battery_mv - 330",
                "cutout_mv = battery_mv - 340", "floor_mv = battery_mv - 350", "empty_mv = 0",
                "rest_25_mv = 0", "rest_50_mv = 0", "rest_75_mv = 0"),
         round=BY_ITSELF, within=("over_hold_ms", SLACK_MS), patience=_CHECK),
    Step("charge-reserve", "Too little charge for the set", START, _WATERED, "no start",
         "charge reserve", trial=("reserve_mah = capacity_mah - 1",),
         round=BY_ITSELF, timed=SET, within=(2000, SLACK_MS), patience=_CHECK),
    # For a moment.
    Step("too-many-starts", "Too many starts", START, _WATERED, "no start", "too many starts",
         trial=("starts_max = 1",), round=BY_ITSELF, timed=SET, within=(1000, SLACK_MS),
         patience=(12_000,), starts=2),
    Step("late-tick", "Board that stands still", HALT, _WATERED,
         "the relay drops by itself, then a stop", "late tick",
         round=BY_ITSELF, timed=VALUE, within=(HALT_MS, SLACK_MS), patience=(20_000,)),
    # Until it has primed, and as long as the rule takes.
    Step("bad-supply", "Supply too weak", START, _WATERED, "stopped", "bad supply",
         trial=("resistance_mohm = 1", "resistance_warn_mohm = 2", "resistance_refuse_mohm = 3"),
         round=BY_ITSELF, timed=BEGAN, within=("prime_ms", 6000), patience=_PRIME),
    Step("stall-by-sag", "Pump stuck, by the sag", START, _WATERED, "locked out",
         "stall by sag", trial=("stall_sag_mv = 100", *_SEEMS_TO_STAND), round=BY_ITSELF,
         within=("stall_hold_ms", SLACK_MS), patience=(30_000,)),
    Step("stall", "Pump stuck, by the current", START, _WATERED, "locked out", "stall",
         trial=("stall_ma = 1000", "current_high_band_count = 4095"), round=BY_ITSELF,
         within=("stall_hold_ms", SLACK_MS), patience=_PRIME),
    Step("no-sag", "Battery reading that does not move", START, _WATERED, "stopped",
         "no sag", trial=("resistance_mohm = 4998", "resistance_warn_mohm = 4999",
                          "resistance_refuse_mohm = 5000", "open_hold_ms = 10000"),
         round=BY_ITSELF, within=(5000, SLACK_MS), patience=("prime_ms", 30_000)),
    Step("low-charge", "Battery flat", START, _NO_CHARGER,
         "stopped until the battery is charged", "low charge",
         trial=("cutout_mv = charging_mv - 2", "reconnect_mv = charging_mv - 1"),
         round=BY_ITSELF, within=("cutout_hold_ms", SLACK_MS),
         patience=("prime_ms", "cutout_hold_ms", 30_000)),
    Step("high-pressure", "Pressure over the rating", START, _WATERED, "locked out",
         "high pressure", trial=("normal_pa = primed_pa + 2000", "dead_head_pa = primed_pa + 4000",
                                 "rating_pa = primed_pa + 6000", "dead_head_hold_ms = 5000"),
         round=BY_ITSELF, within=("rating_hold_ms", SLACK_MS), patience=_PRIME),
    Step("over-run", "Run too long", START, _WATERED, "stopped", "over-run",
         trial=("run_max_s = 60",), round=BY_ITSELF, timed=VALUE, unit="s",
         within=("run_max_s", 1000), patience=(75_000,)),
    Step("duty", "Motor too hot", START, _WATERED, "stopped", "duty",
         trial=("duty_s = 60",), round=BY_ITSELF, timed=BEGAN, within=("duty_s", 2000),
         patience=(75_000,)),
)
# fmt: on

STEPS = (*_BUILD, *_SEASON, *_BY_ITSELF)
"""In the order in which a new board is proved."""
BY_ID = {step.id: step for step in STEPS}

NOT_ON_SITE: dict[str, str] = {
    "fuse blown": "it takes a pump that stands and a fuse; the project's tests melt fuses of the "
    "right size on drawn sites",
    "runs broken off": "it takes two losses of power with the pump on; the project's tests cut "
    "it at every tick of a run and of a trip",
}
"""Rules that no step can provoke safely, each with the reason and how it is proved instead."""

NOT_WITHOUT_LOAD_SENSE: dict[str, str] = {
    "relay chatter": "without load sense it is told by the battery, and only a contact that "
    "breaks the pump's current again and again would show it; the project's tests play that",
    "relay stuck": "without load sense it takes a pump that runs through a bridge at the relay; "
    "the project's tests spoil each contact, coil and pin in turn",
}
"""The same, for boards that do not read the load side back."""

NOT_BY_BATTERY_ALONE: dict[str, str] = {
    "relay closed": "told by the battery alone, just after a stop, it takes a bridge over a live "
    "contact; the project's tests play that",
}
"""The same, for boards that besides have no transducer."""

TIMED_WORDS = {
    HELD: "how long the board saw the limit passed before it acted",
    VALUE: "what the board measured when it acted",
    SET: "from the check to the record, by the log",
    BEGAN: "from the start of the pump to the record, by the log",
    PRIMED: "from the prime to the record, by the log",
    TOLD: "from your word to the record, by this computer",
}
