"""The board's settings: one schema, as data.

The validator, the template, the settings page of the notes and the serial line are all made
from ``SCHEMA``. A row whose default is ``None`` must be given: a sensor is left out by saying
so, and a limit that depends on the site comes from the site. The words beside a row are what the
desktop says of it; the board, which has no room for them, names the key and the numbers.

Nor has it room for the schema and its checks once they are done: it loads this module for them
and lets it go (device/seldom.py). What it goes on with is in checked.py, and no module of the
board may keep anything of this one.
"""

from . import plausible
from .checked import CURVE, MINUTES, OFF, SETS, VOLUME

UNITS = ("off", "minutes", "depth", "volume")


def _set_rows(number: int) -> tuple:
    key = "set" + str(number) + "_"
    unit = None if number == 1 else OFF
    return (
        (key + "unit", "0..3", 0, 3, unit),  # 0 off, 1 minutes, 2 mm, 3 litres.
        (key + "start_s", "s", 0, 86399, 79200),  # Second of the day at which it starts.
        (key + "amount", "min, 0.1 mm or L", 0, 20000, 0),  # How much to give.
        (key + "runs", "times", 1, 8, 1),  # Split into this many runs.
        (key + "soak_s", "s", 0, 14400, 0),  # Pause between two runs.
        (key + "window_s", "s", 60, 43200, 14400),  # May start this long after its time.
    )


