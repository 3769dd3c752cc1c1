"""Watches a plant for the signs of its faults, and notes the tick at which each was felt.

It compares with the same site in health: the steady operating point on the same battery, the
voltage that a sound supply would give, the counts that true values should give.
"""

from collections.abc import Iterable

from rillsim import ledger
from rillsim.boards.boardclock import DAY_S, BoardClock
from rillsim.boards.contact import Contact
from rillsim.boards.sensors import BATTERY, CURRENT, PRESSURE, Sensors
from rillsim.faults.signs import STEADY_S, Seen
from rillsim.rig import Rig
from rillsim.site import END_OF_LIFE_SHARE
from rillsim.stepper import AS_PER_AH, TICK_S, State
from rillsim.supply.battery import Battery
from rillsim.timeline import Course
from rillsim.water.operating_point import OperatingPoint, Supply, operating_point

HEALTHY_TICKS = 600
"""The healthy operating point is solved again after a minute: the battery has sunk a little."""


class Observer:
    """The signs of the faults that a site has on its list."""

    def __init__(
        self,
        courses: Iterable[Course],
        rig: Rig,
        sensors: Sensors,
        contacts: tuple[Contact, Contact | None],
        clock: BoardClock,
    ) -> None:
        self._courses = list(courses)
        self.rig = rig
        self._sensors = sensors
        self._contact, self._second = contacts
        self._clock = clock
        self._felt_n: list[int | None] = [None] * len(self._courses)
        self._begun: list[int] = []
        self._scratch = [0] * 6
        self._healthy: tuple[int, OperatingPoint] | None = None
        self._contact_base = 0
        spec = rig.site.battery
        aged = 1.0 - (1.0 - END_OF_LIFE_SHARE) * spec.lived
        self._aged_as = spec.capacity_ah * aged * AS_PER_AH
        self._full_as = 0.0

    @property
    def felt(self) -> list[tuple[str, int | None]]:
        """Each fault of the site, in its order, with the tick at which it was felt, or None."""
        return [
            (course.fault.name, n) for course, n in zip(self._courses, self._felt_n, strict=True)
        ]

    @property
    def pending(self) -> bool:
        """True while a fault that has begun was not felt yet."""
        return bool(self._begun)

    def begin(self, n: int) -> None:
        """Watch for the faults that are on at tick ``n``."""
        self._begun = [
            place
            for place, course in enumerate(self._courses)
            if self._felt_n[place] is None and course.severity_at(n) != 0.0
        ]
        self._contact_base = self._contact.closings

    def battery_is_back(self, state: State, charged: float) -> None:
        """The account of charge starts again, at this share of a full one."""
        self._full_as = _drawn_as(state.totals) - (1.0 - charged) * self._aged_as

    def look(
        self, n: int, state: State, pin: bool, closed_n: int, air_c: float, wet: bool
    ) -> None:
        """Ask every fault that has begun whether it shows in this state."""
        seen = self._seen(n, state, pin, closed_n, air_c, wet)
        for place in tuple(self._begun):
            if self._courses[place].fault.felt(seen):
                self._felt_n[place] = n
                self._begun.remove(place)

    def _seen(
        self, n: int, state: State, pin: bool, closed_n: int, air_c: float, wet: bool
    ) -> Seen:
        rig = self.rig
        battery = rig.sound_battery
        battery.restore(state.battery)
        running_s = (n - closed_n) * TICK_S if rig.circuit.closed else 0.0
        healthy = self._healthy_point(n, battery) if running_s >= STEADY_S else None
        counts = self._scratch
        self._sensors.fill(
            counts, n, state.board_v, state.pressure_pa, air_c, state.point.current_a
        )
        expected = self._sensors.expected
        day, second, known = self._clock.reading(n)
        return Seen(
            running_s=running_s,
            pin=pin,
            closed=self._contact.closed,
            second_pin=self._second is not None and bool(self._second.pin),
            second_closed=None if self._second is None else self._second.closed,
            changes=self._contact.closings - self._contact_base,
            pressure_pa=state.pressure_pa,
            flow_m3_s=state.flow_m3_s,
            pumped_m3_s=state.point.flow_m3_s,
            metered_m3_s=self._metered_m3_s(state),
            current_a=state.point.current_a,
            inlet_pa=state.point.inlet_pa,
            still_inlet_pa=self._sound_inlet_pa(state),
            contact_v=state.point.current_a * rig.circuit.contact_ohm,
            sound_contact_v=state.point.current_a * rig.relay_ohm,
            battery_ohm=state.ohm,
            sound_battery_ohm=battery.resistance_ohm,
            board_v=state.board_v,
            rest_v=rig.stepper.battery.rest_v,
            counted_rest_v=self._counted_rest_v(state),
            sound_board_v=self._sound_board_v(state, battery),
            filled_share=state.filled_m3 / rig.suction.volume_m3,
            battery_off_counts=counts[0] - expected(BATTERY, state.board_v),
            pressure_off_counts=counts[1] - expected(PRESSURE, state.pressure_pa),
            current_off_counts=(
                counts[5] - expected(CURRENT, state.point.current_a)
                if rig.site.board.current_fitted
                else 0.0
            ),
            clock_known=known,
            clock_behind_s=self._clock.true_s(n) - (day * DAY_S + second),
            air_c=air_c,
            wet=wet,
            healthy=healthy,
        )

    def _healthy_point(self, n: int, battery: Battery) -> OperatingPoint:
        if self._healthy is None or n - self._healthy[0] >= HEALTHY_TICKS:
            rig = self.rig
            wires_ohm = rig.wiring_ohm + rig.relay_ohm
            supply = Supply(battery.emf_v, battery.resistance_ohm, wires_ohm)
            self._healthy = (n, operating_point(rig.plumbing, rig.pump, supply))
        return self._healthy[1]

    def _metered_m3_s(self, state: State) -> float | None:
        wheel = self.rig.stepper.wheel
        return None if wheel is None else wheel.turned_m3(state.point.flow_m3_s, 1.0)

    def _sound_inlet_pa(self, state: State) -> float:
        """Inlet pressure with the clean strainer and the source where it began, at this flow."""
        return self.rig.plumbing.suction.inlet_pressure_pa(
            max(state.point.flow_m3_s, 0.0), self.rig.site.water.lift_m
        )

    def _sound_board_v(self, state: State, battery: Battery) -> float:
        """Board voltage on a sound battery through sound wires, at this current."""
        current = state.point.current_a + self.rig.circuit.board_a
        supply_ohm = battery.resistance_ohm + self.rig.wiring_ohm
        posts_v = battery.emf_v + self.rig.stepper.held_v
        posts_v += self.rig.circuit.panel_a * battery.resistance_ohm
        return posts_v - current * supply_ohm

    def _counted_rest_v(self, state: State) -> float:
        """Rest voltage for the charge that pump and board have drawn since it was full."""
        share = (_drawn_as(state.totals) - self._full_as) / self._aged_as
        return Battery(self.rig.site.battery, 1.0 - min(max(share, 0.0), 1.0)).rest_v


def _drawn_as(totals: ledger.Totals) -> float:
    """Charge that pump and board have drawn, less what a panel has put back."""
    put_back = totals[ledger.PANEL_AS] - totals[ledger.CHARGING_LOST]
    return totals[ledger.PUMP_AS] + totals[ledger.BOARD_AS] - put_back
