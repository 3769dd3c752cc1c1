"""The catalogue of faults: what each is, what its severity means, how it acts, how it shows.

A fault only turns knobs of ``Conditions``; what follows from that is up to the plant. Its sign
(``signs.py``) is a measured deviation, so that a fault that changed nothing is found out.
Figures at severity 1 are our own choice of a bad but believable case.
"""

from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches

from rillsim import contact, sensors, signs
from rillsim.cable import awg_area_m2, resistance_ohm_per_m
from rillsim.conditions import Conditions
from rillsim.site import FaultSpec

Act = Callable[[Conditions, float], None]

CORD_OHM = 2.0 * 30.48 * resistance_ohm_per_m(awg_area_m2(18))
"""A household extension cord of 100 ft, 18 AWG."""
CLAMP_OHM = 0.25
CHARGER_V = 4.0
AIR_HOLE_M2 = 1.5e-6
FOOT_LEAK_M2 = 0.1e-6
BURST_M2 = 50e-6
NOZZLE_GONE_AREA = 8.0
"""Area of the bare riser over that of the nozzle."""
KINK_K = 1.5
"""Loss of a sudden narrowing and widening, in velocity heads of what is left of the bore."""
KINK_SHARE_MAX = 0.97
STALL_DRAG = 4.0
CLOCK_BACK_S = 7200.0
FROST_C = -4.0
FROST_SPAN_C = 8.0
SLOWLY_S = 3600.0


def _set(field: str, scale: float = 1.0) -> Act:
    """A knob that follows the severity."""

    def act(conditions: Conditions, severity: float) -> None:
        setattr(conditions, field, scale * severity)

    return act


def _flag(field: str) -> Act:
    """A knob that is on or off: any severity turns it on."""

    def act(conditions: Conditions, severity: float) -> None:
        setattr(conditions, field, severity > 0.0)

    return act


def _relay(mode: int) -> Act:
    def act(conditions: Conditions, severity: float) -> None:
        conditions.contact_mode = mode
        conditions.chatter = severity

    return act


def _wire(channel: int, state: int) -> Act:
    def act(conditions: Conditions, severity: float) -> None:
        conditions.break_channel(channel, state, severity)

    return act


def _empty_source(conditions: Conditions, severity: float) -> None:
    conditions.source_gone = severity >= 1.0


def _shut(conditions: Conditions, severity: float) -> None:
    conditions.open_share *= 1.0 - severity


def _block_nozzle(conditions: Conditions, severity: float) -> None:
    conditions.nozzle_area *= 1.0 - severity


def _lose_nozzle(conditions: Conditions, severity: float) -> None:
    conditions.nozzle_area *= 1.0 + (NOZZLE_GONE_AREA - 1.0) * severity


def _kink(conditions: Conditions, severity: float) -> None:
    left = 1.0 - KINK_SHARE_MAX * severity
    conditions.kink_k = KINK_K * (1.0 / (left * left) - 1.0)


def _stall(conditions: Conditions, severity: float) -> None:
    conditions.pump_seized = severity >= 1.0
    conditions.pump_drag = 1.0 + STALL_DRAG * severity


def _add_ohm(ohm: float) -> Act:
    def act(conditions: Conditions, severity: float) -> None:
        conditions.added_ohm += ohm * severity

    return act


def _freeze(conditions: Conditions, severity: float) -> None:
    conditions.air_c = FROST_C + FROST_SPAN_C * (1.0 - severity)


@dataclass(frozen=True)
class Fault:
    """One row of the catalogue."""

    name: str
    sentence: str
    severity_means: str
    act: Act
    """Turns the knobs for a severity of 0 to 1."""
    felt: signs.Sign
    """True where the plant shows it."""
    grows_s: float = 0.0
    """Time in which the severity grows from nothing; 0 is at once."""


