"""The plant as the board meets it: counts at its inputs, a level at its relay pin.

Time runs in ticks of 100 ms. ``read(n)`` gives the counts of a tick, then ``drive(n, level)``
sets the pin for what follows. Between events the plant moves in steps of one tick when things
change fast and of up to five seconds when they do not; ticks inside a step are interpolated.
When the pin changes inside a step, the plant goes back to the step's start and integrates up
to the change. A resting plant is advanced in closed form over any length. Neither the
calls nor their order have any influence: counts are a function of the tick and of the pin.

The board takes its awake current while the pin is high and its sleeping current otherwise.
"""

from collections.abc import Callable, Sequence
from math import cos, pi

from rillsim import ledger
from rillsim.boardclock import BoardClock
from rillsim.chemistry import CHEMISTRY
from rillsim.circuit import AT_REST
from rillsim.conditions import HEALTHY_WIRING, Conditions
from rillsim.contact import PULL_IN_V, Contact
from rillsim.observer import Observer
from rillsim.rig import Rig
from rillsim.sensors import CHANNELS, PLACES, Sensors
from rillsim.site import Site
from rillsim.stepper import AS_PER_AH, TICK_S, State
from rillsim.timeline import DAY_S, Timeline
from rillsim.truth import Truth, truth_at

AirC = Callable[[float], float]
"""Air temperature [C] at seconds from the start of the replay."""

STEP_TICKS_MAX = 50
ERROR_MAX = 4e-3
"""Relative error of a step that is tried again with a shorter one."""
ERROR_CALM = 5e-4
"""Below this the next step is twice as long."""
SPLIT = 8
"""Parts of a tick that is too fast to be taken as one."""

REST_TICKS_MAX = 36000
COLDEST_S = 5 * 3600
AIR_TICKS = 600
"""The air's temperature is looked up once a minute."""

BROWN_OUT_V = 5.0
"""Below this the board's own regulator gives up; it starts again at ``POWER_UP_V``. Common
practice, no source."""
POWER_UP_V = 6.0
SWITCH_BACK = 0.75
"""A pump's own pressure switch closes again at this share of its opening pressure. Common
practice, no source."""


