"""The table of protections, written down a second time, as the design tells it.

A row of rules.py that is changed or deleted by mistake differs from this one; a change that is
meant is made here as well.
"""

# ruff: noqa: E501

from typing import NamedTuple


class Row(NamedTuple):
    name: str
    quantity: str
    side: str
    limit: str | int
    hold: str | int
    states: str
    after_ms: int
    action: str
    tries: str | int
    then: str
    cleared: str
    needs: str
    way: str

    @property
    def final(self) -> str:
        """What it does when there is nothing left to try."""
        return self.then if self.action in ("retry", "shorten") else self.action


ON = "prime run"
AWAKE = "check prime run"
QUIET = "idle check soak rest done flat lockout"
STANDING = "idle check prime soak rest done flat lockout"
SENSOR = "sensor_hold_ms"

# fmt: off
TABLE = [Row(*row) for row in (
    ("high pressure", "pressure_pa", "above", "rating_pa", "rating_hold_ms", ON, 0, "lock", 0, "lock", "hand", "pressure", "swapped"),
    ("dead head", "shut_pa", "above", "dead_head_pa", "dead_head_hold_ms", ON, 0, "retry", "dead_head_tries", "night", "noon", "pressure", "swapped, over-voltage"),
    ("dry run", "water_pa", "below", "dry_pa", "dry_hold_ms", "run", 0, "retry", "dry_tries", "lock", "hand", "pressure", ""),
    ("no prime", "prime_ms", "above", "prime_ms", 0, "prime", 0, "retry", "dry_tries", "lock", "hand", "pressure/flow", ""),
    ("line open", "pressure_permille", "below", "line_open_permille", "line_open_hold_ms", ON, 5000, "night", 0, "night", "noon", "pressure", "dry run"),
    ("slow choke", "drift_permille", "above", "drift_permille", 0, "run", 0, "warn", 0, "warn", "noon", "pressure", ""),
    ("low charge", "rested_mv", "below", "cutout_mv", "cutout_hold_ms", "run done", 6000, "flat", 0, "flat", "charge", "battery", "bad supply"),
    ("brown-out", "battery_mv", "below", "floor_mv", "floor_hold_ms", AWAKE, 0, "night", 0, "night", "noon", "battery", "fuse blown, stall by sag, stall, bad supply"),
    ("over-voltage", "battery_mv", "above", "over_mv", "over_hold_ms", AWAKE, 0, "night", 0, "night", "noon", "battery", ""),
    ("weak supply", "resistance_mohm", "above", "resistance_warn_mohm", 1500, "run", 0, "warn", 0, "warn", "noon", "battery", ""),
    ("bad supply", "resistance_mohm", "above", "resistance_refuse_mohm", 1500, AWAKE, 0, "night", 0, "night", "charge", "battery", ""),
    ("stall by sag", "sag_mv", "above", "stall_sag_mv", "stall_hold_ms", ON, 0, "lock", 0, "lock", "hand", "battery", ""),
    ("stall", "current_ma", "above", "stall_ma", "stall_hold_ms", ON, 0, "lock", 0, "lock", "hand", "current", ""),
    ("charge reserve", "spare_mah", "below", 0, 0, "check", 1500, "shorten", 0, "night", "charge", "", "relay closed"),
    ("over-run", "on_s", "above", "run_max_s", 0, ON, 0, "night", 0, "night", "noon", "", ""),
    ("too many starts", "starts", "above", "starts_max", 0, "check", 0, "night", 0, "night", "noon", "", ""),
    ("duty", "heat_s", "above", "duty_s", 0, ON, 0, "night", 0, "night", "noon", "", ""),
    ("relay closed", "closed_off", "above", 0, "weld_hold_ms", STANDING, 0, "lock", 0, "lock", "hand", "", ""),
    ("relay open", "open_on", "above", 0, "open_hold_ms", ON, 0, "night", 0, "night", "noon", "", "fuse blown, relay chatter"),
    ("relay chatter", "chatter", "above", "chatter_max", 0, ON, 0, "lock", 0, "lock", "hand", "", ""),
    ("late tick", "gap_ms", "above", 500, 0, ON, 0, "retry", 1, "night", "noon", "", ""),
    ("swapped", "swapped", "above", 0, SENSOR, AWAKE, 0, "night", 0, "night", "noon", "battery pressure", ""),
    ("bad battery", "battery_bad", "above", 0, SENSOR, AWAKE, 0, "night", 0, "night", "noon", "battery", "swapped, over-voltage, fuse blown, relay open"),
    ("bad pressure", "pressure_bad", "above", 0, SENSOR, AWAKE, 0, "night", 0, "night", "noon", "pressure", ""),
    ("no sag", "no_sag", "above", 0, 5000, "run", 2000, "night", 0, "night", "noon", "battery pressure", ""),
    ("bad frost", "frost_bad", "above", 0, SENSOR, "check", 0, "refuse", 0, "night", "noon", "frost", ""),
    ("bad current", "current_bad", "above", 0, SENSOR, AWAKE, 0, "night", 0, "night", "noon", "current", "fuse blown, stall, relay chatter, relay open"),
    ("no clock", "clock_bad", "above", 0, 0, "idle done", 0, "by hand", 0, "warn", "itself", "", ""),
    ("frost", "frost_dc", "below", "frost_dc", SENSOR, "check", 0, "refuse", 0, "night", "noon", "frost", ""),
    ("fuse blown", "fuse_blown", "above", 0, 300, ON, 0, "lock", 0, "lock", "hand", "", ""),
    ("runs broken off", "broken_runs", "above", 1, 0, "idle", 0, "lock", 0, "lock", "hand", "", ""),
    ("dry too long", "dry_s", "above", "dry_night_s", 0, ON, 0, "lock", 0, "lock", "hand", "pressure/flow", ""),
    ("relay stuck", "stuck_relay", "above", 0, 0, QUIET, 0, "lock", 0, "lock", "hand", "second_relay", ""),
    ("no flow", "still_ms", "above", "no_flow_ms", 0, ON, 0, "retry", "dead_head_tries", "lock", "hand", "flow", ""),
    ("bad meter", "meter_bad", "above", 0, 0, "run", 0, "warn", 0, "warn", "noon", "pressure flow", ""),
)]
# fmt: on
ROWS = {row.name: row for row in TABLE}
STATE_AFTER = {
    "retry": "rest",
    "night": "done",
    "refuse": "done",
    "flat": "flat",
    "lock": "lockout",
}
