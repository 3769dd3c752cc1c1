"""How a fault shows: measured deviations from what the same site would do in health.

Each sign is a question to one ``Seen``; none of them knows whether a fault was switched on.
"""

from collections.abc import Callable
from dataclasses import dataclass

from rillsim.water.operating_point import OperatingPoint


@dataclass(frozen=True)
class Seen:
    """What the plant shows at one tick, and what a healthy one would."""

    running_s: float
    """How long the pump has had its present supply; 0 when it has none."""
    pin: bool
    """Whether the pump is asked for."""
    closed: bool
    """The first relay's contact, as ``changes``."""
    second_pin: bool
    second_closed: bool | None
    """None where no second relay is fitted."""
    changes: int
    """Times that the contact closed while the pin stood still, since the fault began."""
    pressure_pa: float
    flow_m3_s: float
    pumped_m3_s: float
    metered_m3_s: float | None
    """What the wheel of a flow meter follows of it; None where none is fitted."""
    current_a: float
    inlet_pa: float
    still_inlet_pa: float
    """Inlet pressure of the healthy site: lift and losses at its flow."""
    contact_v: float
    """What the relay's contact takes."""
    sound_contact_v: float
    battery_ohm: float
    sound_battery_ohm: float
    board_v: float
    rest_v: float
    """Battery voltage after a long rest."""
    counted_rest_v: float
    """The same, for the charge that is left by the pump's and the board's account."""
    sound_board_v: float
    """Board voltage of the healthy site under the same command."""
    filled_share: float
    battery_off_counts: float
    pressure_off_counts: float
    current_off_counts: float
    """Count read less count that the true value would give; 0 where no sensor is fitted."""
    clock_known: bool
    clock_behind_s: float
    air_c: float
    wet: bool
    healthy: OperatingPoint | None
    """The running site in health; None unless the pump has run for a while."""


Sign = Callable[[Seen], bool]

STEADY_S = 8.0
"""A pump that has run this long is compared with its steady operating point."""


def no_flow(seen: Seen) -> bool:
    """The pump runs and less than half of the usual water comes."""
    return seen.healthy is not None and seen.pumped_m3_s < 0.5 * seen.healthy.flow_m3_s


def less_water(seen: Seen) -> bool:
    """The pump gives at least 5 % less water than in health."""
    return seen.healthy is not None and seen.pumped_m3_s < 0.95 * seen.healthy.flow_m3_s


def deeper_suction(seen: Seen) -> bool:
    """The inlet pressure is 2 kPa lower than in health, or there is no water."""
    if seen.healthy is None:
        return False
    return seen.inlet_pa < seen.still_inlet_pa - 2e3 or no_flow(seen)


def air_in_suction(seen: Seen) -> bool:
    """A twentieth of the suction line has run dry."""
    return seen.filled_share < 0.95


def higher_pressure(seen: Seen) -> bool:
    """The outlet pressure is a tenth above the healthy one."""
    return seen.healthy is not None and seen.pressure_pa > 1.1 * seen.healthy.pump_pa


def lower_pressure(seen: Seen) -> bool:
    """The outlet pressure is under seven tenths of the healthy one."""
    return seen.healthy is not None and seen.pressure_pa < 0.7 * seen.healthy.pump_pa


def slightly_lower_pressure(seen: Seen) -> bool:
    """The outlet pressure is a twentieth under the healthy one."""
    return seen.healthy is not None and seen.pressure_pa < 0.95 * seen.healthy.pump_pa


def too_much_current(seen: Seen) -> bool:
    """The pump draws half as much again as in health."""
    return seen.healthy is not None and seen.current_a > 1.5 * seen.healthy.current_a


def motor_takes_nothing(seen: Seen) -> bool:
    """The contact is closed, the board has its voltage and no current flows."""
    return seen.closed and seen.current_a == 0.0 and seen.board_v > 8.0


def lower_voltage(seen: Seen) -> bool:
    """The board sees 0.3 V less than in health, under the same command."""
    return seen.board_v < seen.sound_board_v - 0.3


