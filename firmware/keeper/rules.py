"""Every protection of the board, one row each: read this screen and you have audited it.

A row reads aloud: "dry run: pressure below dry_pa for dry_hold_ms, watched in run; stop, rest
and retry dry_tries times, then lock out; cleared by hand". ``guard.py`` runs the table, and a
rule whose sensor is not fitted is not watched (the board lists it as unprotected).

A limit or a hold is the name of a setting, or a number where it is not for the site to choose.
"after" is how many milliseconds the state must have lasted before the rule looks.
"needs": the sensors that must be fitted; of two parted by a stroke either will do.
"gives way to": causes of which the rule would only name a symptom, parted by commas. While one of
them is past its limit the rule does not act: the cause trips, or is over, within its own hold.
"cleared by" says what ends the stop: noon, a charged battery, a person's hand (which also ends
the others), or the cause going away by itself.
"""

ABOVE, BELOW = 1, -1

# What a rule does. The numbers order them: the most severe of several wins.
ACTIONS = (
    "warn",  # say so, go on
    "by hand",  # no scheduled start while it lasts; the button still works
    "shorten",  # give what the battery can, or nothing
    "refuse",  # no start tonight
    "retry",  # stop, rest, start again; when the tries are used up, do what "then" says
    "night",  # stop for the night
    "flat",  # stop until the battery is charged
    "lock",  # stop until a person has looked
    # In no row, but in the log: see hand.py.
    "end run",  # a run by hand ends, and tonight's sets stand
)
WARN, BY_HAND, SHORTEN, REFUSE, RETRY, NIGHT, FLAT, LOCK, END_RUN = range(len(ACTIONS))