CATALOGUE = (
    Fault(
        "source_empty",
        "The water has sunk below the strainer.",
        "1: strainer in the air; less: not yet",
        _empty_source,
        signs.no_flow,
    ),
    Fault(
        "source_falling",
        "The water sinks while the pump draws from it.",
        "metres that it sinks within an hour",
        _set("source_drop_m"),
        signs.deeper_suction,
        SLOWLY_S,
    ),
    Fault(
        "foot_valve_leak",
        "The foot valve leaks and the suction line drains at rest.",
        "opening left, in tenths of a square millimetre",
        _set("foot_leak_m2", FOOT_LEAK_M2),
        signs.air_in_suction,
    ),
    Fault(
        "air_leak",
        "A joint of the suction line draws air.",
        "hole, in parts of 1.5 square millimetres",
        _set("air_hole_m2", AIR_HOLE_M2),
        signs.less_water,
    ),
    Fault(
        "strainer_blocking",
        "The strainer clogs up within an hour.",
        "share of the strainer that is blocked in the end",
        _set("strainer_block"),
        signs.deeper_suction,
        SLOWLY_S,
    ),
    Fault(
        "outlet_shut",
        "Somebody shuts the valve at the sprinkler.",
        "share of the outlet that is shut",
        _shut,
        signs.higher_pressure,
    ),
    Fault(
        "hose_kinked",
        "The hose kinks slowly.",
        "share of the bore that is closed in the end, in parts of 97 %",
        _kink,
        signs.higher_pressure,
        SLOWLY_S,
    ),
    Fault(
        "hose_burst",
        "The hose bursts near the pump.",
        "hole, in parts of 50 square millimetres",
        _set("burst_m2", BURST_M2),
        signs.lower_pressure,
    ),
    Fault(
        "sprinkler_blocked",
        "The nozzle is blocked.",
        "share of the nozzle's area that is blocked",
        _block_nozzle,
        signs.higher_pressure,
    ),
    Fault(
        "nozzle_gone",
        "The nozzle has come off.",
        "1: bare riser of eight times the area",
        _lose_nozzle,
        signs.lower_pressure,
    ),
    Fault(
        "pump_stalled",
        "The shaft of the pump is stuck.",
        "1: stuck fast; less: friction up to five times",
        _stall,
        signs.too_much_current,
    ),
    Fault(
        "pump_worn",
        "Diaphragms and valves of the pump are worn out.",
        "0 new, 1 at the end of its life",
        _set("pump_wear"),
        signs.less_water,
    ),
    Fault(
        "weak_cell",
        "One cell of the battery is failing.",
        "share of its capacity lost, in parts of 90 %",
        _set("weak_cell", 0.9),
        signs.lower_voltage,
    ),
    Fault(
        "flat_battery",
        "Something else has drawn on the battery.",
        "share of a full charge that is missing, in parts of 95 %",
        _set("charge_missing", 0.95),
        signs.charge_is_missing,
    ),
    Fault(
        "battery_lifted",
        "The battery is taken off.",
        "any: off",
        _flag("battery_lifted"),
        signs.no_voltage,
    ),
    Fault(
        "thin_cable",
        "A long thin extension cord is put between battery and pump.",
        "length, in parts of 100 ft of 18 AWG",
        _add_ohm(CORD_OHM),
        signs.lower_voltage,
    ),
    Fault(
        "corroded_clamp",
        "A battery clamp corrodes.",
        "resistance, in parts of 0.25 ohm",
        _add_ohm(CLAMP_OHM),
        signs.lower_voltage,
    ),
    Fault(
        "over_voltage",
        "A charger without limit is left on the battery.",
        "voltage added, in parts of 4 V",
        _set("added_v", CHARGER_V),
        signs.higher_voltage,
    ),
    Fault(
        "battery_channel_open",
        "The wire of the battery reading is off.",
        "share of the time that it is off",
        _wire(sensors.BATTERY, sensors.OPEN),
        signs.battery_count_off,
    ),
    Fault(
        "battery_channel_short",
        "The battery reading is shorted to the supply of the sensors.",
        "share of the time that it is shorted",
        _wire(sensors.BATTERY, sensors.SHORT),
        signs.battery_count_off,
    ),
    Fault(
        "pressure_channel_open",
        "The wire of the pressure transducer is off.",
        "share of the time that it is off",
        _wire(sensors.PRESSURE, sensors.OPEN),
        signs.pressure_count_off,
    ),
    Fault(
        "pressure_channel_short",
        "The pressure transducer is shorted to its supply.",
        "share of the time that it is shorted",
        _wire(sensors.PRESSURE, sensors.SHORT),
        signs.pressure_count_off,
    ),
    Fault(
        "pressure_channel_stuck",
        "The pressure transducer shows the same for ever.",
        "share of the time that it is stuck",
        _wire(sensors.PRESSURE, sensors.STUCK),
        signs.pressure_count_off,
    ),
    Fault(
        "channels_swapped",
        "The wires of battery and pressure are exchanged.",
        "any: exchanged",
        _flag("channels_swapped"),
        signs.both_counts_off,
    ),
    Fault(
        "relay_open",
        "The relay does not close.",
        "any: open",
        _relay(contact.STUCK_OPEN),
        signs.open_against_pin,
    ),
    Fault(
        "relay_welded",
        "The relay welds when it closes, or has closed.",
        "any: welded",
        _relay(contact.WELDED),
        signs.closed_against_pin,
    ),
    Fault(
        "relay_chatter",
        "The relay chatters.",
        "twice the share of the time that it is open",
        _relay(contact.CHATTERING),
        signs.contact_restless,
    ),
    Fault(
        "clock_lost",
        "The clock forgets the time.",
        "any: lost",
        _flag("clock_lost"),
        signs.clock_unknown,
    ),
    Fault(
        "clock_back",
        "The clock jumps back.",
        "jump, in parts of two hours",
        _set("clock_back_s", CLOCK_BACK_S),
        signs.clock_behind,
    ),
    Fault(
        "clock_stopped",
        "The clock stands still.",
        "any: stopped",
        _flag("clock_stopped"),
        signs.clock_behind,
    ),
    Fault(
        "frost",
        "A cold night.",
        "1: -4 C, 0: 4 C, between in proportion",
        _freeze,
        signs.freezing,
    ),
    Fault(
        "rain",
        "Rain keeps the contact closed.",
        "any: wet",
        _flag("raining"),
        signs.contact_wet,
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


@dataclass(frozen=True)
class Course:
    """One fault of one replay, in ticks from its start."""

    fault: Fault
    spec: FaultSpec
    start_n: int
    end_n: int | None
    """None where it stays."""

    def severity_at(self, n: int) -> float:
        """How bad it is at a tick; 0 before its start and after its end."""
        if n < self.start_n or (self.end_n is not None and n >= self.end_n):
            return 0.0
        if self.fault.grows_s <= 0.0:
            return self.spec.severity
        grown = (n - self.start_n + 1) / (10.0 * self.fault.grows_s)
        return self.spec.severity * min(grown, 1.0)

    def growing(self, n: int) -> bool:
        """True while the severity changes from tick to tick."""
        grows_n = int(10.0 * self.fault.grows_s)
        return self.start_n <= n < self.start_n + grows_n and self.severity_at(n) > 0.0
