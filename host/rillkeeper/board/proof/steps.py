"""Every step of the proof, in the order in which it is walked.

First on the bench with the pump unplugged, then at the water. A rule whose real cause would do
harm is met with its limit brought to what is harmless: the settings under "trial" live in the
board's memory for that step only, and are gone with the next loss of power.
"""

from rillkeeper.board.proof.step import (
    BATTERY,
    BEGAN,
    BENCH,
    BRIDGE,
    BUTTON,
    CLICK,
    DRIFT,
    HALT,
    HELD,
    LOOK,
    POWER,
    PRESSURE,
    PRIMED,
    RAIN,
    SET,
    SLACK_MS,
    START,
    TOLD,
    VALUE,
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
_NO_CHARGER = "No charger is on the battery."
_BATTERY_OFF = "Hand switch off, then the battery, before you touch a plug; the switch on last."

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
STEPS = (
    # On the bench.
    Step("relay-click", "The relay clicks", CLICK,
         f"{_UNPLUGGED} Listen to the relay. Without load sense, hold a meter or a 12 V lamp to "
         "its load side and to minus.",
         "the relay clicks, its load side is live, and dead again after the stop", place=BENCH,
         caution="A 1 A fuse at the battery post; the pump unplugged until the bench is done."),
    Step("battery-meter", "Battery voltage against a meter", BATTERY,
         "Hold the meter to the relay's battery terminal and to minus, where the board measures.",
         "the board reads what the meter shows", place=BENCH, needs="battery",
         after="Put battery and wires back as they were.",
         caution="A slip of the probe from 12 V to a pin ends the board."),
    Step("pressure-known", "Pressure at zero and at a known pressure", PRESSURE,
         "Take the hose off the transducer, so that no water stands above it.",
         "the board reads zero, and then what the gauge or the height of water says",
         place=BENCH, needs="pressure", after="Put the hose back.",
         caution="Stay below the rating; a hose raised ten metres is 98 kPa and enough."),
    Step("button", "The button starts and stops", BUTTON, _UNPLUGGED,
         "a short press closes the relay, another one opens it", place=BENCH, needs="button"),
    Step("rain-contact", "The rain contact", RAIN,
         "Close the rain contact, or wet it, and leave it so for a minute.",
         "the board writes that it rains", place=BENCH, needs="rain", after="Open it again."),
    Step("bad-battery", "Battery wire off", START, "Pull the plug of the battery sense wire.",
         "no start", "bad battery", BENCH, after="Put the plug back.", caution=_BATTERY_OFF,
         within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("bad-pressure", "Transducer off", START, "Pull the plug of the pressure transducer.",
         "no start", "bad pressure", BENCH, after="Put the plug back.", caution=_BATTERY_OFF,
         within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("bad-frost", "Frost sensor off", START, "Pull the plug of the frost sensor.",
         "no start", "bad frost", BENCH, after="Put the plug back.", caution=_BATTERY_OFF,
         within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("swapped", "Sensor wires exchanged", START,
         "Exchange the plugs of battery sense and pressure transducer at the board.",
         "no start", "swapped", BENCH, after="Put both plugs back where they belong.",
         caution=_BATTERY_OFF, within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("frost", "Frost", START, "Hold the frost sensor in ice water, in a bag, for two minutes.",
         "no start", "frost", BENCH, after="Dry the sensor and let it warm up.",
         within=("sensor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("brown-out", "Voltage too low", START, _NO_CHARGER, "no start", "brown-out", BENCH,
         trial=("floor_mv = charging_mv - 3", "cutout_mv = charging_mv - 2",
                "reconnect_mv = charging_mv - 1"),
         within=("floor_hold_ms", SLACK_MS), patience=_CHECK),
    Step("over-voltage", "Voltage too high", START, _UNPLUGGED, "no start", "over-voltage", BENCH,
         trial=("over_mv = battery_mv - 300", "charging_mv = battery_mv - 310",
                "charged_mv = battery_mv - 320", "reconnect_mv = battery_mv - 330",
                "cutout_mv = battery_mv - 340", "floor_mv = battery_mv - 350", "empty_mv = 0",
                "rest_25_mv = 0", "rest_50_mv = 0", "rest_75_mv = 0"),
         within=("over_hold_ms", SLACK_MS), patience=_CHECK),
    Step("charge-reserve", "Too little charge for the set", START, _UNPLUGGED, "no start",
         "charge reserve", BENCH, trial=("reserve_mah = capacity_mah - 1",),
         timed=SET, within=(2000, SLACK_MS), patience=_CHECK),
    Step("relay-open", "Relay that does not close", START, "Pull the plug of the relay's coil.",
         "stopped", "relay open", BENCH, after="Put the plug back.", caution=_BATTERY_OFF,
         within=("open_hold_ms", SLACK_MS), patience=(20_000,)),
    Step("relay-closed", "Welded relay", LOOK,
         "The pump is unplugged. Bridge the relay's contact with a wire: battery side to load "
         "side (of two relays, over both).",
         "locked out", "relay closed", BENCH, needs="load_sense",
         after="Take the bridge off.", caution="With the 1 A fuse only, never at the main fuse.",
         within=("weld_hold_ms", SLACK_MS), patience=(70_000,)),
    Step("relay-stuck", "One of two relays that does not open", START,
         "The pump is unplugged. Bridge the contact of the first relay with a wire, and no other.",
         "locked out", "relay stuck", BENCH, needs="load_sense",
         after="Take the bridge off.", caution="With the 1 A fuse only, never at the main fuse.",
         within=(SLACK_MS,), patience=_CHECK),
    Step("relay-chatter", "Relay that chatters", START,
         "Have a finger on the plug of the load-side sense.", "locked out", "relay chatter", BENCH,
         needs="load_sense",
         during="Pull the plug and put it back, again and again, twice a second.",
         after="Put the plug back.", trial=("chatter_max = 2", "open_hold_ms = 10000"),
         timed=VALUE, unit="changes", within=(3,), patience=(60_000,)),
    Step("no-clock", "Clock gone", LOOK,
         "Pull the plug of the clock chip. Without a chip: take battery and USB off for ten "
         "seconds.", "a warning; nothing starts by itself", "no clock", BENCH,
         after="Put the plug back; the clock is then set from this computer.",
         timed=TOLD, within=(62_000,), patience=(62_000,)),
    Step("late-tick", "Board that stands still", HALT, _UNPLUGGED,
         "the relay drops by itself, then a stop", "late tick", BENCH,
         timed=VALUE, within=(HALT_MS, SLACK_MS), patience=(20_000,)),
    # At the water.
    Step("weak-supply", "Resistance of the supply", START,
         "Main fuse in, pump on, strainer under water, outlet open.",
         "the resistance is learned and a warning comes", "weak supply",
         trial=("resistance_mohm = 1", "resistance_warn_mohm = 2"),
         timed=PRIMED, within=(6000,), patience=_PRIME,
         caution="From here on the pump may start: hands off pump and wiring."),
    Step("bad-supply", "Supply too weak", START, "Outlet open.", "stopped", "bad supply",
         trial=("resistance_mohm = 1", "resistance_warn_mohm = 2", "resistance_refuse_mohm = 3"),
         timed=PRIMED, within=(6000,), patience=_PRIME),
    Step("stall-by-sag", "Pump stuck, by the sag", START, "Outlet open.", "locked out",
         "stall by sag", trial=("stall_sag_mv = 100", *_SEEMS_TO_STAND),
         within=("stall_hold_ms", SLACK_MS), patience=(30_000,)),
    Step("stall", "Pump stuck, by the current", START, "Outlet open.", "locked out", "stall",
         trial=("stall_ma = 1000", "current_high_band_count = 4095"),
         within=("stall_hold_ms", SLACK_MS), patience=_PRIME),
    Step("bad-current", "Current sensor off", START, "Pull the plug of the current sensor.",
         "stopped", "bad current", after="Put the plug back.", caution=_BATTERY_OFF,
         within=("sensor_hold_ms", SLACK_MS), patience=_PRIME),
    Step("no-sag", "Battery reading that does not move", START, "Outlet open.", "stopped",
         "no sag", trial=("resistance_mohm = 4998", "resistance_warn_mohm = 4999",
                          "resistance_refuse_mohm = 5000", "open_hold_ms = 10000"),
         within=(5000, SLACK_MS), patience=("prime_ms", 30_000)),
    Step("low-charge", "Battery flat", START, f"Outlet open. {_NO_CHARGER}",
         "stopped until the battery is charged", "low charge",
         trial=("cutout_mv = charging_mv - 2", "reconnect_mv = charging_mv - 1"),
         within=("cutout_hold_ms", SLACK_MS), patience=("prime_ms", "cutout_hold_ms", 30_000)),
    Step("high-pressure", "Pressure over the rating", START, "Outlet open.", "locked out",
         "high pressure", trial=("normal_pa = primed_pa + 2000", "dead_head_pa = primed_pa + 4000",
                                 "rating_pa = primed_pa + 6000", "dead_head_hold_ms = 5000"),
         within=("rating_hold_ms", SLACK_MS), patience=_PRIME),
    Step("dead-head", "Line shut", START, "Have a hand on the tap at the outlet.", "stopped",
         "dead head", during="Shut the tap, within a second or two.", after="Open the tap.",
         within=("dead_head_hold_ms", SLACK_MS), patience=_HANDS,
         caution="Never over a minute: if it does not stop, open the hand switch."),
    Step("line-open", "Line open", START, "Stand clear of the spray.", "stopped", "line open",
         during="Take the nozzle off, or open a tap near the pump, so that water runs out freely.",
         after="Put the line together again.", within=("line_open_hold_ms", SLACK_MS),
         patience=("prime_ms", "line_open_hold_ms", HANDS_MS),
         caution="If the board says dry run instead, the line was too open: open it less."),
    Step("slow-choke", "Pressure that drifts over nights", DRIFT,
         "Outlet open: three runs of a minute, in which the board learns what is normal.",
         "a warning", "slow choke", during="Shut the tap a little, so that the spray gets weaker.",
         after="Open the tap.", trial=("drift_permille = 50",), timed=PRIMED,
         within=(THROTTLED_S * 1000, 1000), patience=("prime_ms", 90_000)),
    Step("over-run", "Run too long", START, "Outlet open.", "stopped", "over-run",
         trial=("run_max_s = 60",), timed=VALUE, unit="s", within=("run_max_s", 1000),
         patience=(75_000,)),
    Step("duty", "Motor too hot", START, "Outlet open.", "stopped", "duty",
         trial=("duty_s = 60",), timed=BEGAN, within=("duty_s", 2000), patience=(75_000,)),
    Step("too-many-starts", "Too many starts", START, "Outlet open.", "no start",
         "too many starts", trial=("starts_max = 1",), timed=SET, within=(1000, SLACK_MS),
         patience=(12_000,), starts=2),
    Step("relay-closed-unsensed", "Welded relay, told by the battery", BRIDGE,
         "Have a wire of the pump's own gauge ready.", "locked out", "relay closed",
         during="Bridge the relay's contact with the wire, battery side to load side, and leave "
         "it: the pump goes on after the stop.", after="Take the bridge off now.",
         needs="battery !load_sense", within=("weld_hold_ms", SLACK_MS),
         patience=("prime_ms", 60_000),
         caution="The pump runs until the bridge is off: two people, one at the bridge."),
    Step("power-pulled", "Battery pulled in mid-run", POWER, "Outlet open.",
         "the relay is open when power comes back, nothing starts, the log is whole",
         during="Take the battery off, and the USB cable too; put both back after ten seconds."),
    Step("dry-too-long", "Pump dry for too long", START, "Have the strainer's rope in your hand.",
         "locked out", "dry too long", during="Lift the strainer out of the water.",
         after="Put the strainer back under water.", trial=("dry_night_s = 10",
                                                           "dry_hold_ms = 20000",
                                                           "line_open_hold_ms = 30000"),
         timed=VALUE, unit="s", within=("dry_night_s", 1000), patience=_HANDS),
    Step("dry-run", "Pump runs dry", START, "Have the strainer's rope in your hand.", "stopped",
         "dry run", during="Lift the strainer out of the water.",
         within=("dry_hold_ms", SLACK_MS), patience=("prime_ms", "dry_hold_ms", HANDS_MS)),
    Step("no-prime", "Pump does not prime", START, "The strainer stays out of the water.",
         "stopped", "no prime", after="Put the strainer back under water.", timed=VALUE,
         within=("prime_ms", SLACK_MS), patience=("prime_ms", 30_000), starts=2,
         first=("dry run",)),
)
# fmt: on

BY_ID = {step.id: step for step in STEPS}

NOT_ON_SITE: dict[str, str] = {
    "fuse blown": "it takes a pump that stands and a fuse; the project's tests melt fuses of the "
    "right size on drawn sites",
    "runs broken off": "clamps pulled under load twice make sparks; the project's tests cut the "
    "power at every tick of a run and of a trip",
}
"""Rules that no step can provoke safely, each with the reason and how it is proved instead."""

NOT_WITHOUT_LOAD_SENSE: dict[str, str] = {
    "relay chatter": "without load sense it is told by the battery, and only a contact that "
    "breaks the pump's current again and again would show it; the project's tests play that",
    "relay stuck": "without load sense it takes a pump that runs through a bridge at the relay; "
    "the project's tests spoil each contact, coil and pin in turn",
}
"""The same, for boards that do not read the load side back."""

TIMED_WORDS = {
    HELD: "how long the board saw the limit passed before it acted",
    VALUE: "what the board measured when it acted",
    SET: "from the check to the record, by the log",
    BEGAN: "from the start of the pump to the record, by the log",
    PRIMED: "from the prime to the record, by the log",
    TOLD: "from your word to the record, by this computer",
}