# fmt: off
RULES: tuple = (
    # name              quantity             side   limit                     hold                watched in       after  action   tries              then   cleared by  needs               gives way to
    ("high pressure",   "pressure_pa",       ABOVE, "rating_pa",              "rating_hold_ms",   "prime run",         0, LOCK,    0,                 LOCK,  "hand",   "pressure",          "swapped"),
    ("dead head",       "shut_pa",           ABOVE, "dead_head_pa",           "dead_head_hold_ms","prime run",         0, RETRY,   "dead_head_tries", NIGHT, "noon",   "pressure",          "swapped, over-voltage"),
    ("dry run",         "water_pa",          BELOW, "dry_pa",                 "dry_hold_ms",      "run",               0, RETRY,   "dry_tries",       LOCK,  "hand",   "pressure",          ""),
    ("no prime",        "prime_ms",          ABOVE, "prime_ms",               0,                  "prime",             0, RETRY,   "dry_tries",       LOCK,  "hand",   "pressure/flow",     ""),
    ("line open",       "pressure_permille", BELOW, "line_open_permille",     "line_open_hold_ms","prime run",      5000, NIGHT,   0,                 NIGHT, "noon",   "pressure",          "dry run"),
    ("slow choke",      "drift_permille",    ABOVE, "drift_permille",         0,                  "run",               0, WARN,    0,                 WARN,  "noon",   "pressure",          ""),
    ("low charge",      "rested_mv",         BELOW, "cutout_mv",              "cutout_hold_ms",   "run done",       6000, FLAT,    0,                 FLAT,  "charge", "battery",           "bad supply"),
    ("brown-out",       "battery_mv",        BELOW, "floor_mv",               "floor_hold_ms",    "check prime run",   0, NIGHT,   0,                 NIGHT, "noon",   "battery",           "fuse blown, stall by sag, stall, bad supply"),
    ("over-voltage",    "battery_mv",        ABOVE, "over_mv",                "over_hold_ms",     "check prime run",   0, NIGHT,   0,                 NIGHT, "noon",   "battery",           ""),
    ("weak supply",     "resistance_mohm",   ABOVE, "resistance_warn_mohm",   1500,               "run",               0, WARN,    0,                 WARN,  "noon",   "battery",           ""),
    ("bad supply",      "resistance_mohm",   ABOVE, "resistance_refuse_mohm", 1500,               "check prime run",   0, NIGHT,   0,                 NIGHT, "charge", "battery",           ""),
    ("stall by sag",    "sag_mv",            ABOVE, "stall_sag_mv",           "stall_hold_ms",    "prime run",         0, LOCK,    0,                 LOCK,  "hand",   "battery",           ""),
    ("stall",           "current_ma",        ABOVE, "stall_ma",               "stall_hold_ms",    "prime run",         0, LOCK,    0,                 LOCK,  "hand",   "current",           ""),
    ("charge reserve",  "spare_mah",         BELOW, 0,                        0,                  "check",          1500, SHORTEN, 0,                 NIGHT, "charge", "",                  "relay closed"),
    ("over-run",        "on_s",              ABOVE, "run_max_s",              0,                  "prime run",         0, NIGHT,   0,                 NIGHT, "noon",   "",                  ""),
    ("too many starts", "starts",            ABOVE, "starts_max",             0,                  "check",             0, NIGHT,   0,                 NIGHT, "noon",   "",                  ""),
    ("duty",            "heat_s",            ABOVE, "duty_s",                 0,                  "prime run",         0, NIGHT,   0,                 NIGHT, "noon",   "",                  ""),
    ("relay closed",    "closed_off",        ABOVE, 0,                        "weld_hold_ms",     "idle check prime soak rest done flat lockout", 0, LOCK, 0, LOCK,  "hand",   "",                  ""),
    ("relay open",      "open_on",           ABOVE, 0,                        "open_hold_ms",     "prime run",         0, NIGHT,   0,                 NIGHT, "noon",   "",                  "fuse blown, relay chatter"),
    ("relay chatter",   "chatter",           ABOVE, "chatter_max",            0,                  "prime run",         0, LOCK,    0,                 LOCK,  "hand",   "",                  ""),
    ("late tick",       "gap_ms",            ABOVE, 500,                      0,                  "prime run",         0, RETRY,   1,                 NIGHT, "noon",   "",                  ""),
    ("swapped",         "swapped",           ABOVE, 0,                        "sensor_hold_ms",   "check prime run",   0, NIGHT,   0,                 NIGHT, "noon",   "battery pressure",  ""),
    ("bad battery",     "battery_bad",       ABOVE, 0,                        "sensor_hold_ms",   "check prime run",   0, NIGHT,   0,                 NIGHT, "noon",   "battery",           "swapped, over-voltage, fuse blown, relay open"),
    ("bad pressure",    "pressure_bad",      ABOVE, 0,                        "sensor_hold_ms",   "check prime run",   0, NIGHT,   0,                 NIGHT, "noon",   "pressure",          ""),
    ("no sag",          "no_sag",            ABOVE, 0,                        5000,               "run",            2000, NIGHT,   0,                 NIGHT, "noon",   "battery pressure",  ""),
    ("bad frost",       "frost_bad",         ABOVE, 0,                        "sensor_hold_ms",   "check",             0, REFUSE,  0,                 NIGHT, "noon",   "frost",             ""),
    ("bad current",     "current_bad",       ABOVE, 0,                        "sensor_hold_ms",   "check prime run",   0, NIGHT,   0,                 NIGHT, "noon",   "current",           "fuse blown, stall, relay chatter, relay open"),
    ("no clock",        "clock_bad",         ABOVE, 0,                        0,                  "idle done",         0, BY_HAND, 0,                 WARN,  "itself", "",                  ""),
    ("frost",           "frost_dc",          BELOW, "frost_dc",               "sensor_hold_ms",   "check",             0, REFUSE,  0,                 NIGHT, "noon",   "frost",             ""),
    # The log calls rules by their numbers: a new one goes to the end.
    ("fuse blown",      "fuse_blown",        ABOVE, 0,                        300,                "prime run",         0, LOCK,    0,                 LOCK,  "hand",   "",                  ""),
    ("runs broken off", "broken_runs",       ABOVE, 1,                        0,                  "idle",              0, LOCK,    0,                 LOCK,  "hand",   "",                  ""),
    ("dry too long",    "dry_s",             ABOVE, "dry_night_s",            0,                  "prime run",         0, LOCK,    0,                 LOCK,  "hand",   "pressure/flow",     ""),
    ("relay stuck",     "stuck_relay",       ABOVE, 0,                        0,                  "idle check soak rest done flat lockout", 0, LOCK, 0, LOCK,  "hand",   "second_relay",      ""),
    ("no flow",         "still_ms",          ABOVE, "no_flow_ms",             0,                  "prime run",         0, RETRY,   "dead_head_tries", LOCK,  "hand",   "flow",              ""),
    ("bad meter",       "meter_bad",         ABOVE, 0,                        0,                  "run",               0, WARN,    0,                 WARN,  "noon",   "pressure flow",     ""),
)
# fmt: on
(
    NAME,
    QUANTITY,
    SIDE,
    LIMIT,
    HOLD,
    WATCHED_IN,
    AFTER,
    ACTION,
    TRIES,
    THEN,
    CLEARED_BY,
    NEEDS,
    GIVES_WAY_TO,
) = range(len(RULES[0]))


def number_of(name: str) -> int:
    """The place of a rule in the table."""
    return [row[NAME] for row in RULES].index(name)


# The rules that a part of the keeper calls by name.
DRY_RUN = number_of("dry run")
NO_PRIME = number_of("no prime")
CHARGE_RESERVE = number_of("charge reserve")
OVER_RUN = number_of("over-run")
TOO_MANY_STARTS = number_of("too many starts")
DUTY = number_of("duty")
NO_CLOCK = number_of("no clock")
BAD_SUPPLY = number_of("bad supply")
NO_FLOW = number_of("no flow")
RELAY_CLOSED = number_of("relay closed")

# Rules that share one count of retries: a dry run and a failed prime are the same failure.
SHARED_TRIES = {NO_PRIME: DRY_RUN}
