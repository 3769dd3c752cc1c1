"""What the code has for the values that the notes take as given."""

from dataclasses import replace

from device import board
from keeper import relay, settings
from rillkeeper.design.limits import flow_meter
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.site.file import demo_site
from rillsim.boards import contact, converter
from rillsim.site import BoardSpec
from rillsim.supply import short_circuit, wiring
from rillsim.supply.battery import Battery

_FULL_V = 12.65
"""Rest voltage of a full lead battery, as the pages have it."""


def _of_the_site() -> dict[str, float]:
    """The demonstration site at work."""
    site = demo_site()
    work = WorkingSite(site)
    wires = work.wires
    most_a = site.pump.max_current_a
    ampacity_a = wiring.area_ampacity_a(site.cable.area_m2, site.cable.insulation)
    new = replace(site.battery, age=0.0, temperature_c=short_circuit.WARM_C)
    new_battery = Battery(new, 1.0)
    return {
        "pump_a": work.middle.point.current_a,
        "pump_most_a": most_a,
        "stall_a": work.pump.stall_current_a(_FULL_V, work.full.ohm),
        "cable_m": site.cable.length_m,
        "conductor_mohm": wires.conductor_ohm * 1e3,
        "clamp_mohm": wires.clamp_ohm * 1e3,
        "fuse_mohm": wires.fuse_ohm * 1e3,
        "battery_mohm": work.battery(1.0).resistance_ohm * 1e3,
        "new_battery_mohm": new_battery.resistance_ohm * 1e3,
        "clean_clamp_mohm": short_circuit.CLEAN_CLAMP_OHM * 1e3,
        "short_behind_fuse_a": short_circuit.most_behind_the_fuse_a(site.cable, site.battery),
        "blade_breaks_a": short_circuit.BLADE_BREAKS_A,
        "wire_ampacity_a": ampacity_a,
        "fuse_a": wiring.fuse_rating_a(most_a, ampacity_a),
        "capacity_ah": site.battery.capacity_ah,
        "night_h": work.night_s() / 3600.0,
    }


def _of_the_board() -> dict[str, float]:
    """Converter, relay and clockwork."""
    spec = BoardSpec()
    return {
        "battery_top_ohm": converter.BATTERY_TOP_OHM,
        "battery_bottom_ohm": converter.BATTERY_BOTTOM_OHM,
        "converter_full_mv": converter.REFERENCE_V * 1e3,
        "converter_steps": converter.STEPS,
        "pin_high_mv": converter.REFERENCE_V * 1e3,
        "transducer_supply_mv": converter.TRANSDUCER_SUPPLY_V * 1e3,
        "frost_zero_mv": converter.FROST_ZERO_V * 1e3,
        "frost_mv_per_c": converter.FROST_V_PER_C * 1e3,
        "pull_in_mv": contact.PULL_IN_V * 1e3,
        "fuse_margin": wiring.FUSE_MARGIN,
        "pulses_max_hz": flow_meter.PULSES_MAX_HZ,
        "tick_ms": board.TICK_MS,
        "renew_ms": relay.RENEW_MS,
        "awake_ma": spec.awake_a * 1e3,
        "asleep_ma": spec.asleep_a * 1e3,
    }


def _of_the_settings() -> dict[str, float]:
    """What the demonstration site's board is set to, and the span of its transducer."""
    values = {row[0]: row[4] for row in settings.SCHEMA if row[4] is not None}
    values.update(settings_of(demo_site()))
    values["pressure_span_pa"] = values["pressure_span_kpa"] * 1000
    values["usable_mah"] = values["capacity_mah"]
    return values


def constants() -> dict[str, float]:
    """By the name that the pages use."""
    return _of_the_settings() | _of_the_board() | _of_the_site()
