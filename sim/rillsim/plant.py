"""The plant as the board meets it: counts at its inputs, a level at its relay pins.

Time runs in ticks of 100 ms. ``read(n)`` gives the counts of a tick, then ``drive(n, level)``
sets the pins for what follows. Between events the plant moves in steps of one tick when things
change fast and of up to ten seconds when they do not; ticks inside a step are interpolated.
When the pin changes inside a step, the plant goes back to the step's start and integrates up
to the change. A resting plant is advanced in closed form over any length. Neither the
calls nor their order have any influence: counts are a function of the tick and of the pin.

A second relay, where one is fitted, lies in series with the first, between it and the pump; the
load side is sensed behind both. A level has a bit for each (``keeper.relay``).

The board takes its awake current while a pin is high and its sleeping current otherwise.
The pump's fuse sits at the battery's post. With it blown the pump is dead, and so is all that is
read behind it: battery and load side. A board that is fed past it, by a fuse of its own, stays
awake and any other is dark, until the person who brings the battery back puts a new one in. A
board's own feed is taken for no better than what it reads: the cable's loss is on the safe side.
"""

from collections.abc import Sequence

from keeper.relay import BOTH, FIRST, SECOND
from rillsim import ledger
from rillsim.boards.boardclock import BoardClock
from rillsim.boards.contact import PULL_IN_V, Contact
from rillsim.boards.feed import BROWN_OUT_V, POWER_UP_V
from rillsim.boards.sensors import Sensors
from rillsim.faults import happenings
from rillsim.faults.conditions import Conditions
from rillsim.noise import SECOND_CONTACT
from rillsim.observer import Observer
from rillsim.rig import Rig
from rillsim.site import Site
from rillsim.stepper import TICK_S, State
from rillsim.supply.panel import SunMj
from rillsim.surroundings import Surroundings
from rillsim.timeline import NEVER, Timeline
from rillsim.track import NO_SPAN, Span, Track
from rillsim.truth import Truth, truth_at
from rillsim.water.air import AirC
from rillsim.water.hammer import Wave
from rillsim.water.store import RainMm, dry_sky

