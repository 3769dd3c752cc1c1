"""What is wrong with a site at one moment; everything at its default is a healthy site."""

from dataclasses import dataclass, field

from rillsim.boards import contact, sensors

COLD_C = -5.0
"""A battery that has stood outside in a hard frost."""


@dataclass
class Conditions:
    """Deviations from the site as it was built, in SI units."""

    # Supply.
    added_ohm: float = 0.0
    added_v: float = 0.0
    battery_lifted: bool = False
    weak_cell: float = 0.0
    """Share of its capacity that one cell has lost."""
    charge_missing: float = 0.0
    """Share of a full charge that is gone at once when the fault starts."""
    battery_wear: float = 0.0
    """Age of the battery beyond that of the site."""
    battery_cold: float = 0.0
    """How far the battery has cooled, from the site's temperature (0) to ``COLD_C`` (1)."""
    # Suction.
    strainer_block: float = 0.0
    air_hole_m2: float = 0.0
    foot_leak_m2: float = 0.0
    source_drop_m: float = 0.0
    source_gone: bool = False
    # Delivery.
    open_share: float = 1.0
    nozzle_area: float = 1.0
    """Area of the nozzles over the healthy one."""
    kink_k: float = 0.0
    burst_m2: float = 0.0
    # Pump.
    pump_wear: float = 0.0
    pump_drag: float = 1.0
    """Friction of the pump over the healthy one."""
    pump_seized: bool = False
    motor_cut_out: bool = False
    """The motor's own thermal cut-out is open: no current, whatever the relay does."""
    # Relay.
    contact_mode: int = contact.GOOD
    second_contact_mode: int = contact.GOOD
    chatter: float = 0.0
    contact_added_ohm: float = 0.0
    # Board.
    wiring: dict[int, tuple[int, float]] = field(default_factory=dict)
    """Channel -> (state, share of the ticks in which it is felt)."""
    channels_swapped: bool = False
    pressure_off_pa: float = 0.0
    battery_off_v: float = 0.0
    current_off_a: float = 0.0
    """What transducer, divider and current sensor read beside the true value."""
    meter_held: float = 0.0
    """Share of the water that passes a flow meter without turning its wheel."""
    clock_lost: bool = False
    clock_back_s: float = 0.0
    clock_stopped: bool = False
    clock_misread_s: float = 0.0
    """What the board reads ahead of what the clock shows: a bit of the date is wrong."""
    # Weather.
    air_c: float | None = None
    raining: bool = False

    @property
    def board_is_sound(self) -> bool:
        """Whether no channel is broken, no relay spoilt and no clock wrong."""
        relays = self.contact_mode == self.second_contact_mode == contact.GOOD
        clock = self.clock_lost or self.clock_stopped or self.clock_back_s or self.clock_misread_s
        return relays and not self.wiring and not self.channels_swapped and not clock

    def break_channel(self, channel: int, state: int, share: float) -> None:
        """Spoil one channel of the board."""
        self.wiring[channel] = (state, share)


HEALTHY_WIRING = (sensors.GOOD, 1.0)
