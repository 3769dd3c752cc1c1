"""What may be wrong with a site that was sound: each cause, how it comes about, where to look.

A cause has one or more failure modes: faults of the plant's catalogue, each with the severities at
which it is tried out. How often each happens is our own estimate (common practice, no source):
it decides only where the readings do not.
"""

from dataclasses import dataclass

from rillkeeper.inquiry.why.failure_modes import (
    FailureMode,
    amperes,
    cold,
    hole,
    kilopascals,
    metres,
    narrow,
    nozzle,
    ohm,
    percent,
    plain,
    strainer,
    volts,
)
from rillsim.faults import acts
from rillsim.site import BoardSpec

WATER, SUPPLY, BATTERY, SENSOR, RELAY = "water", "supply", "battery", "sensor", "relay"

NONE = "nothing wrong"


@dataclass(frozen=True)
class Cause:
    """One thing that may be wrong."""

    name: str
    kind: str
    share: float
    """How often it is what is wrong with such a site, against the others."""
    modes: tuple[FailureMode, ...]
    look: str
    """What to look at, and what shows there."""
    effort_min: int
    """How long that look takes: the cheapest comes first."""
    tell: str
    """What would tell it from a cause that looks the same."""

    @property
    def needs(self) -> str:
        """What must be fitted on the board for any of it to be there."""
        needs = {mode.needs for mode in self.modes}
        return needs.pop() if len(needs) == 1 else ""

    def modes_on(self, board: BoardSpec) -> tuple[FailureMode, ...]:
        """Those that a board can have."""
        return tuple(mode for mode in self.modes if mode.offered_on(board))

    def share_of(self, mode: FailureMode) -> float:
        """Of all troubles, before anything was read: this cause in this mode. What not every
        board has comes on top."""
        share = self.share / sum(cause.share for cause in CAUSES if not cause.needs)
        return share * mode.weight / sum(one.weight for one in self.modes)


WHEEL_STANDS = 0.7
"""From such a share of the water on the board sees no flow (keeper/meter.py)."""
_OFFSETS = (0.05, 0.12, 0.3, 0.6, 1.0)
_LOOSE = (0.1, 0.5, 1.0)
"""Shares of the time in which a channel is broken."""
_SHUNT = "current_fitted"