SCHEMA: tuple = (
    # key, unit, min, max, default, and what it is
    # What is fitted.
    ("battery_fitted", "0/1", 0, 1, None),  # The battery voltage channel is fitted.
    ("pressure_fitted", "0/1", 0, 1, None),  # The outlet pressure transducer is fitted.
    ("load_sense_fitted", "0/1", 0, 1, None),  # The load side of the relay is read back.
    ("rain_fitted", "0/1", 0, 1, None),  # A rain contact is fitted.
    ("button_fitted", "0/1", 0, 1, None),  # A push button is fitted.
    ("frost_fitted", "0/1", 0, 1, None),  # A temperature sensor for frost is fitted.
    ("current_fitted", "0/1", 0, 1, None),  # A pump current channel is fitted.
    ("second_relay_fitted", "0/1", 0, 1, 0),  # A second relay is fitted, in series with the first.
    ("flow_fitted", "0/1", 0, 1, 0),  # A flow pulse meter is fitted at the pump's outlet.
    # What a count stands for.
    ("battery_full_mv", "mV", 10000, 30000, 18300),  # Battery voltage at converter full scale.
    ("battery_full_trim_mv", "mV", -800, 800, 0),  # Added to battery_full_mv: calibration.
    ("battery_offset_mv", "mV", -2000, 2000, 0),  # Added to the battery voltage: calibration.
    ("pressure_zero_count", "count", 0, 2000, 410),  # Converter count at no pressure.
    ("pressure_zero_trim_count", "count", -60, 60, 0),  # Added to that count: calibration.
    ("pressure_span_count", "count", 500, 4000, 3276),  # Counts from no pressure to full span.
    ("pressure_span_trim_count", "count", -200, 200, 0),  # Added to those counts: calibration.
    ("pressure_span_kpa", "kPa", 100, 1600, 1000),  # Pressure at full span of the transducer.
    ("frost_zero_count", "count", 0, 4000, 621),  # Converter count of the sensor at 0 C.
    ("frost_mc_per_count", "mC", -1000, 1000, 81),  # Thousandths of a degree C in one count.
    ("current_zero_count", "count", 0, 4000, 0),  # Converter count at no current.
    ("current_full_ma", "mA", 1000, 100000, 30000),  # Current span of the whole converter.
    ("pulse_ul", "uL", 50, 1000000, 2222),  # Water that passes the flow meter in one pulse.
    # What a reading may be.
    ("battery_low_band_mv", "mV", 0, 20000, 6000),  # A battery reading below this is a fault.
    ("battery_high_band_mv", "mV", 10000, 30000, 17500),  # A reading above this is a fault.
    ("pressure_low_band_count", "count", 0, 4000, 205),  # A count below this: wire open.
    ("pressure_high_band_count", "count", 100, 4095, 3891),  # A count above this: wire shorted.
    ("frost_low_band_count", "count", 0, 4000, 100),  # A frost count below this is a fault.
    ("frost_high_band_count", "count", 100, 4095, 2500),  # A frost count above this is a fault.
    ("current_high_band_count", "count", 100, 4095, 4000),  # A current count above is a fault.
    ("jump_count", "count", 50, 4095, 1200),  # More than this from tick to tick is a fault.
    ("stuck_ms", "ms", 5000, 600000, 30000),  # Water's pressure without a count of change: stuck.
    ("battery_stuck_ms", "ms", 60000, 7200000, 1800000),  # The same for the quiet battery.
    ("sensor_hold_ms", "ms", 0, 10000, 600),  # A bad reading must last this long, breaks or not.
    # The water side.
    ("normal_pa", "Pa", 1000, 1600000, None),  # Outlet pressure expected of this site.
    ("normal_mv", "mV", 6000, 14000, None),  # A 12 V battery's, at work, at which that holds.
    ("pressure_pa_per_v", "Pa/V", 0, 400000, 0),  # How far pressure follows the voltage.
    ("dead_head_pa", "Pa", 1000, 1600000, None),  # Above this the line is shut.
    ("dead_head_hold_ms", "ms", 0, 10000, 300),  # Dead head must last this long.
    ("dead_head_tries", "times", 0, 5, 1),  # Retries after a dead head, in one night.
    ("rating_pa", "Pa", 1000, 1600000, None),  # Rated pressure of pump and outlet.
    ("rating_hold_ms", "ms", 0, 1000, 100),  # Pressure above the rating must last this long.
    ("dry_pa", "Pa", 0, 1600000, None),  # Below this, after prime, the pump runs dry.
    ("dry_hold_ms", "ms", 0, 120000, 8000),  # Dry running must last this long.
    ("primed_pa", "Pa", 0, 1600000, None),  # Above this, for a second, the pump is primed.
    ("prime_ms", "ms", 5000, 600000, None),  # Time to prime; a line that stands full takes 2 s.
    ("dry_tries", "times", 0, 5, 2),  # Retries after a dry run or no prime, in one night.
    ("retry_rest_s", "s", 1, 7200, 300),  # Rest between a trip and its retry.
    ("dry_night_s", "s", 10, 600, 110),  # Most pumping without water in a night.
    ("line_open_permille", "permille", 0, 1000, 550),  # Below this share of normal: line open.
    ("line_open_hold_ms", "ms", 0, 600000, 10000),  # An open line must last this long.
    ("no_flow_ms", "ms", 1000, 60000, 5000),  # So long with hardly any water past the flow meter.
    ("drift_permille", "permille", 10, 1000, 200),  # Drift of the nightly pressure that warns.
    # The supply.
    ("cutout_mv", "mV", 6000, 30000, None),  # Compensated voltage at which the battery is flat.
    ("cutout_hold_ms", "ms", 0, 600000, 10000),  # Low charge must last this long.
    ("reconnect_mv", "mV", 6000, 30000, None),  # Rest voltage of a battery put on charged.
    ("charging_mv", "mV", 6000, 30000, 12950),  # Above any rest voltage: a charger is at work.
    ("charging_hold_ms", "ms", 0, 600000, 60000),  # The charger must be seen for this long.
    ("floor_mv", "mV", 5000, 30000, None),  # Lowest voltage for pump and relay, under load.
    ("floor_hold_ms", "ms", 0, 10000, 500),  # A brown-out must last this long.
    ("over_mv", "mV", 10000, 30000, 15200),  # Above this it is no 12 V battery.
    ("over_hold_ms", "ms", 0, 10000, 1000),  # Over-voltage must last this long.
    ("stall_sag_mv", "mV", 100, 20000, None),  # A sag above this: the pump is stalled.
    ("stall_hold_ms", "ms", 0, 10000, 2000),  # A stall must last this long.
    ("stall_ma", "mA", 1000, 100000, 25000),  # Current of a stalled pump, where it is measured.
    ("resistance_mohm", "mohm", 1, 5000, None),  # Supply resistance expected of this site.
    ("resistance_warn_mohm", "mohm", 1, 5000, None),  # Above this the supply is getting weak.
    ("resistance_refuse_mohm", "mohm", 1, 5000, None),  # Above this the pump is not started.
    ("current_zero_ma", "mA", 0, 50000, None),  # Pump current at no pressure.
    ("current_ma_per_bar", "mA/bar", 0, 20000, None),  # What each bar of pressure adds to it.
    ("capacity_mah", "mAh", 1000, 500000, None),  # Charge that may be taken from a full battery.
    ("reserve_mah", "mAh", 0, 500000, 2000),  # Charge that is left in it.
    ("charged_mv", "mV", 6000, 30000, None),  # Rest voltage that shows a full battery.
    ("rest_75_mv", "mV", 0, 30000, 0),  # Rest voltage when 75 % of that charge is left; 0: a line.
    ("rest_50_mv", "mV", 0, 30000, 0),  # The same at 50 %.
    ("rest_25_mv", "mV", 0, 30000, 0),  # The same at 25 %.
    ("battery_error_mv", "mV", 0, 1000, 0),  # How far the battery channel may read wrong.
    ("empty_mv", "mV", 0, 30000, 0),  # Rest voltage when that charge is used; 0: not known.
    ("held_mv", "mV", 6000, 30000, 14000),  # A panel that holds the posts so high has filled it.
    ("panel_fitted", "0/1", 0, 1, 0),  # A solar panel charges the battery by day.
    ("board_ua", "uA", 0, 200000, 10000),  # What the board itself draws, on average.
    # The pump and the rest.
    ("run_max_s", "s", 60, 14400, 5400),  # The longest that the relay may stay closed.
    ("starts_max", "times", 1, 60, 8),  # Most starts in an hour.
    ("duty_s", "s", 60, 14400, 7200),  # Most pumping before the motor must cool.
    ("duty_permille", "permille", 10, 1000, 500),  # Share of time it can run for ever.
    ("weld_hold_ms", "ms", 0, 10000, 1000),  # Relay closed against command: this long.
    ("open_hold_ms", "ms", 0, 10000, 1000),  # Relay open against command: this long.
    ("chatter_max", "times", 2, 100, 6),  # Most changes of the load side in ten seconds.
    ("frost_dc", "0.1 C", -100, 150, 20),  # No start below this temperature.
    ("rain_skip_s", "s", 0, 172800, 21600),  # A set is skipped this long after rain.
    ("clock_off_s", "s", 5, 3600, 60),  # The clock may differ this much from the ticks in a day.
    ("hand_minutes", "min", 1, 240, 15),  # Length of a run started by the button.
    # The garden.
    ("wet_area_m2", "m2", 1, 10000, None),  # Litres over this give millimetres on the plot.
    ("flow_ml_min", "mL/min", 100, 200000, None),  # Flow expected at the normal pressure.
    ("static_pa", "Pa", -200000, 400000, 0),  # Outlet pressure at which the flow is nothing.
)
SCHEMA += _set_rows(1) + _set_rows(2) + _set_rows(3)

