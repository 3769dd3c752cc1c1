"""A plant on which people have their hands: taps, plugs, switches, the battery, the strainer.

``Handled`` is how they have left the site; it lies over what the timeline makes of it, so that a
tap that is shut stays shut whatever else goes wrong. The board may besides be fed by the USB cable
of a computer. What somebody there would see and hear is kept, in the order in which it came.
"""

from collections import deque
from dataclasses import dataclass, replace
from typing import Any

from rillsim.boards import contact
from rillsim.boards.sensors import OPEN, PLACES, PRESSURE
from rillsim.faults import happenings
from rillsim.faults.conditions import Conditions
from rillsim.plant import Plant
from rillsim.site import Site

TEE_M2 = 40e-6
"""Bore of the tee's tap: a garden tap that is opened for a bucket. Own choice."""
ICE_C = 0.2
"""Ice water in a bag, a little above its melting point."""
SEEN_MAX = 8
NO_LEAD, OVER_FIRST, OVER_ALL = range(3)


@dataclass(frozen=True)
class Handled:
    """How people have left a site; everything at its default is a site as it was built."""

    tap: float = 1.0
    """Share of the outlet that is open."""
    tee: float = 0.0
    """The same of the tee in the line."""
    mesh: float = 0.0
    """Share of the strainer that is blocked."""
    strainer_out: bool = False
    suction_in_bucket: bool = False
    """The pump draws by a short sound hose from a full bucket beside it."""
    switched_off: bool = False
    """The hand switch."""
    battery_off: bool = False
    power_out: bool = False
    """The board's own fuse and the USB cable are both out."""
    pump_out: bool = False
    """The pump's plug."""
    unplugged: frozenset[int] = frozenset()
    """Channels whose plug is out."""
    sense_out: bool = False
    """Plug of the load-side sense."""
    coil_out: bool = False
    """Plug of the relay's coil; of two, the first one's."""
    pins_out: bool = False
    """The wires at the board's pins of all relays: a resistor then holds them low."""
    clock_out: bool = False
    exchanged: bool = False
    """Battery sense and transducer, at the board."""
    lead: int = NO_LEAD
    """What a test lead bridges."""
    transducer_pa: float | None = None
    """What the transducer is held to, off the line."""
    meter_out: bool = False
    """Plug of the flow meter."""
    iced: bool = False
    """The frost sensor is in ice water."""
    rain_wet: bool = False

    def over(self, now: Conditions) -> Conditions:
        """The site's conditions with this on top."""
        now.open_share *= self.tap
        now.burst_m2 += TEE_M2 * self.tee
        now.strainer_block = max(now.strainer_block, self.mesh)
        now.source_gone |= self.strainer_out
        now.battery_lifted |= self.battery_off
        now.channels_swapped ^= self.exchanged
        now.clock_lost |= self.clock_out
        now.raining |= self.rain_wet
        if self.meter_out:
            now.meter_held = 1.0
        if self.iced:
            now.air_c = min(ICE_C, ICE_C if now.air_c is None else now.air_c)
        for channel in self.unplugged:
            now.break_channel(channel, OPEN, 1.0)
        if self.lead != NO_LEAD:
            now.contact_mode = contact.BRIDGED
        elif self.coil_out:
            now.contact_mode = contact.STUCK_OPEN
        if self.lead == OVER_ALL:
            now.second_contact_mode = contact.BRIDGED
        return now


class HandledPlant(Plant):
    """A plant that people handle while it runs; ``handle`` says how they leave it."""

    def __init__(self, site: Site, seed: int = 0, **more: Any) -> None:
        """As a plant; nothing has been handled yet, and no computer is there."""
        self.handled = Handled()
        self.usb = False
        """Whether a computer's cable feeds the board."""
        self.seen: deque[tuple[int, str]] = deque(maxlen=SEEN_MAX)
        """Ticks, and what was seen or heard then."""
        self._shown = (False,) * len(_SEEN)
        super().__init__(site, seed, **more)

    def handle(self, n: int, handled: Handled) -> None:
        """People leave the site like this at tick ``n``."""
        self._halt(n)
        self.handled = handled
        self.rig.switched_off = handled.switched_off
        self._happen(n)
        self._judge_supply(n)

    @property
    def wrong(self) -> Conditions:
        """What is wrong with the site now, by hand or otherwise."""
        return self._conditions

    def attach(self, n: int, usb: bool) -> None:
        """The USB cable of a computer feeds the board from tick ``n`` on, or does not."""
        if usb != self.usb:
            self._halt(n)
            self.usb = usb
            self._judge_supply(n)

    def bring_battery(self, n: int, charged: float) -> None:
        """Another battery like the first is on, charged to a share of what it holds."""
        self._halt(n)
        happenings.swap_battery(self._track.end, self.rig.stepper.battery, charged, 0.0)
        self._observer.battery_is_back(self._track.end, charged)
        self.handle(n, replace(self.handled, battery_off=False))

    def renew_fuse(self, n: int) -> None:
        """A sound main fuse is put in."""
        self._halt(n)
        self.rig.new_fuse(self._track.end)
        self.handle(n, self.handled)

    def read(self, n: int) -> list[int]:
        """The counts of a tick, as hands have left the wires."""
        counts = super().read(n)
        held_pa = self.handled.transducer_pa
        if held_pa is not None and PRESSURE not in self.handled.unplugged:
            shift = self.sensors.shift[PRESSURE]
            expected = self.sensors.expected(PRESSURE, held_pa) + shift
            counts[PLACES[PRESSURE]] = max(int(expected + 0.5), 0) + n % 2
        if self.handled.sense_out:
            counts[2] = 0
        return counts

    def _board_fed(self, least_v: float) -> bool:
        return not self.handled.power_out and (self.usb or super()._board_fed(least_v))

    def _wired_pins(self) -> int:
        return 0 if self.handled.pins_out else super()._wired_pins()

    def _pump_fed(self) -> bool:
        return not self.handled.pump_out and super()._pump_fed()

    def _conditions_at(self, n: int) -> Conditions:
        now = self.handled.over(super()._conditions_at(n))
        if self.handled.suction_in_bucket:
            # What is wrong with the suction line is out of the way, and so is the lift.
            now.strainer_block = now.air_hole_m2 = now.foot_leak_m2 = 0.0
            now.source_gone = False
            now.source_drop_m = -self.site.water.lift_m - self.rig.fallen_m
        return now

    def _follow_pin(self, n: int) -> None:
        super()._follow_pin(n)
        self._notice(n)

    def _notice(self, n: int) -> None:
        """Keep what has changed for eye and ear; a bridged contact does not click."""
        bridged = self.handled.lead
        now = (
            self.contact.closed and bridged == NO_LEAD,
            self.second is not None and self.second.closed and bridged != OVER_ALL,
            self._switch_open,
            self.rig.fuse_blown,
            self.rig.circuit.closed,
        )
        for was, is_now, words in zip(self._shown, now, _SEEN, strict=True):
            if was != is_now and words[is_now]:
                self.seen.append((n, words[is_now]))
        self._shown = now


_SEEN = (
    ("the relay clicks and is open", "the relay clicks and is closed"),
    ("the second relay clicks and is open", "the second relay clicks and is closed"),
    ("", "the pressure switch at the pump opens"),
    ("", "the main fuse melts"),
    ("the pump falls silent", "the pump starts"),
)
"""What is seen or heard of each thing in ``_notice`` when it ends, and when it begins."""
