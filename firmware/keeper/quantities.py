"""What the rules judge: the numbers that each step works out from its readings.

Modules that a step passes through write the numbers down again as private constants
(``_PRESSURE_PA = const(0)``): the interpreter then has the number in its code, where a name of
this module would be room on the board and a search on every tick. A test holds them to these.
"""

QUANTITIES = (
    "pressure_pa",
    "pressure_permille",  # of tonight's learned operating pressure
    "drift_permille",  # of the learned pressure of earlier nights, either way
    "battery_mv",
    "rested_mv",  # battery voltage made good for the supply resistance
    "sag_mv",  # rest voltage less loaded voltage, while there is no pressure
    "resistance_mohm",  # of the supply, as last learned
    "current_ma",
    "spare_mah",  # charge above the reserve that the set does not need
    "prime_ms",  # since the relay closed, while there is no pressure
    "on_s",  # since the relay closed
    "starts",  # in the last hour, with the one that is being checked
    "fuse_blown",  # 1: nothing feeds the pump any more
    "broken_runs",  # runs that a loss of power broke off, one after the other
    "heat_s",  # pumping that the motor has not cooled from
    "closed_off",  # 0: stands when told to; else how the pump came to work (standstill.py)
    "open_on",  # 1: load side dead, or no sag at all, with the relay commanded closed
    "chatter",  # changes of the load side in ten seconds
    "gap_ms",  # since the tick before
    "battery_bad",  # quality of the reading, 0 is good (see sense.py)
    "pressure_bad",
    "frost_bad",
    "current_bad",
    "no_sag",  # 1: there is pressure, and the battery does not feel the pump: it is not read
    "swapped",  # 1: each channel reads what the other should
    "clock_bad",  # 0 is good (see clockwatch.py)
    "frost_dc",
    "water_pa",  # pressure_pa, or dry_pa where that is little but moves water: an open line
    "dry_s",  # pumped without water this night, fillings that brought it apart
    "shut_pa",  # pressure_pa, or dead_head_pa where the zero's drift explains the rest of it
    "stuck_relay",  # 0: both open; else which of two in series does not (second_relay.py)
    "still_ms",  # that a pump with water, or in a run, has sent too little past the flow meter
    "meter_bad",  # 1: too few pulses, and a pressure that only moving water makes (meter.py)
)
(
    PRESSURE_PA,
    PERMILLE,
    DRIFT,
    BATTERY_MV,
    RESTED_MV,
    SAG_MV,
    RESISTANCE,
    CURRENT_MA,
    SPARE,
    PRIME_MS,
    ON_S,
    STARTS,
    FUSE_BLOWN,
    BROKEN_RUNS,
    HEAT_S,
    CLOSED_OFF,
    OPEN_ON,
    CHATTER,
    GAP_MS,
    BATTERY_BAD,
    PRESSURE_BAD,
    FROST_BAD,
    CURRENT_BAD,
    NO_SAG,
    SWAPPED,
    CLOCK_BAD,
    FROST_DC,
    WATER_PA,
    DRY_S,
    SHUT_PA,
    STUCK_RELAY,
    STILL_MS,
    METER_BAD,
) = range(len(QUANTITIES))