class Plant:
    """One site under one board, from tick 0 on; ticks are asked for in rising order."""

    def __init__(
        self,
        site: Site,
        seed: int = 0,
        *,
        start_s: int = 12 * 3600,
        start_day: int = 1,
        air_c: AirC | None = None,
        rain_s: Sequence[tuple[float, float]] = (),
        codes: str = "ideal",
    ) -> None:
        """A site whose lines are full and whose battery is full.

        ``start_s`` is the second of the day at tick 0 and ``start_day`` the board's day number;
        ``rain_s`` are spells of rain in seconds from tick 0; ``codes`` is the converter,
        "ideal" or "rp2040".
        """
        self.site = site
        self.rig = Rig(site)
        self.timeline = Timeline(site, start_s, rain_s)
        self.sensors = Sensors(site.board, seed, codes)
        self.contact = Contact(seed)
        self.clock = BoardClock(site.board.clock_backed, start_day, start_s, seed)
        self.counts = [0] * 6
        """Battery, pressure, load sense, contacts, frost and current of the last tick read."""
        self.board_powered = True
        self.button = False
        """The gardener's finger on the button."""
        self.inrush_peak_a = 0.0
        self._air_c = air_c or _steady_air(site, start_s)
        self._air_now = (-1, 0.0)
        self._conditions = Conditions()
        self._wet = False
        self._pin = 0
        self._switch_open = False
        self._step_ticks = 1
        self._extra_as = 0.0
        self._closed_n = 0
        self._observer = Observer(
            self.timeline.courses, self.rig, self.sensors, self.contact, self.clock
        )
        battery = self.rig.sound_battery.save()
        start = State(
            0, self.rig.line.static_pa, 0.0, self.rig.suction.volume_m3, battery, ledger.empty()
        )
        self.full_ah = self.rig.sound_battery.charge_ah
        self.rig.circuit.board_a = site.board.asleep_a
        self.rig.apply(self._conditions, 0, False)
        self._start = self._end = self.rig.stepper.look(start, AT_REST)
        self._idle = False
        self._event_n = -1
        if self.timeline.is_event(0):
            self._happen(0)
        self._event_n = self.timeline.next_n(0)

    # What the board does.

    def read(self, n: int) -> list[int]:
        """Fill ``counts`` with what the board reads at tick ``n``, and return them."""
        if n > self._end.n:
            self._advance(n)
        start, end = self._start, self._end
        counts = self.counts
        if self._idle:
            pressure, volts = self._at_rest(n)
            current = 0.0
        elif n >= end.n:
            pressure, volts = end.pressure_pa, end.board_v
            current = end.point.current_a
        else:
            share = (n - start.n) / (end.n - start.n)
            pressure = start.pressure_pa + share * (end.pressure_pa - start.pressure_pa)
            volts = start.board_v + share * (end.board_v - start.board_v)
            current = start.point.current_a
            current += share * (end.point.current_a - current)
        self.sensors.fill(counts, n, volts, pressure, self._air_at(n), current)
        board = self.site.board
        closed = self.contact.closed and volts > 1.0
        counts[2] = 1 if closed and board.load_sense_fitted else 0
        wet = 1 if self._wet and board.rain_fitted else 0
        counts[3] = wet + 2 if self.button and board.button_fitted else wet
        return counts

    def drive(self, n: int, level: int) -> None:
        """Set the relay pin at tick ``n``, after the tick was read."""
        if level == self._pin or not self.board_powered:
            return
        self._go_to(n)
        self._pin = level
        self._follow_pin(n)

    def next_event_tick(self) -> int:
        """First tick that may differ by more than a slow drift from the one before it.

        The next tick while the plant moves; the next planned event while it rests.
        """
        if not self._idle:
            return int(self._end.n) + 1
        return self._event_n + 1

    @property
    def idle(self) -> bool:
        """True while the plant rests and is advanced in closed form."""
        return self._idle

    @property
    def felt(self) -> list[tuple[str, int | None]]:
        """Each fault of the site with the tick at which the plant showed it, or None."""
        return self._observer.felt

    def clock_reading(self, n: int) -> tuple[int, int, bool]:
        """(day, second of the day, known) by the board's clock."""
        return self.clock.reading(n)

    def truth(self, n: int) -> Truth:
        """What really is at tick ``n``, for reports; call it after ``read(n)``."""
        if n > self._end.n:
            self._advance(n)
        return truth_at(self.rig, self._start, self._end, n, self._idle)

    # How it moves.

    def _advance(self, n: int) -> None:
        while self._end.n < n:
            self._segment()

    def _go_to(self, n: int) -> None:
        """Make tick ``n`` the end of the present segment."""
        if n > self._end.n:
            self._advance(n)
        if n < self._start.n:
            raise ValueError(f"tick {n} is past: the plant stands between {self._start.n} and on")
        if n == self._end.n:
            return
        if n == self._start.n:
            self._end = self._start
        elif self._idle:
            self._end = self.rig.stepper.rest(self._start, n - self._start.n)
        else:
            self._end = self._split_step(self._start, n - self._start.n)
        self._extra_as = 0.0

    def _segment(self) -> None:
        """Take the next step or rest, up to the next event at most."""
        n = int(self._end.n)
        if n == self._event_n:
            self._happen(n)
            self._event_n = self.timeline.next_n(n)
        elif self._drifting(n):
            self._apply(n)
        self._electric_events(n)
        start = self._start = self._end
        if self._observer.pending:
            self._observer.look(n, start, self._pin, self._closed_n, self._air_at(n), self._wet)
        room = self._event_n - n
        stepper = self.rig.stepper
        self._idle = stepper.calm(start) and not self.contact.restless
        if self._idle:
            ticks = min(room, REST_TICKS_MAX - n % REST_TICKS_MAX)
            self._end = stepper.rest(start, ticks)
            self._step_ticks = 1
            return
        self._end = self._moving(start, min(self._step_ticks, room))

    def _moving(self, start: State, ticks: int) -> State:
        """One step of the moving plant, as long as its error allows."""
        stepper = self.rig.stepper
        if self._restless():
            ticks = 1
        while True:
            extra_a = self._extra_as / (ticks * TICK_S)
            end, error = stepper.step(start, ticks, extra_a)
            if error <= ERROR_MAX or ticks == 1:
                break
            ticks = max(ticks // 4, 1)
        if error > ERROR_MAX:
            end = self._split_step(start, 1)
        self._extra_as = 0.0
        self._step_ticks = ticks
        if error < ERROR_CALM:
            self._step_ticks = min(2 * ticks, STEP_TICKS_MAX)
        return end

    def _split_step(self, start: State, ticks: float) -> State:
        """The same length in parts where the error of one step is too large."""
        stepper = self.rig.stepper
        end, error = stepper.step(start, ticks, self._extra_as / (ticks * TICK_S))
        if error <= ERROR_MAX:
            return end
        part = ticks / SPLIT
        extra_a = self._extra_as / (ticks * TICK_S)
        state = start
        for _ in range(SPLIT):
            state, _ = stepper.step(state, part, extra_a)
        state.n = start.n + ticks
        return state

    def _restless(self) -> bool:
        """True where a step must not be longer than one tick."""
        suction = self.rig.suction
        return (
            self.contact.restless
            or suction.source_gone
            or self.rig.circuit.dry
            or self._end.board_v < PULL_IN_V
            or (self.site.pump.pressure_switch and self._near_switch())
        )

    def _near_switch(self) -> bool:
        return self._switch_open or self._end.pressure_pa > 0.9 * self.site.pump.shutoff_pa

    # What happens to it.

    def _electric_events(self, n: int) -> None:
        """Brown-out, coil and pressure switch, each judged by the state just reached."""
        end = self._end
        if self.board_powered != (end.board_v >= BROWN_OUT_V) and (
            self.board_powered or end.board_v >= POWER_UP_V
        ):
            self._set_power(end.board_v >= BROWN_OUT_V)
            self._follow_pin(n)
        elif self.contact.restless or (self._pin and end.board_v < PULL_IN_V):
            self._follow_pin(n)
        pump = self.site.pump
        if pump.pressure_switch:
            limit = pump.shutoff_pa * (SWITCH_BACK if self._switch_open else 1.0)
            if self._switch_open != (end.pressure_pa >= limit):
                self._switch_open = end.pressure_pa >= limit
                self._follow_pin(n)

    def _set_power(self, powered: bool) -> None:
        self.board_powered = powered
        if not powered:
            self._pin = 0
            self.clock.power_lost()

    def _follow_pin(self, n: int) -> None:
        """Let relay and pump follow pin, supply and pressure switch; look again."""
        board = self.site.board
        circuit = self.rig.circuit
        self.contact.pin = self._pin
        circuit.board_a = 0.0
        if self.board_powered:
            circuit.board_a = board.awake_a if self._pin else board.asleep_a
        self.contact.settle(n, self._end.board_v)
        was_closed = circuit.closed
        circuit.closed = self.contact.closed and not self._switch_open
        self._refresh()
        if circuit.closed and not was_closed:
            self._closed_n = n
            self._extra_as = circuit.inrush_as(self._end.point.speed_rad_s)
            self.inrush_peak_a = max(self.inrush_peak_a, circuit.inrush_a(self._end.emf_v))
        self._idle = False

    def _refresh(self) -> None:
        """Look at the present state again under changed conditions, without changing the past."""
        end = self._end
        fresh = State(
            end.n, end.pressure_pa, end.flow_m3_s, end.filled_m3, end.battery, end.totals.copy()
        )
        self.rig.stepper.settle_shut(fresh)
        self._end = self.rig.stepper.look(fresh, end.point)
        self._step_ticks = 1

    def _drifting(self, n: int) -> bool:
        """True where a growing fault or a sinking source has moved on."""
        if self.timeline.growing(n):
            return True
        if not self.site.water.fall_m_per_day:
            return False
        return self.rig.fall_m(n) != self.rig.fall_m(int(self._start.n))

    def _happen(self, n: int) -> None:
        """Planned events of tick ``n``: conditions, battery trips and what comes with them."""
        before = self._conditions
        away_before = not self.rig.stepper.connected
        held = list(self.read(n)) if self._end.n >= n else list(self.counts)
        now = self._conditions = self._conditions_at(n)
        self._apply(n)
        self._swap_battery(n, before, now, away_before)
        self._set_board(n, before, now, held)
        self._step_ticks = 1
        self._observer.begin(n)
        self._follow_pin(n)

    def _apply(self, n: int) -> None:
        self._conditions = self._conditions_at(n)
        self.rig.apply(self._conditions, n, self.timeline.battery_away(n))
        step = self._step_ticks
        self._refresh()
        self._step_ticks = step

    def _conditions_at(self, n: int) -> Conditions:
        conditions = Conditions()
        for course in self.timeline.courses:
            severity = course.severity_at(n)
            if severity > 0.0:
                course.fault.act(conditions, severity)
        return conditions

    def _swap_battery(
        self, n: int, before: Conditions, now: Conditions, away_before: bool
    ) -> None:
        """A battery that comes back is full; one that somebody drew on has less."""
        battery = self.rig.stepper.battery
        battery.restore(self._end.battery)
        charge_ah = battery.charge_ah
        trip_ended = any(trip.end_n == n for trip in self.timeline.trips)
        taken, near, polarisation, lost = self._end.battery
        if trip_ended and away_before:
            totals = self._end.totals
            self._observer.full_as = totals[ledger.PUMP_AS] + totals[ledger.BOARD_AS]
            taken = near = polarisation = 0.0
        missing = now.charge_missing - before.charge_missing
        if missing > 0.0:
            gone = min(missing * self.site.battery.capacity_ah, battery.soc * self.full_ah)
            near += gone * CHEMISTRY[battery.spec.chemistry].share
            taken += gone
        self._end.battery = (taken, near, polarisation, lost)
        battery.restore(self._end.battery)
        self._end.totals[ledger.BATTERY_SWAP] += (battery.charge_ah - charge_ah) * AS_PER_AH

    def _set_board(self, n: int, before: Conditions, now: Conditions, held: list[int]) -> None:
        """Channels, clock, relay and rain contact."""
        for channel in range(CHANNELS):
            state = now.wiring.get(channel, HEALTHY_WIRING)
            if state != before.wiring.get(channel, HEALTHY_WIRING):
                self.sensors.set_wiring(channel, *state, held=held[PLACES[channel]])
        self.sensors.set_swapped(now.channels_swapped)
        self.contact.mode = now.contact_mode
        self.contact.severity = now.chatter
        self._wet = now.raining or self.timeline.raining(n)
        if now.clock_lost and not before.clock_lost:
            self.clock.lose()
        if now.clock_back_s > before.clock_back_s:
            self.clock.set_back(n, now.clock_back_s - before.clock_back_s)
        if now.clock_stopped != before.clock_stopped:
            if now.clock_stopped:
                self.clock.stop(n)
            else:
                self.clock.start(n)

    # What is read at rest.

    def _at_rest(self, n: int) -> tuple[float, float]:
        """Outlet pressure and board voltage of a resting plant."""
        if n == self._start.n:
            return self._start.pressure_pa, self._start.board_v
        state = self.rig.stepper.rest(self._start, n - self._start.n)
        return state.pressure_pa, state.board_v

    def _air_at(self, n: int) -> float:
        minute = n // AIR_TICKS
        if minute != self._air_now[0]:
            self._air_now = (minute, self._air_c(minute * AIR_TICKS * TICK_S))
        frozen = self._conditions.air_c
        return self._air_now[1] if frozen is None else min(frozen, self._air_now[1])


def _steady_air(site: Site, start_s: int) -> AirC:
    """Days all alike: coldest at five in the morning, warmest at five in the afternoon."""
    weather = site.weather
    middle = 0.5 * (weather.t_max_c + weather.t_min_c)
    swing = 0.5 * (weather.t_max_c - weather.t_min_c)

    def air_c(second: float) -> float:
        return middle - swing * cos(2.0 * pi * (second + start_s - COLDEST_S) / DAY_S)

    return air_c