HOT_TICKS = 600
"""Whether a hot motor has cooled is looked at once a minute."""
SENSE_V = 1.0
"""The load side of the relay reads as live above this."""
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
        sun_mj: SunMj | None = None,
        rain_s: Sequence[tuple[float, float]] = (),
        rain_mm: RainMm = dry_sky,
        codes: str = "ideal",
        observed: bool = True,
    ) -> None:
        """A site whose lines are full and whose battery is full.

        ``start_s`` is the second of the day at tick 0 and ``start_day`` the board's day number;
        ``rain_s`` are spells of rain in seconds from tick 0, ``rain_mm`` how much falls between
        two seconds; ``codes`` is the converter, "ideal" or "rp2040"; ``observed`` is whether its
        faults' signs are watched for.
        """
        self.site = site
        self.rig = Rig(site)
        self.timeline = Timeline(site, start_s, rain_s)
        self._around = Surroundings(site, self.timeline, start_s, air_c, sun_mj, rain_mm)
        self.sensors = Sensors(site.board, seed, codes)
        self.contact = Contact(seed)
        self.whole = BOTH if site.board.second_relay_fitted else FIRST
        """The level that asks for the pump."""
        self.second = Contact(seed, SECOND_CONTACT) if site.board.second_relay_fitted else None
        self.clock = BoardClock(site.board.clock_backed, start_day, start_s, seed)
        self._meter = self.sensors.meter
        self.counts = [0] * (6 if self._meter is None else 7)
        """Battery, pressure, load sense, contacts, frost and current of the last tick read; and of
        a flow meter all pulses until then."""
        self.board_powered = True
        self.button = False
        """The gardener's finger on the button."""
        self.inrush_peak_a = 0.0
        self._conditions = Conditions()
        self._wet = False
        self._pin = 0
        self._switch_open = False
        self.motor_hot = False
        """Whether the motor's own thermal cut-out is open, by heat and not as a fault."""
        self._closed_n = 0
        watched = self.timeline.courses if observed else ()
        contacts = (self.contact, self.second)
        self._observer = Observer(watched, self.rig, self.sensors, contacts, self.clock)
        self._wave = Wave(site.line, self.rig.line.water, TICK_S)
        self.rig.circuit.board_a = site.board.asleep_a
        still = self.rig.full_and_still()
        self.rig.apply(self._conditions, still, False)
        self._track = Track(self.rig, self.rig.full_and_still())
        self._span = NO_SPAN
        self._event_n = 0 if self.timeline.is_event(0) else self.timeline.next_n(0)

    def read(self, n: int) -> list[int]:
        """Fill ``counts`` with what the board reads at tick ``n``, and return them."""
        first, length, pressure, slope_pa, volts, slope_v, current, slope_a = self._span
        after = n - first
        if not 0 <= after <= length:
            self._advance(n)
            self._span = self._span_at(n)
            first, length, pressure, slope_pa, volts, slope_v, current, slope_a = self._span
            after = n - first
        pressure += after * slope_pa
        if n <= self._wave.over_n:
            pressure += self._wave.at_pa(n)
        volts += after * slope_v
        current += after * slope_a
        if self.rig.fuse_blown or self.rig.switched_off:
            volts = 0.0
        counts = self.counts
        self.sensors.fill(counts, n, volts, pressure, self._air_at(n), current)
        board = self.site.board
        live = self.pump_wired and volts > SENSE_V and board.load_sense_fitted
        counts[2] = 1 if live else 0
        wet = 1 if self._wet and board.rain_fitted else 0
        counts[3] = wet + 2 if self.button and board.button_fitted else wet
        if self._meter is not None:
            counts[6] = self._meter.total(self._track.metered_m3(n))
        return counts

    def drive(self, n: int, level: int) -> None:
        """Set the relay pins at tick ``n``, after the tick was read.

        A board without supply cannot hold a pin: the call is then without effect.
        """
        if level != self._pin and self.board_powered:
            self._halt(n)
            self._pin = level
            self._follow_pin(n)

    def fit(self, n: int, site: Site) -> None:
        """Somebody fits another hose, nozzle or cable at tick ``n``, after the tick was read.

        The pump stands still. Battery, suction line and board stay; the hose is full again.
        """
        self._halt(n)
        self.site = site
        battery_c = self.rig.battery_c
        self.rig = rig = Rig(site)
        state = self._track.end.copy()
        state.pressure_pa, state.flow_m3_s = rig.line.static_pa, 0.0
        rig.warm(battery_c, state)
        self._track = Track(rig, state)
        self._observer.rig = rig
        self._wave = Wave(site.line, rig.line.water, TICK_S)
        self._apply(n)
        self._follow_pin(n)

    @property
    def pump_wired(self) -> bool:
        """Whether the pump is joined to its supply: every relay's contact is closed."""
        return self.contact.closed and (self.second is None or self.second.closed)

    def take_home(self, n: int) -> None:
        """Somebody takes the battery home after tick ``n``; it is charged and comes back."""
        self._halt(n)
        self.timeline.take_home(n)
        self._event_n = self.timeline.next_n(n)

    def next_event_tick(self) -> int:
        """First tick that may differ by more than a slow drift from the one before it.

        The next tick while the plant moves; the one after the next planned event while it
        rests.
        """
        return (self._event_n if self._track.idle else self._track.end.n) + 1

    @property
    def idle(self) -> bool:
        """True while the plant rests and is advanced in closed form."""
        return self._track.idle

    @property
    def felt(self) -> list[tuple[str, int | None]]:
        """Each fault of the site with the tick at which the plant showed it, or None."""
        return self._observer.felt

    @property
    def totals(self) -> dict[str, float]:
        """The ledger at the end of the present step, by the names of its bins."""
        return dict(zip(ledger.BINS, self._track.end.totals, strict=True))

    @property
    def present(self) -> State:
        """The state at the end of the present step; for tests and bookkeeping."""
        return self._track.end

    def truth(self, n: int) -> Truth:
        """What really is at tick ``n``, for reports; call it after ``read(n)``."""
        self._advance(n)
        track = self._track
        return truth_at(self.rig, track.start, track.end, n, track.idle, self.wave_pa(n))

    def wave_pa(self, n: int) -> float:
        """What a transducer reads at tick ``n`` beside the mean of the hose [Pa]."""
        return self._wave.at_pa(n) if n <= self._wave.over_n else 0.0

    def _advance(self, n: int) -> None:
        while self._track.end.n < n:
            self._segment()

    def _span_at(self, n: int) -> Span:
        """The ticks around ``n`` between which readings are straight lines."""
        return self._track.span_at(n)

    def _halt(self, n: int) -> None:
        """End the present step at tick ``n``: what comes now changes what follows."""
        self._advance(n)
        self._track.cut(n)
        self._span = NO_SPAN

    def _segment(self, glide_ticks: int = 0) -> None:
        """Take the next step or rest, up to the next event at most; or a long step."""
        self._span = NO_SPAN
        track = self._track
        n = track.end.n
        self._around.fill(n, self.rig, track.end)
        if n == self._event_n:
            self._happen(n)
            self._event_n = self.timeline.next_n(n)
        elif self.timeline.growing(n):
            self._change(n, None)
        elif self.rig.fall_m(track.end) != self.rig.fallen_m:
            self._apply(n)
        if self._observer.pending:
            air_c = self._air_at(n)
            told = self._pin == self.whole
            self._observer.look(n, track.end, told, self._closed_n, air_c, self._wet)
        self._judge_supply(n)
        around, rig = self._around, self.rig
        if around.warm(n, rig, track.end, self._conditions.air_c):
            track.look_again()
        room = around.room(n, min(self._event_n - n, glide_ticks or NEVER), rig)
        if self.motor_hot:
            room = min(room, HOT_TICKS)
        if around.shine(n, room, rig, track.end):
            track.look_again()
        track.extend(room, self._restless(), glide_ticks > 0)

    def _restless(self) -> bool:
        """True where a step must not be longer than one tick."""
        end = self._track.end
        if self._coil_in_doubt() or self._switch_open or end.n <= self._wave.over_n:
            return True
        if not self.board_powered and self._board_fed(POWER_UP_V):
            return True
        rig = self.rig
        if not rig.circuit.closed:
            return rig.suction.source_gone and end.point.flow_m3_s > 0.0
        if rig.fuse.overloaded(end.point.current_a):
            return True
        pump = self.site.pump
        near_switch = pump.pressure_switch and end.pressure_pa > 0.9 * pump.shutoff_pa
        return near_switch or rig.suction.source_gone or rig.circuit.dry

    def _coil_in_doubt(self) -> bool:
        """True where the relay may change without the pin."""
        first, second = self.contact, self.second
        weak = self._pin and self._track.end.board_v < PULL_IN_V
        if weak or first.restless or first.waiting:
            return True
        return second is not None and (second.restless or second.waiting)

    def _judge_supply(self, n: int) -> None:
        """Fuse, brown-out, coil, the motor's cut-out and its pressure switch, each by the state
        just reached."""
        if self.rig.fuse.melted(self._track.end.fuse) and not self.rig.fuse_blown:
            self.rig.fuse_blown = True
            self._apply(n)
            self._follow_pin(n)
        end = self._track.end
        lost = self.board_powered and not self._board_fed(BROWN_OUT_V)
        back = not self.board_powered and self._board_fed(POWER_UP_V)
        if lost:
            self._pin = 0
            self.clock.power_lost()
        if lost or back:
            self.board_powered = back
            self._follow_pin(n)
        elif self._coil_in_doubt():
            self._follow_pin(n)
        if self.rig.stepper.winding.per_w:
            hot = self.rig.stepper.winding.cuts_out(end.motor, self._air_at(n), self.motor_hot)
            if hot != self.motor_hot:
                self.motor_hot = hot
                self._follow_pin(n)
        pump = self.site.pump
        if pump.pressure_switch:
            limit = pump.shutoff_pa * (SWITCH_BACK if self._switch_open else 1.0)
            if self._switch_open != (end.pressure_pa >= limit):
                self._switch_open = not self._switch_open
                self._follow_pin(n)

    def _board_fed(self, least_v: float) -> bool:
        """Whether the board gets at least this voltage."""
        return self._track.end.board_v >= least_v

    def _pump_fed(self) -> bool:
        """Whether anything but the relays stands between the battery and a pump that turns."""
        unfed = self.rig.fuse_blown or self.rig.switched_off or self._conditions.motor_cut_out
        return not (unfed or self._switch_open or self.motor_hot)

    def _wired_pins(self) -> int:
        """The level that reaches the relays."""
        return self._pin

    def _follow_pin(self, n: int) -> None:
        """Let relay and pump follow pin, supply and pressure switch; look again."""
        board, circuit = self.site.board, self.rig.circuit
        pins = self._wired_pins()
        self.contact.pin = pins & FIRST
        circuit.board_a = 0.0
        if self.board_powered:
            circuit.board_a = board.awake_a if self._pin else board.asleep_a
        track = self._track
        self.contact.settle(n, track.end.board_v)
        if self.second is not None:
            self.second.pin = pins & SECOND
            self.second.settle(n, track.end.board_v)
        was_closed = circuit.closed
        circuit.closed = self.pump_wired and self._pump_fed()
        if was_closed and not circuit.closed and n <= self._wave.over_n:
            self._wave.stop(n, track.end.point.flow_m3_s)
        track.look_again()
        if circuit.closed and not was_closed:
            self._closed_n = n
            track.pace.extra_as = circuit.inrush_as(track.end.point.speed_rad_s)
            self.inrush_peak_a = max(self.inrush_peak_a, circuit.inrush_a(track.end.emf_v))
        track.disturb()

    def _apply(self, n: int) -> None:
        self._conditions = self._conditions_at(n)
        now, line, flow_m3_s = self._conditions, self.rig.line, self._track.end.flow_m3_s
        was_shut = line.shut
        self.rig.apply(now, self._track.end, self.timeline.battery_away(n))
        if line.shut and not was_shut and flow_m3_s > 0.0:
            self._wave.shut(n, flow_m3_s)
        elif not line.shut:
            self._wave.still()
        self.sensors.set_drift(now.battery_off_v, now.pressure_off_pa, now.current_off_a)
        self._track.look_again()

    def _conditions_at(self, n: int) -> Conditions:
        """What is wrong with the site at a tick."""
        return self.timeline.conditions_at(n)

    def _happen(self, n: int) -> None:
        """Planned events of tick ``n``: faults, the battery's trips, rain."""
        charged = None if self.rig.stepper.connected else self.timeline.battery_returns(n)
        if charged is not None:
            self.rig.new_fuse(self._track.end)
        charger_a = self.site.home.charger_a
        if charged is not None and charger_a > 0.0:
            end, battery = self._track.end, self.rig.stepper.battery
            away_s = self.timeline.away_s(n)
            charged = happenings.charge_at_home(end, battery, charger_a, away_s, charged)
            self._change(n, None)
        else:
            self._change(n, charged)
        if charged is not None:
            self._observer.battery_is_back(self._track.end, charged)
        self._wet = self._conditions.raining or self.timeline.raining(n)
        self._observer.begin(n)
        self._follow_pin(n)

    def _change(self, n: int, charged: float | None) -> None:
        """Turn site, battery and board to what is now wrong with them."""
        before = self._conditions
        held = list(self.read(n))
        self._apply(n)
        now = self._conditions
        missing = now.charge_missing - before.charge_missing
        if charged is not None or missing > 0.0:
            battery = self.rig.stepper.battery
            happenings.swap_battery(self._track.end, battery, charged, missing)
        happenings.set_channels(self.sensors, before, now, held)
        happenings.set_contacts(self.contact, self.second, now)
        happenings.set_clock(self.clock, n, before, now)

    def _air_at(self, n: int) -> float:
        return self._around.air_at(n, self._conditions.air_c)
