"""The catalogue of faults: what each is, what its severity means, how it acts, how it shows.

A fault only turns knobs of ``Conditions``; what follows from that is up to the plant. Its sign
(``signs.py``) is a measured deviation, so that a fault that changed nothing is found out.
"""

from difflib import get_close_matches

from rillsim.boards import contact, sensors
from rillsim.faults import acts, signs
from rillsim.faults.fault import Fault

SLOWLY_S = 3600.0


CATALOGUE = (
    Fault(
        "source_empty",
        "The water has sunk below the strainer.",
        "1: strainer in the air; less: not yet",
        acts.empty_source,
        signs.no_flow,
    ),
    Fault(
        "source_falling",
        "The water sinks while the pump draws from it.",
        "metres that it sinks within an hour",
        acts.follow("source_drop_m"),
        signs.deeper_suction,
        SLOWLY_S,
    ),
    Fault(
        "foot_valve_leak",
        "The foot valve leaks and the suction line drains at rest.",
        "opening left, in tenths of a square millimetre",
        acts.follow("foot_leak_m2", acts.FOOT_LEAK_M2),
        signs.air_in_suction,
    ),
    Fault(
        "air_leak",
        "A joint of the suction line draws air.",
        "hole, in parts of 1.5 square millimetres",
        acts.follow("air_hole_m2", acts.AIR_HOLE_M2),
        signs.less_water,
    ),
    Fault(
        "strainer_blocking",
        "The strainer clogs up within an hour.",
        "share of the strainer that is blocked in the end",
        acts.follow("strainer_block"),
        signs.deeper_suction,
        SLOWLY_S,
    ),
    Fault(
        "outlet_shut",
        "Somebody shuts the valve at the sprinkler.",
        "share of the outlet that is shut",
        acts.shut,
        signs.higher_pressure,
    ),
    Fault(
        "hose_kinked",
        "The hose kinks slowly.",
        "share of the bore that is closed in the end, in parts of 97 %",
        acts.kink,
        signs.higher_pressure,
        SLOWLY_S,
    ),
    Fault(
        "hose_burst",
        "The hose bursts near the pump.",
        "hole, in parts of 50 square millimetres",
        acts.follow("burst_m2", acts.BURST_M2),
        signs.lower_pressure,
    ),
    Fault(
        "sprinkler_blocked",
        "The nozzle is blocked.",
        "share of the nozzle's area that is blocked",
        acts.block_nozzle,
        signs.higher_pressure,
    ),
    Fault(
        "nozzle_worn",
        "Sand has worn the nozzle wide.",
        "area gained, in parts of 40 %",
        acts.wear_nozzle,
        signs.slightly_lower_pressure,
    ),
    Fault(
        "nozzle_gone",
        "The nozzle has come off.",
        "1: bare riser of eight times the area",
        acts.lose_nozzle,
        signs.lower_pressure,
    ),
    Fault(
        "pump_stalled",
        "The shaft of the pump is stuck.",
        "1: stuck fast; less: friction up to five times",
        acts.stall,
        signs.too_much_current,
    ),
    Fault(
        "motor_cut_out",
        "The motor got too hot and its own thermal cut-out has opened; it closes when it is cool.",
        "any: open",
        acts.flag("motor_cut_out"),
        signs.motor_takes_nothing,
    ),
    Fault(
        "pump_worn",
        "Diaphragms and valves of the pump are worn out.",
        "0 new, 1 at the end of its life",
        acts.follow("pump_wear"),
        signs.less_water,
    ),
    Fault(
        "weak_cell",
        "One cell of the battery is failing.",
        "share of its capacity lost, in parts of 90 %",
        acts.follow("weak_cell", 0.9),
        signs.lower_voltage,
    ),
    Fault(
        "battery_tired",
        "The battery is worn out: less charge and more resistance.",
        "age added, in parts of twice its life",
        acts.follow("battery_wear", acts.BATTERY_WEAR),
        signs.battery_resists,
    ),
    Fault(
        "battery_cold",
        "The battery is cold: less charge and more resistance.",
        "how far it has cooled, from the site's temperature to -5 C",
        acts.follow("battery_cold"),
        signs.battery_resists,
    ),
    Fault(
        "flat_battery",
        "Something else has drawn on the battery.",
        "share of a full charge that is missing, in parts of 95 %",
        acts.follow("charge_missing", 0.95),
        signs.charge_is_missing,
    ),
    Fault(
        "battery_lifted",
        "The battery is taken off.",
        "any: off",
        acts.flag("battery_lifted"),
        signs.no_voltage,
    ),
    Fault(
        "thin_cable",
        "A long thin extension cord is put between battery and pump.",
        "length, in parts of 50 ft of 16 AWG",
        acts.add_ohm(acts.CORD_OHM),
        signs.lower_voltage,
    ),
    Fault(
        "corroded_clamp",
        "A battery clamp corrodes.",
        "resistance, in parts of 0.25 ohm",
        acts.add_ohm(acts.CLAMP_OHM),
        signs.lower_voltage,
    ),
    Fault(
        "over_voltage",
        "A charger without limit is left on the battery.",
        "voltage added, in parts of 4 V",
        acts.follow("added_v", acts.CHARGER_V),
        signs.higher_voltage,
    ),
    Fault(
        "battery_channel_open",
        "The wire of the battery reading is off.",
        "share of the time that it is off",
        acts.wire(sensors.BATTERY, sensors.OPEN),
        signs.battery_count_off,
    ),
    Fault(
        "battery_channel_short",
        "The battery reading is shorted to the supply of the sensors.",
        "share of the time that it is shorted",
        acts.wire(sensors.BATTERY, sensors.SHORT),
        signs.battery_count_off,
    ),
    Fault(
        "pressure_channel_open",
        "The wire of the pressure transducer is off.",
        "share of the time that it is off",
        acts.wire(sensors.PRESSURE, sensors.OPEN),
        signs.pressure_count_off,
    ),
    Fault(
        "pressure_channel_short",
        "The pressure transducer is shorted to its supply.",
        "share of the time that it is shorted",
        acts.wire(sensors.PRESSURE, sensors.SHORT),
        signs.pressure_count_off,
    ),
    Fault(
        "pressure_channel_stuck",
        "The pressure transducer shows the same for ever.",
        "share of the time that it is stuck",
        acts.wire(sensors.PRESSURE, sensors.STUCK),
        signs.pressure_count_off,
    ),
    Fault(
        "pressure_offset",
        "The zero of the pressure transducer has drifted.",
        "drift, in parts of 40 kPa; below 0 downwards",
        acts.follow("pressure_off_pa", acts.PRESSURE_OFF_PA),
        signs.pressure_zero_off,
        both_ways=True,
    ),
    Fault(
        "battery_offset",
        "The battery reading is beside the true voltage.",
        "error, in parts of 0.4 V; below 0 too low",
        acts.follow("battery_off_v", acts.BATTERY_OFF_V),
        signs.battery_zero_off,
        both_ways=True,
    ),
    Fault(
        "channels_swapped",
        "The wires of battery and pressure are exchanged.",
        "any: exchanged",
        acts.flag("channels_swapped"),
        signs.both_counts_off,
    ),
    Fault(
        "relay_open",
        "The relay does not close.",
        "any: open",
        acts.relay(contact.STUCK_OPEN),
        signs.open_against_pin,
    ),
    Fault(
        "relay_welded",
        "The relay welds when it closes, or has closed.",
        "any: welded",
        acts.relay(contact.WELDED),
        signs.closed_against_pin,
    ),
    Fault(
        "relay_bridged",
        "The relay closes by itself: its transistor is shorted, or a wire lies over the contact.",
        "any: closed",
        acts.relay(contact.BRIDGED),
        signs.closed_against_pin,
    ),
    Fault(
        "relay_inverted",
        "The relay module is an active-low one: it closes when it is told to open.",
        "any: inverted",
        acts.relay(contact.INVERTED),
        signs.closed_against_pin,
    ),
    Fault(
        "relay_chatter",
        "The relay chatters.",
        "twice the share of the time that it is open",
        acts.relay(contact.CHATTERING),
        signs.contact_restless,
    ),
    Fault(
        "relay_worn",
        "The contact of the relay is burnt and resists.",
        "resistance added, in parts of 0.15 ohm",
        acts.follow("contact_added_ohm", acts.CONTACT_OHM),
        signs.contact_resists,
    ),
    Fault(
        "second_relay_open",
        "The second relay, where one is fitted, does not close.",
        "any: open",
        acts.second_relay(contact.STUCK_OPEN),
        signs.second_open_against_pins,
        needs="second_relay_fitted",
    ),
    Fault(
        "second_relay_welded",
        "The second relay, where one is fitted, welds when it closes, or has closed.",
        "any: welded",
        acts.second_relay(contact.WELDED),
        signs.second_closed_against_pin,
        needs="second_relay_fitted",
    ),
    Fault(
        "clock_lost",
        "The clock forgets the time.",
        "any: lost",
        acts.flag("clock_lost"),
        signs.clock_unknown,
    ),
    Fault(
        "clock_back",
        "The clock jumps back.",
        "jump, in parts of two hours",
        acts.follow("clock_back_s", acts.CLOCK_BACK_S),
        signs.clock_behind,
    ),
    Fault(
        "clock_stopped",
        "The clock stands still.",
        "any: stopped",
        acts.flag("clock_stopped"),
        signs.clock_behind,
    ),
    Fault(
        "clock_misread",
        "The clock is read wrong, as over a disturbed wire; it goes on rightly itself.",
        "ahead, in parts of 40 days",
        acts.follow("clock_misread_s", acts.CLOCK_MISREAD_S),
        signs.clock_ahead,
    ),
    Fault(
        "frost",
        "A cold night.",
        "1: -4 C, 0: 4 C, between in proportion",
        acts.freeze,
        signs.freezing,
    ),
    Fault(
        "rain",
        "Rain keeps the contact closed.",
        "any: wet",
        acts.flag("raining"),
        signs.contact_wet,
    ),
    # What the campaign draws goes by a fault's place: a new one goes to the end.
    Fault(
        "pressure_port_clogged",
        "The port of the pressure transducer is clogged: it shows the pressure of before.",
        "share of the time that it is clogged",
        acts.wire(sensors.PRESSURE, sensors.CLOGGED),
        signs.pressure_count_off,
    ),
    Fault(
        "meter_stuck",
        "The wheel of the flow meter, where one is fitted, stands still.",
        "share of the water that passes without turning it",
        acts.follow("meter_held"),
        signs.meter_behind,
        needs="flow_fitted",
    ),
    Fault(
        "current_channel_open",
        "The wire of the current sensor, where one is fitted, is off.",
        "share of the time that it is off",
        acts.wire(sensors.CURRENT, sensors.OPEN),
        signs.current_count_off,
        needs="current_fitted",
    ),
    Fault(
        "current_channel_short",
        "The current sensor, where one is fitted, is shorted to its supply.",
        "share of the time that it is shorted",
        acts.wire(sensors.CURRENT, sensors.SHORT),
        signs.current_count_off,
        needs="current_fitted",
    ),
    Fault(
        "current_offset",
        "The zero of the current sensor, where one is fitted, has drifted.",
        "drift, in parts of 1.5 A; below 0 downwards",
        acts.follow("current_off_a", acts.CURRENT_OFF_A),
        signs.current_zero_off,
        both_ways=True,
        needs="current_fitted",
    ),
)

BY_NAME = {fault.name: fault for fault in CATALOGUE}


class UnknownFault(ValueError):
    """A fault that is not in the catalogue."""


def find(name: str) -> Fault:
    """The fault of that name.

    >>> find("outlet_shut").sentence
    'Somebody shuts the valve at the sprinkler.'
    """
    if name in BY_NAME:
        return BY_NAME[name]
    near = get_close_matches(name, BY_NAME, n=1)
    hint = f"; did you mean {near[0]}?" if near else ""
    raise UnknownFault(f"{name!r} is not a fault of the catalogue{hint}")