# (smaller, larger), and why: the first setting must be below the second.
ORDER = (
    ("dry_pa", "primed_pa"),  # a primed pump must not count as dry
    ("primed_pa", "normal_pa"),  # the pump must be able to show that it is primed
    ("normal_pa", "dead_head_pa"),  # normal pressure must not count as dead head
    ("dead_head_pa", "rating_pa"),  # dead head must trip before the pump's rating
    ("floor_mv", "cutout_mv"),  # low charge must trip before the brown-out floor
    ("cutout_mv", "reconnect_mv"),  # a flat battery must not count as charged
    ("reconnect_mv", "charging_mv"),  # a battery at rest must not look like a charger
    ("charged_mv", "charging_mv"),  # a battery at rest must not look like a charger
    ("charging_mv", "over_mv"),  # a charger at work must not count as over-voltage
    ("over_mv", "battery_high_band_mv"),  # over-voltage must be a plausible reading
    ("battery_low_band_mv", "floor_mv"),  # a brown-out must be a plausible reading
    ("battery_high_band_mv", "battery_full_mv"),  # the converter must reach the band's top
    ("empty_mv", "charged_mv"),  # an empty battery must read lower than a full one
    ("resistance_mohm", "resistance_warn_mohm"),  # the expected resistance must not warn
    ("resistance_warn_mohm", "resistance_refuse_mohm"),  # the warning must come first
    ("reserve_mah", "capacity_mah"),  # something must be left to pump with
    ("pressure_low_band_count", "pressure_zero_count"),  # no pressure must be plausible
    ("pressure_low_band_count", "pressure_high_band_count"),  # the band must have a width
    ("frost_low_band_count", "frost_high_band_count"),  # the band must have a width
    ("static_pa", "normal_pa"),  # normal pressure must give a flow
    ("dry_hold_ms", "line_open_hold_ms"),  # a dry pump must not be taken for an open line
)


# Bounds that keep every product of a step within the 31 bits of a board's small int.
SET_S_MAX = 43200
TOP_KPA_MAX = 2000
TOP_MA_MAX = 80000


def problems(values: dict, trial: bool = False) -> list:
    """Every reason why these values cannot be used, one sentence each.

    A trial may stop a sound site: it is there to see a limit trip.
    """
    found = []
    known = {}
    for key, unit, low, high, default in SCHEMA:
        value = values.get(key, default)
        if value is None:
            found.append(key + ": missing; it has no default and must be given")
        elif not isinstance(value, int) or isinstance(value, bool):
            found.append("%s: %r is not a whole number" % (key, value))
        elif not low <= value <= high:
            found.append("%s: %d is outside %d to %d %s" % (key, value, low, high, unit))
        else:
            known[key] = value
    for key in sorted(values):
        if not any(row[0] == key for row in SCHEMA):
            found.append(key + ": no such setting")
    for smaller, larger in ORDER:
        if smaller in known and larger in known and known[smaller] >= known[larger]:
            pair = (smaller, known[smaller], larger, known[larger])
            found.append("%s (%d) must be below %s (%d)" % pair)
    found += _reach_problems(known)
    if len(known) < len(SCHEMA):
        return found  # What hangs together is judged when all of it is there.
    found += _trim_problems(known) + _range_problems(known) + plausible.harmful(known)
    return found if trial else found + plausible.idle(known, _sets_of(known))


