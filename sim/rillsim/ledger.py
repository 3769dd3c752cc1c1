"""Where every joule, litre and coulomb of a replay went.

One list of running totals in SI units, so that a rollback is a copy and interpolation is a
subtraction. The names say what each bin holds.
"""

from rillsim.circuit import PumpCircuit, PumpPoint
from rillsim.hydraulics import DeliveryLine

BINS = (
    # Energy [J]: what came from a panel and out of the battery's charge, and all that became
    # of it.
    "panel_j",
    "chemical_j",
    "polarisation_j",
    "battery_heat_j",
    "supply_heat_j",
    "board_j",
    "contact_heat_j",
    "winding_heat_j",
    "friction_j",
    "slip_j",
    "relief_j",
    "inrush_j",
    "lift_j",
    "suction_loss_j",
    "line_loss_j",
    "rise_j",
    "nozzle_j",
    "burst_j",
    "closure_j",
    "held_slip_j",
    # Water [m3]; that which a flow meter has followed was pumped as well.
    "taken_m3",
    "returned_m3",
    "breathed_m3",
    "pumped_m3",
    "sprinkled_m3",
    "burst_m3",
    "inflow_m3",
    "overflow_m3",
    "metered_m3",
    # Charge [A s].
    "panel_as",
    "charging_lost_as",
    "pump_as",
    "board_as",
    "self_discharge_as",
    "battery_swap_as",
    "battery_warmth_as",
)

(
    PANEL,
    CHEMICAL,
    POLARISATION,
    BATTERY_HEAT,
    SUPPLY_HEAT,
    BOARD,
    CONTACT_HEAT,
    WINDING_HEAT,
    FRICTION,
    SLIP,
    RELIEF,
    INRUSH,
    LIFT,
    SUCTION_LOSS,
    LINE_LOSS,
    RISE,
    NOZZLE,
    BURST_J,
    CLOSURE,
    HELD_SLIP_J,
    TAKEN,
    RETURNED,
    BREATHED,
    PUMPED,
    SPRINKLED,
    BURST_M3,
    INFLOW,
    OVERFLOW,
    METERED,
    PANEL_AS,
    CHARGING_LOST,
    PUMP_AS,
    BOARD_AS,
    SELF_DISCHARGE,
    BATTERY_SWAP,
    BATTERY_WARMTH,
) = range(len(BINS))

Totals = list[float]


def empty() -> Totals:
    """Nothing yet."""
    return [0.0] * len(BINS)


def add_electric(
    totals: Totals, circuit: PumpCircuit, current_a: float, point: PumpPoint, dt_s: float
) -> None:
    """Electric side of one stage: everything that the current heats, and the pump's own loss."""
    board_a = circuit.board_a
    total_a = current_a + board_a
    battery_a = total_a - circuit.panel_a
    totals[BATTERY_HEAT] += battery_a * battery_a * dt_s * circuit.battery_ohm
    totals[SUPPLY_HEAT] += total_a * total_a * dt_s * circuit.wiring_ohm
    if current_a > 0.0:
        heat = current_a * current_a * dt_s
        totals[CONTACT_HEAT] += heat * circuit.contact_ohm
        totals[WINDING_HEAT] += heat * circuit.pump.winding_ohm
        totals[FRICTION] += circuit.friction_w(point) * dt_s
        pressed = point.fill * point.rise_pa
        totals[SLIP] += circuit.pump.slip_m3_s_pa * pressed * pressed * dt_s


def add_hydraulic(
    totals: Totals,
    circuit: PumpCircuit,
    line: DeliveryLine,
    point: PumpPoint,
    pressure_pa: float,
    flow_m3_s: float,
    dt_s: float,
) -> None:
    """Water side of one stage: lift, losses and what leaves through nozzle or hole."""
    drawn = point.flow_m3_s * dt_s
    if point.current_a > 0.0 and not circuit.dry:
        static = -point.inlet_pa - circuit.suction.loss_pa(point.flow_m3_s, circuit.strainer_block)
        totals[LIFT] += static * drawn
        if pressure_pa > circuit.relief_pa:
            totals[RELIEF] += point.rise_pa * circuit.relief_m3_s(pressure_pa) * dt_s
        totals[SUCTION_LOSS] += (-point.inlet_pa - static) * drawn
    elif drawn > 0.0 and point.inlet_pa:  # Forward through the valves of a standing pump.
        totals[LIFT] += circuit.lift_pa * drawn
        totals[SUCTION_LOSS] += (-point.inlet_pa - circuit.lift_pa) * drawn
        totals[HELD_SLIP_J] += (point.inlet_pa - pressure_pa) * drawn
    elif drawn:
        totals[HELD_SLIP_J] -= pressure_pa * drawn
    passed = flow_m3_s * dt_s
    if passed:
        totals[LINE_LOSS] += line.friction_pa(flow_m3_s) * passed
        totals[RISE] += line.static_pa * passed
        totals[NOZZLE] += line.nozzle_pa_s2_m6 * flow_m3_s * abs(flow_m3_s) * passed
    if line.burst_m3_s_root_pa:
        totals[BURST_J] += pressure_pa * line.burst_m3_s(pressure_pa) * dt_s