def higher_voltage(seen: Seen) -> bool:
    """The board sees 0.5 V more than in health."""
    return seen.board_v > seen.sound_board_v + 0.5


def charge_is_missing(seen: Seen) -> bool:
    """The battery rests 0.1 V lower than its account of charge says."""
    return seen.rest_v < seen.counted_rest_v - 0.1


def no_voltage(seen: Seen) -> bool:
    """The board has no supply."""
    return seen.board_v < 1.0


def battery_resists(seen: Seen) -> bool:
    """Under load, the battery has a tenth more resistance than in health."""
    return seen.running_s > 0.0 and seen.battery_ohm > 1.1 * seen.sound_battery_ohm


def contact_resists(seen: Seen) -> bool:
    """The relay's contact takes 0.1 V more than in health, at the same current."""
    return seen.contact_v > seen.sound_contact_v + 0.1


def battery_zero_off(seen: Seen) -> bool:
    """With the pump at rest, the battery channel reads 6 counts off: ten times its noise."""
    return seen.current_a == 0.0 and abs(seen.battery_off_counts) > 6.0


def pressure_zero_off(seen: Seen) -> bool:
    """With the pump at rest, the pressure channel reads 6 counts off: ten times its noise."""
    return seen.current_a == 0.0 and abs(seen.pressure_off_counts) > 6.0


def battery_count_off(seen: Seen) -> bool:
    """The battery channel reads 50 counts off."""
    return abs(seen.battery_off_counts) > 50.0


def pressure_count_off(seen: Seen) -> bool:
    """The pressure channel reads 50 counts off."""
    return abs(seen.pressure_off_counts) > 50.0


def current_zero_off(seen: Seen) -> bool:
    """The current channel reads 6 counts off: ten times its noise."""
    return abs(seen.current_off_counts) > 6.0


def current_count_off(seen: Seen) -> bool:
    """The current channel reads 50 counts off."""
    return abs(seen.current_off_counts) > 50.0


def both_counts_off(seen: Seen) -> bool:
    """Battery and pressure both read 50 counts off."""
    return battery_count_off(seen) and pressure_count_off(seen)


def open_against_pin(seen: Seen) -> bool:
    """The pin asks for the pump, the board has its voltage and no current flows."""
    return seen.pin and not seen.closed and seen.current_a == 0.0 and seen.board_v > 8.0


def closed_against_pin(seen: Seen) -> bool:
    """The pump draws current although the pin does not ask for it."""
    return not seen.pin and seen.current_a > 0.2


def second_open_against_pins(seen: Seen) -> bool:
    """The pins ask for the pump, the second relay is open and no current flows."""
    open_ = seen.second_closed is False and seen.current_a == 0.0
    return seen.pin and open_ and seen.board_v > 8.0


def second_closed_against_pin(seen: Seen) -> bool:
    """The second relay is closed although its pin does not ask for it."""
    return bool(seen.second_closed) and not seen.second_pin


def contact_restless(seen: Seen) -> bool:
    """The contact closed three times more than the pin asked for."""
    return seen.changes >= 3


def meter_behind(seen: Seen) -> bool:
    """At more than half of the usual water, the meter misses a twentieth of it."""
    if seen.metered_m3_s is None or seen.healthy is None or no_flow(seen):
        return False
    return seen.metered_m3_s < 0.95 * seen.pumped_m3_s


def clock_unknown(seen: Seen) -> bool:
    """The board does not know the time."""
    return not seen.clock_known


def clock_behind(seen: Seen) -> bool:
    """The board's clock is a minute behind the sun."""
    return seen.clock_known and seen.clock_behind_s > 60.0


def clock_ahead(seen: Seen) -> bool:
    """The board's clock is a minute ahead of the sun."""
    return seen.clock_known and seen.clock_behind_s < -60.0


def freezing(seen: Seen) -> bool:
    """The air is at 2 C or below, where frost forms on the ground."""
    return seen.air_c <= 2.0


def contact_wet(seen: Seen) -> bool:
    """The rain contact is closed."""
    return seen.wet
