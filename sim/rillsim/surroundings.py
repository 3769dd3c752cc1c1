"""Air, sun and rain around one plant, each looked up no oftener than it changes.

The plant asks how long nothing of it changes (``room``) and lets it act on its rig: the battery
follows the air, a panel gives what the sun offers, rain and spring fill a source that can be
emptied. Seconds are counted from tick 0.
"""

from rillsim.rig import Rig
from rillsim.site import Site
from rillsim.stepper import TICK_S, State
from rillsim.supply import box
from rillsim.supply.panel import SunMj, steady_sun
from rillsim.timeline import Timeline
from rillsim.water.air import AirC, steady_air
from rillsim.water.store import RainMm

AIR_TICKS = 600
"""The air's temperature is looked up once a minute."""
SUN_TICKS = 6000
"""A panel's sun is looked up every ten minutes."""
STORE_TICKS = 6000
"""What comes into a source that can be emptied is booked every ten minutes."""


class Surroundings:
    """Those of one plant."""

    def __init__(
        self,
        site: Site,
        timeline: Timeline,
        start_s: int,
        air_c: AirC | None,
        sun_mj: SunMj | None,
        rain_mm: RainMm,
    ) -> None:
        self._box_s = site.battery.box_s
        self._panel = site.solar.power_w > 0.0
        self._timeline = timeline
        self._air_c = air_c or steady_air(site.weather, start_s)
        self._sun_mj = sun_mj or steady_sun(site.weather, start_s)
        self._rain_mm = rain_mm
        self._air_now = (-1, 0.0)
        self._warmed_n = self._filled_n = 0

    def rain_mm(self, from_s: float, to_s: float) -> float:
        """Rain between two seconds, with what rain faults let fall [mm]."""
        return self._rain_mm(from_s, to_s) + self._timeline.shower_mm(from_s, to_s)

    def air_at(self, n: int, frozen_c: float | None) -> float:
        """The air at a tick, at the most as warm as a frost that is a fault [C]."""
        minute = n // AIR_TICKS
        if minute != self._air_now[0]:
            self._air_now = (minute, self._air_c(minute * AIR_TICKS * TICK_S))
        now_c = self._air_now[1]
        return now_c if frozen_c is None else min(frozen_c, now_c)

    def room(self, n: int, room: int, rig: Rig) -> int:
        """Ticks from ``n`` in which nothing has to be looked up, at the most ``room``."""
        if self._box_s > 0.0:
            room = min(room, box.STEP_TICKS - n % box.STEP_TICKS)
        if rig.store.ends:
            room = min(room, STORE_TICKS - n % STORE_TICKS)
        if self._panel:
            room = min(room, SUN_TICKS - n % SUN_TICKS)
        return room

    def fill(self, n: int, rig: Rig, end: State) -> None:
        """Let rain and spring since the last time into a source that can be emptied."""
        if rig.store.ends and n - self._filled_n >= STORE_TICKS:
            from_s, to_s = self._filled_n * TICK_S, n * TICK_S
            rig.store.fill(end.totals, self.rain_mm(from_s, to_s), to_s - from_s)
            self._filled_n = n

    def warm(self, n: int, rig: Rig, end: State, frozen_c: float | None) -> bool:
        """Once an hour the battery has followed the air that was half an hour ago; whether it
        has now."""
        if not self._box_s or n == 0 or n % box.STEP_TICKS or n == self._warmed_n:
            return False
        self._warmed_n = n
        air_c = self._air_c((n - box.STEP_TICKS // 2) * TICK_S)
        if frozen_c is not None:
            air_c = min(air_c, frozen_c)
        if self._timeline.battery_away(n):
            air_c = box.HOME_C
        step_s = box.STEP_TICKS * TICK_S
        rig.warm(box.after(rig.battery_c, air_c, step_s, self._box_s), end)
        return True

    def shine(self, n: int, ticks: int, rig: Rig, end: State) -> bool:
        """Let the panel give what the sun offers and the battery takes, for some ticks; whether
        that is other than it was."""
        if not self._panel:
            return False
        span_s = SUN_TICKS * TICK_S
        first_s = n // SUN_TICKS * span_s
        return rig.shine(end, self._sun_mj(first_s, first_s + span_s), span_s, ticks * TICK_S)