def _reach_problems(known: dict) -> list:
    """Limits that the fitted channels could never show."""
    found = []
    if "rating_pa" in known and "pressure_span_kpa" in known:
        span_pa = known["pressure_span_kpa"] * 1000
        if known["rating_pa"] >= span_pa:
            found.append(
                "rating_pa (%d) must be below the transducer's span (%d): high pressure could not "
                "be seen" % (known["rating_pa"], span_pa)
            )
    for number in range(1, SETS + 1):
        found += _set_problems(known, "set" + str(number) + "_")
    return found + _curve_problems(known)


def _curve_problems(known: dict) -> list:
    """Rest voltages that do not rise with the charge; none of them, or all, are given."""
    inner = [known[key] for key in CURVE[1:-1] if key in known]
    if len(inner) < len(CURVE) - 2 or not any(inner):
        return []
    volts = [known[key] for key in CURVE if key in known]
    if all(low < high for low, high in zip(volts, volts[1:])):
        return []
    return ["rest_50_mv: the rest voltages must rise from " + ", ".join(CURVE)]


def _trim_problems(known: dict) -> list:
    """Calibrations that take a band out of the converter's reach."""
    found = []
    trim_mv = known["battery_full_trim_mv"] + known["battery_offset_mv"]
    top_mv = known["battery_full_mv"] + trim_mv
    if trim_mv < 0 and known["battery_high_band_mv"] >= top_mv:
        why = "battery_full_trim_mv: the converter now ends at %d mV, inside the band"
        found.append(why % top_mv)
    trim = known["pressure_zero_trim_count"]
    zero = known["pressure_zero_count"] + trim
    if trim < 0 and known["pressure_low_band_count"] >= zero:
        found.append("pressure_zero_trim_count: no pressure would read as a wire that is off")
    return found


def _set_problems(known: dict, key: str) -> list:
    """A set that gives nothing, or more than a night has time for."""
    if known.get(key + "unit") and known.get(key + "amount") == 0:
        return [key + "amount: missing; the set gives nothing"]
    pumping_s = _pumping_s(known, key)
    if pumping_s <= SET_S_MAX:
        return []
    why = "%samount: takes %d h of pumping; give at most half a day's"
    return [why % (key, pumping_s // 3600)]


def _pumping_s(known: dict, key: str) -> int:
    """How long a set pumps at the expected flow; 0 where it is off, or that is not known."""
    unit = known.get(key + "unit")
    amount = known.get(key + "amount")
    if not unit or amount is None:
        return 0
    if unit == MINUTES:
        return amount * 60
    if "flow_ml_min" not in known or "wet_area_m2" not in known:
        return 0
    ml = amount * (1000 if unit == VOLUME else known["wet_area_m2"] * 100)
    return ml * 60 // known["flow_ml_min"]


def _sets_of(known: dict) -> list:
    """The sets of a night, as ``plausible.idle`` takes them."""
    sets = []
    for number in range(1, SETS + 1):
        key = "set" + str(number) + "_"
        pumping_s = _pumping_s(known, key)
        if pumping_s:
            runs = known[key + "runs"]
            since_noon_s = (known[key + "start_s"] + 43200) % 86400
            sets.append((key, since_noon_s, runs, pumping_s // runs, known[key + "soak_s"]))
    return sets


def _range_problems(known: dict) -> list:
    """Scales on which a plausible reading is no pressure, or no current, of such a pump."""
    zero = known["pressure_zero_count"] + known["pressure_zero_trim_count"]
    span = known["pressure_span_count"] + known["pressure_span_trim_count"]
    counts = known["pressure_high_band_count"] - zero
    top_kpa = counts * known["pressure_span_kpa"] // span
    if top_kpa > TOP_KPA_MAX:
        return ["pressure_high_band_count: stands for %d kPa; check the scale" % top_kpa]
    top_ma = known["current_zero_ma"] + top_kpa * known["current_ma_per_bar"] // 100
    if top_ma > TOP_MA_MAX:
        return ["current_ma_per_bar: gives %d mA at the top of the transducer" % top_ma]
    return []
