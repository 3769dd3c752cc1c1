"""How the faults act: each turns knobs of ``Conditions`` by its severity of 0 to 1.

Figures at severity 1 are our own choice of a bad but believable case.
"""

from collections.abc import Callable

from rillsim.faults.conditions import Conditions
from rillsim.supply.cable import awg_area_m2, resistance_ohm_per_m

Act = Callable[[Conditions, float], None]

CORD_OHM = 2.0 * 15.24 * resistance_ohm_per_m(awg_area_m2(16))
"""A household extension cord of 50 ft, 16 AWG: the pump still turns behind it."""
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
NOZZLE_WORN_AREA = 0.4
"""Sand wears a nozzle wide: its area grows by this much."""
STALL_DRAG = 4.0
BATTERY_WEAR = 2.0
"""Ages by which a tired battery is older; from new, 60 % of its charge is left."""
CONTACT_OHM = 0.15
PRESSURE_OFF_PA = 40e3
BATTERY_OFF_V = 0.4
CURRENT_OFF_A = 1.5
CLOCK_BACK_S = 7200.0
CLOCK_MISREAD_S = 40 * 86400.0
FROST_C = -4.0
FROST_SPAN_C = 8.0


def follow(field: str, scale: float = 1.0) -> Act:
    """A knob that follows the severity."""

    def act(conditions: Conditions, severity: float) -> None:
        setattr(conditions, field, scale * severity)

    return act


def flag(field: str) -> Act:
    """A knob that is on or off: any severity turns it on."""

    def act(conditions: Conditions, severity: float) -> None:
        setattr(conditions, field, severity > 0.0)

    return act


def relay(mode: int) -> Act:
    def act(conditions: Conditions, severity: float) -> None:
        conditions.contact_mode = mode
        conditions.chatter = severity

    return act


def second_relay(mode: int) -> Act:
    def act(conditions: Conditions, severity: float) -> None:
        conditions.second_contact_mode = mode

    return act


def wire(channel: int, state: int) -> Act:
    def act(conditions: Conditions, severity: float) -> None:
        conditions.break_channel(channel, state, severity)

    return act


def empty_source(conditions: Conditions, severity: float) -> None:
    conditions.source_gone = severity >= 1.0


def shut(conditions: Conditions, severity: float) -> None:
    conditions.open_share *= 1.0 - severity


def block_nozzle(conditions: Conditions, severity: float) -> None:
    conditions.nozzle_area *= 1.0 - severity


def wear_nozzle(conditions: Conditions, severity: float) -> None:
    conditions.nozzle_area *= 1.0 + NOZZLE_WORN_AREA * severity


def lose_nozzle(conditions: Conditions, severity: float) -> None:
    conditions.nozzle_area *= 1.0 + (NOZZLE_GONE_AREA - 1.0) * severity


def kink(conditions: Conditions, severity: float) -> None:
    left = 1.0 - KINK_SHARE_MAX * severity
    conditions.kink_k = KINK_K * (1.0 / (left * left) - 1.0)


def stall(conditions: Conditions, severity: float) -> None:
    conditions.pump_seized = severity >= 1.0
    conditions.pump_drag = 1.0 + STALL_DRAG * severity


def add_ohm(ohm: float) -> Act:
    def act(conditions: Conditions, severity: float) -> None:
        conditions.added_ohm += ohm * severity

    return act


def freeze(conditions: Conditions, severity: float) -> None:
    conditions.air_c = FROST_C + FROST_SPAN_C * (1.0 - severity)