CAUSES = (
    Cause(
        "strainer blocking",
        WATER,
        0.17,
        (
            FailureMode(
                "strainer_blocking",
                (0.3, 0.5, 0.65, 0.74, 0.8, 0.85, 0.88, 0.91, 0.94, 1.0),
                strainer,
            ),
        ),
        "Lift the strainer out and rinse it: weed, leaves or slime on the mesh.",
        5,
        "A vacuum gauge at the pump's inlet reads deeper; it comes right with a clean strainer.",
    ),
    Cause(
        "suction air leak",
        WATER,
        0.10,
        (
            FailureMode(
                "air_leak",
                (0.01, 0.03, 0.08, 0.2, 0.4, 0.7, 1.0),
                hole(acts.AIR_HOLE_M2, "a hole"),
            ),
        ),
        "Look at the suction line's joints and clamps; bubbles in a clear hose or in the jet.",
        10,
        "The jet spits and the pump rattles while it runs; wet clay over a joint makes it stop.",
    ),
    Cause(
        "foot valve leaking",
        WATER,
        0.12,
        (
            FailureMode(
                "foot_valve_leak",
                (0.001, 0.003, 0.006, 0.015, 0.05, 0.2, 1.0),
                hole(acts.FOOT_LEAK_M2, "it stays open by a slit"),
            ),
        ),
        "Lift the foot valve out: grit or weed on its seat, or a worn seal.",
        10,
        "Fill the suction line and watch it stand: the level must not fall in an hour.",
    ),
    Cause(
        "source falling",
        WATER,
        0.10,
        (
            FailureMode(
                "source_falling", (0.15, 0.3, 0.5, 0.7, 0.9, 0.99, 1.05), metres, of_cover=True
            ),
        ),
        "Measure from the pump down to the water, and look whether the strainer is well covered.",
        2,
        "A mark on the bank: the water stands lower than when the site file was written.",
    ),
    Cause(
        "hose kinked or crushed",
        WATER,
        0.08,
        (
            FailureMode(
                "hose_kinked", (0.3, 0.5, 0.65, 0.75, 0.82, 0.87, 0.91, 0.94, 0.97, 1.0), narrow
            ),
        ),
        "Walk along the hose: a kink, a wheel or a stone on it.",
        2,
        "The throw at the sprinkler is short although the pressure at the pump is high; the "
        "pressure just before the sprinkler is low. Behind a blocked nozzle it is high too.",
    ),
    Cause(
        "hose burst or slipped",
        WATER,
        0.06,
        (
            FailureMode(
                "hose_burst", (0.02, 0.05, 0.12, 0.25, 0.5, 1.0), hole(acts.BURST_M2, "a hole")
            ),
        ),
        "Walk along the hose while the pump runs: a wet place, or an end off its tail piece.",
        2,
        "Water comes out where there should be none; the sprinkler's throw is short.",
    ),
    Cause(
        "sprinkler blocked",
        WATER,
        0.10,
        (
            FailureMode(
                "sprinkler_blocked",
                (0.01, 0.03, 0.07, 0.12, 0.16, 0.2, 0.25, 0.32, 0.6, 1.0),
                percent("of the nozzle blocked, or its valve shut so far"),
            ),
        ),
        "Look at the sprinkler: a valve not fully open, grit or a snail in the nozzle.",
        2,
        "The pressure just before the sprinkler is high as well; the jet is thin but far.",
    ),
    Cause(
        "nozzle worn or gone",
        WATER,
        0.04,
        (
            FailureMode(
                "nozzle_worn", (0.06, 0.12, 0.25, 0.5, 1.0), nozzle(acts.NOZZLE_WORN_AREA)
            ),
            FailureMode(
                "nozzle_gone", (0.06, 0.12, 0.3, 1.0), nozzle(acts.NOZZLE_GONE_AREA - 1.0)
            ),
        ),
        "Look at the nozzle: try a drill of its nominal size in it; it must not rattle.",
        3,
        "The jet is thick and falls short; with a new nozzle the pressure is back.",
    ),
    Cause(
        "pump worn",
        WATER,
        0.05,
        (
            FailureMode(
                "pump_worn", (0.04, 0.1, 0.22, 0.45, 0.7, 1.0), percent("of its life gone")
            ),
        ),
        "Time a bucket at the pump's open outlet, and hold it against the sheet of the pump: worn "
        "valves and diaphragms give less.",
        10,
        "With the suction hose's joints under water the pressure stays as low as it was.",
    ),
    Cause(
        "pump stiff or stuck",
        WATER,
        0.03,
        (
            FailureMode(
                "pump_stalled",
                (0.02, 0.06, 0.15, 0.3, 0.6, 1.0),
                lambda severity, site: (
                    f"{1.0 + acts.STALL_DRAG * severity:.1f} times the friction"
                    if severity < 1.0
                    else "stuck fast"
                ),
            ),
        ),
        "Hand switch off, then the negative clamp; then open the pump's head: grit, a swollen "
        "diaphragm, a dry bearing.",
        20,
        "The motor is hotter than it was and hums lower.",
    ),
    Cause(
        "cable or clamp resistance",
        SUPPLY,
        0.10,
        (FailureMode("corroded_clamp", (0.01, 0.03, 0.07, 0.13, 0.3, 1.0), ohm(acts.CLAMP_OHM)),),
        "Right after a run feel the clamps, the fuse holder and each joint of the cable: the warm "
        "one is bad. Clean it to bright metal. Take care: it may be hot.",
        3,
        "A voltmeter across each joint in turn while the pump runs: more than 0.1 V is too much.",
    ),
    Cause(
        "tired battery",
        BATTERY,
        0.10,
        (
            FailureMode(
                "battery_tired",
                (0.1, 0.25, 0.5, 0.75, 1.0),
                lambda severity, site: (
                    "its age is "
                    f"{100 * (site.battery.lived + acts.BATTERY_WEAR * severity):.0f} % of a life"
                ),
            ),
            FailureMode(
                "weak_cell",
                (0.2, 0.4, 0.6, 0.8, 1.0),
                lambda severity, site: f"a cell has lost {90 * severity:.0f} % of its charge",
            ),
        ),
        "Charge it fully, let it rest for some hours and read its voltage; then try another "
        "battery for a night.",
        5,
        "With another battery all is well: then it was the battery, and not cable or clamps.",
    ),
    Cause(
        "cold battery",
        BATTERY,
        0.03,
        (FailureMode("battery_cold", (0.2, 0.4, 0.6, 0.8, 1.0), cold),),
        "Put a thermometer on it at night; a box with straw or foam keeps it warmer.",
        5,
        "On a warm night all is well with the same battery.",
    ),
    Cause(
        "battery not full",
        BATTERY,
        0.05,
        (
            FailureMode(
                "flat_battery",
                (0.03, 0.07, 0.14, 0.25, 0.4, 0.6),
                lambda severity, site: f"{95 * severity:.0f} % of a full charge is missing",
            ),
        ),
        "Did something else draw on it, or was it taken off the charger too early?",
        2,
        "Fully charged, it is as good as ever.",
    ),
    Cause(
        "pressure sensor off or stuck",
        SENSOR,
        0.05,
        (
            FailureMode("pressure_offset", _OFFSETS, kilopascals("too high"), weight=3.0),
            FailureMode(
                "pressure_offset", _OFFSETS, kilopascals("too low"), downwards=True, weight=3.0
            ),
            FailureMode("pressure_channel_stuck", _LOOSE, plain("it stands still")),
            FailureMode("pressure_channel_open", _LOOSE, plain("its wire is off or loose")),
            FailureMode("pressure_channel_short", _LOOSE, plain("its wire is shorted")),
            FailureMode(
                "pressure_port_clogged",
                (1.0,),
                plain("its port is clogged: it shows the pressure of rest"),
                needs="pressure_fitted",
            ),
            FailureMode(
                "pressure_port_clogged",
                (1.0,),
                plain("its port is clogged: it shows the pressure of a run"),
                needs="pressure_fitted",
                in_a_run=True,
            ),
        ),
        "With the hose open and the pump at rest the board must read only the water that stands "
        "in it, and with the pump on far more: `rillkeeper status`. Then look at plug and wire, "
        "and for silt in its port.",
        3,
        "A second gauge beside it reads what it always did.",
    ),
    Cause(
        "flow meter stuck or slow",
        SENSOR,
        0.03,
        (
            FailureMode(
                "meter_stuck",
                (0.06, 0.15, 0.3, 0.45, 0.6, 0.75, 1.0),
                lambda severity, site: (
                    f"{100 * severity:.0f} % of the water passes without turning its wheel"
                    if severity < WHEEL_STANDS
                    else "its wheel stands still, or nearly so"
                ),
                needs="flow_fitted",
            ),
        ),
        "Pump off: look into the flow meter, a fibre or silt may hold its wheel. Then look at its "
        "plug and wire.",
        5,
        "The sprinkler throws as far as ever; a bucket at the hose's end fills as fast as ever.",
    ),
    Cause(
        "battery reading off or stuck",
        SENSOR,
        0.03,
        (
            FailureMode("battery_offset", _OFFSETS, volts("too high"), weight=3.0),
            FailureMode("battery_offset", _OFFSETS, volts("too low"), downwards=True, weight=3.0),
            FailureMode("battery_channel_open", _LOOSE, plain("its wire is off or loose")),
            FailureMode("battery_channel_short", _LOOSE, plain("its wire is shorted")),
            FailureMode("channels_swapped", (1.0,), plain("battery and pressure are exchanged")),
        ),
        "Hold a voltmeter at the board's terminals against `rillkeeper status`.",
        3,
        "The voltmeter tells at once.",
    ),
    Cause(
        "current reading off",
        SENSOR,
        0.02,
        (
            FailureMode("current_offset", _OFFSETS, amperes("too high"), weight=3.0, needs=_SHUNT),
            FailureMode(
                "current_offset",
                _OFFSETS,
                amperes("too low"),
                downwards=True,
                weight=3.0,
                needs=_SHUNT,
            ),
            FailureMode(
                "current_channel_open", _LOOSE, plain("its wire is off or loose"), needs=_SHUNT
            ),
            FailureMode(
                "current_channel_short", _LOOSE, plain("its wire is shorted"), needs=_SHUNT
            ),
        ),
        "With the pump off the board must read no current, with the pump on what a clamp meter "
        "for direct current shows around its lead: `rillkeeper status`.",
        4,
        "The clamp meter tells at once.",
    ),
    Cause(
        "relay worn",
        RELAY,
        0.04,
        (
            FailureMode(
                "relay_worn", (0.04, 0.1, 0.25, 0.5, 1.0), ohm(acts.CONTACT_OHM), weight=6.0
            ),
            FailureMode("relay_chatter", (0.02, 0.1, 0.4, 1.0), plain("it chatters")),
            FailureMode("relay_open", (1.0,), plain("it does not close")),
            FailureMode("relay_welded", (1.0,), plain("it does not open")),
        ),
        "Read the voltage across the relay's contact while the pump runs: more than 0.2 V is too "
        "much. A relay that hums, smells or is hot must be replaced. One that is closed when told "
        "to open may be an active-low module, or have a wire over its contact.",
        5,
        "The voltmeter tells at once: a sound contact takes next to nothing.",
    ),
)
"""In the order in which they are listed."""
