"""A board that passes steady seconds of a run, and quiet hours, in one go.

It is the board of a replay (board.py) with a door more: where every quantity that a rule of *run*
judges stays far from its limit, ``stride`` takes the control package's counters to where its own
steps would have taken them, and the next steps are its own again: learning, the record of a
minute, the end of a run, and whatever trips. A run that is not calm is stepped tick by tick.

The control package itself has no part in this, and a board has no such door.
``tests/sim/test_stride.py`` holds each counter to that of the steps.
"""

from binascii import crc_hqx
from collections.abc import Callable
from types import FunctionType

from keeper import lines, plan
from keeper.check import RESTED_MS
from keeper.checked import OFF, SETS
from keeper.cycle import DONE, FLAT, IDLE, LOCKOUT, RUN, SOAK
from keeper.facts import GAP_MS_MAX
from keeper.line import SMOOTH_TICKS
from keeper.quantities import BATTERY_MV, CURRENT_MA, HEAT_S, PRESSURE_PA
from keeper.rules import ABOVE
from keeper.tally import MINUTE_S
from keeper.ticks import MASK
from rillsim.boards.board import TICK_MS, Board
from rillsim.boards.calm import CONSTANT, FAR_MV, Readings, Units, is_far, tightest, units_of
from rillsim.boards.stridemeter import Pulses, StrideMeter

STEADY_S = 5
"""Seconds of a run before the first stride: the supply's resistance is learned by then, and the
quickest losses of the battery are over."""
LEARN_S = (30, 60)
"""Of these seconds of a night's first run the pressure is learned (keeper/operating.py)."""
MOST_S = 600
"""As long as the plant goes before plot and garden are looked at (rillsim/glide.py)."""
LEAST_TICKS = 20
"""A shorter stride is not worth its checks."""
END_S = 1
END_SHARE = 0.01
"""So long before a run is given it is stepped again; for one by volume, by a flow that ripples,
so great a share of the rest beside."""

LONG_NAP_MS = 600000
"""What a motor cools in one look (keeper/relaywatch.py), and a watched battery is seen in."""
LONGEST_NAP_MS = 3600000
SHORTER_NAP_MS = 1800000
EVEN_MV = 15
"""The longest nap is for a battery that has changed by no more since the look before."""
LOOK_MS = 60000
SETTLED_MS = 900000
CALM_MS = 3600000
"""So long after a stop a battery comes up by less in a long nap than the board would take for
another one; from the first of the two on in a short one."""
SETTLING_NAP_MS = 300000
EASED_MS = 540000
"""From a minute after a stop to here, a minute before the board begins to hold the battery's
voltage against that of the look before (keeper/waiting.py), it comes up as it likes."""
DECAYS_MS = (2000, 5000, 15000)
"""Between these records of a stop nothing is written, and a board looks ten times a second."""
DECAY_NAP_MS = 1000
MEDIAN_MS = 300
"""So long before such a record it looks as often as it does: three readings make one."""

CHATTER_MS = 10000
"""The board counts changes of the load side in so long (keeper/relaywatch.py)."""
FELT_MS = 10000
"""A battery that has felt the pump for so long is read (the same)."""
MS_PER_H = 3600000
SINKS_MV = 30
"""A plant's step holds the battery's voltage: it may change by so little in one."""

QUIET = (IDLE, SOAK, DONE, FLAT, LOCKOUT)


Clock = Callable[[int], tuple[int, int, bool]]


def sealed(text: str) -> str:
    """What keeper.crc makes of a line, by the standard library: a season writes thousands.

    >>> sealed("ok")
    'ok ~DBD6'
    """
    return f"{text} ~{crc_hqx(text.encode(), 0xFFFF):04X}"


_format_line = FunctionType(lines.format_line.__code__, {**vars(lines), "sealed": sealed})
"""The control package's words, with that mark."""


class StridingBoard(Board):
    """A board whose steady minutes may be passed."""

    _seen_mv = 0
    """What the battery read at the look before."""
    _far_at: tuple[int, Readings] | None = None
    """The step after which, and the readings at which all was seen to be far from its limit."""
    learns_itself = False
    """Whether it steps until a night's pressure is learned: the mean of so few seconds has the
    noise of the readings, by which a slow fault is felt sooner or later."""

    def stride_ticks(self) -> int:
        """How many ticks from now on nothing of the board's own is due; 0: it is not steady."""
        keeper = self.keeper
        watering = keeper.watering if keeper.state == RUN else None
        if watering is None or watering._seconds < STEADY_S or not self._at_ease():
            return 0
        operating = keeper.operating
        room_s = MOST_S
        if not keeper.facts.tonight_pa:
            if self.learns_itself:
                return 0
            learned_s = LEARN_S[0] if operating._seconds < LEARN_S[0] else LEARN_S[1]
            room_s = min(room_s, learned_s - operating._seconds)
        room_s = min(room_s, self._to_go_s() - END_S)
        return int(room_s * 1000 - watering._second_ms) // TICK_MS

    def stride(
        self,
        ticks: int,
        clock: Clock,
        start: Readings,
        end: Readings,
        pulses: Pulses = lambda _: 0,
    ) -> bool:
        """Pass so many ticks, from one reading to another in a straight line.

        ``clock`` is what the clock reads after some of these ticks, ``pulses`` how many a flow
        meter has given by then. False, and nothing is changed, where something comes near a limit.
        """
        keeper = self.keeper
        first, last = units_of(keeper, start), units_of(keeper, end)
        if abs(last.mv - first.mv) > SINKS_MV:
            return False
        if (self.steps, start) != self._far_at and not is_far(keeper, first, 0, start):
            return False
        if not is_far(keeper, last, ticks * TICK_MS, end):
            return False
        meter = None
        if keeper.settings.flow_fitted:
            meter = StrideMeter(keeper, self.pulses, pulses)
            if not meter.is_far(ticks) or not self._leaves_some(meter.given_ml(ticks)):
                return False
        self._pass(ticks, clock, first, last, meter)
        self._feel(end, last.pa)
        self._far_at = self.steps, end
        if keeper.journal.waiting:
            self._write()
        return True

    def long_nap_ms(self) -> int:
        """How long nothing can happen but what the plant tells of; 0: as the board itself says,
        as always but just after a look."""
        keeper = self.keeper
        if keeper.quiet_ms:
            return 0
        facts, off_ms = keeper.facts, keeper.facts.off_ms
        before_mv, self._seen_mv = self._seen_mv, keeper.q[BATTERY_MV]
        watched = keeper.standstill.works or keeper.guard._any_held or keeper.relay.alone
        waking = keeper.contacts or facts.wet_ms or facts.clock_bad or not keeper.clock.known
        if watched or waking or keeper.state not in QUIET or facts.held_off_ms:
            return 0
        if DECAYS_MS[0] < off_ms < DECAYS_MS[-1]:
            next_ms = next(after_ms for after_ms in DECAYS_MS if after_ms > off_ms)
            return int(max(min(DECAY_NAP_MS, next_ms - off_ms - MEDIAN_MS), 0))
        eases = LOOK_MS <= off_ms < EASED_MS
        if keeper.nap_ms <= 0 or self._may_be_charging() or not (eases or off_ms >= SETTLED_MS):
            return 0
        if eases:
            nap_ms = min(SETTLING_NAP_MS, EASED_MS - off_ms)
        elif off_ms < CALM_MS:
            nap_ms = SETTLING_NAP_MS
        elif facts.heat_ms:
            nap_ms = LONG_NAP_MS
        else:
            even = abs(keeper.q[BATTERY_MV] - before_mv) <= EVEN_MV
            nap_ms = LONGEST_NAP_MS if even else SHORTER_NAP_MS
        if off_ms < RESTED_MS:
            nap_ms = min(nap_ms, -(-(RESTED_MS - off_ms) // LOOK_MS) * LOOK_MS)
        if keeper.waiting.pause_ms:
            nap_ms = min(nap_ms, keeper.waiting.pause_ms)
        return int(min(nap_ms, self._to_start_s() * 1000))

    def _may_be_charging(self) -> bool:
        """Whether a panel or a charger may be at the battery."""
        keeper, settings = self.keeper, self.keeper.settings
        if settings.panel_fitted and not keeper.waiting.dark():
            return True
        near_mv = settings.charging_mv - FAR_MV
        return bool(settings.battery_fitted and keeper.q[BATTERY_MV] > near_mv)

    def nap(self, ms: int) -> None:
        """Be left alone for so long."""
        self.keeper.nap_ms = ms

    def _at_ease(self) -> bool:
        """Whether nobody asks for anything, and no rule is near its limit at the last tick."""
        keeper = self.keeper
        facts, guard, clock = keeper.facts, keeper.guard, keeper.clock
        if keeper.contacts or keeper.hand.busy() or facts.rain_closed or facts.wet_ms:
            return False
        if facts.clock_bad or clock.doubt or not clock.known:
            return False
        if keeper.relay.level != keeper.relay.closed or keeper.watering.supply.was_strained:
            return False
        for rule in guard.watched[RUN]:
            said = guard.said[rule] and guard.quantity(rule) in CONSTANT
            if guard.held_ms[rule] >= 0 and not said:
                return False
        ceilings = tightest(guard, ABOVE)
        return not any(keeper.q[quantity] for quantity, limit in ceilings.items() if not limit)

    def _to_go_s(self) -> int:
        """Seconds until the run is given, the day of the clock's reckoning ends, or noon comes."""
        keeper = self.keeper
        rest = self._rest()
        if keeper.plan.by_volume:
            rest = int(rest * 60 // self._flow_ml_min() * (1.0 - END_SHARE))
        night_s = plan.DAY_S - plan.since_noon_s(keeper.clock.second)
        return int(min(rest, plan.DAY_S - keeper.clock._ticks_s, night_s))

    def _rest(self) -> int:
        """What is left of the run: seconds, or millilitres of a set by volume."""
        sets = self.keeper.plan
        runs = sets.runs[sets.current]
        target = sets.target if sets.run >= runs else sets.target // runs * sets.run
        return int(min(target, sets.target) - sets.given())

    def _flow_ml_min(self) -> int:
        """What is given by now, as the board counts it: by its meter, or by the pressure."""
        keeper = self.keeper
        if keeper.settings.flow_fitted:
            return max(keeper.plan.run_ml * 60 // keeper.watering._seconds, 1)
        return max(keeper.operating.flow_ml_min(keeper.q[PRESSURE_PA]), 1)

    def _leaves_some(self, ml: float) -> bool:
        """Whether a run by volume is not over with so much."""
        return not self.keeper.plan.by_volume or ml < self._rest() * (1.0 - END_SHARE)

    def _to_start_s(self) -> int:
        """Seconds until a set starts, until the window of one that waits is over, or noon."""
        keeper = self.keeper
        sets = keeper.plan
        since_s = plan.since_noon_s(keeper.clock.second)
        wait_s = sets.next_start_s(since_s)
        for number in range(1, SETS + 1):
            over_s = sets.starts_s[number] + sets.windows_s[number] + 1 - since_s
            waits = sets.done_night[number] != keeper.facts.night
            if sets.units[number] != OFF and waits and 0 < over_s < wait_s:
                wait_s = over_s
        return int(wait_s)

    def _pass(
        self, ticks: int, clock: Clock, first: Units, last: Units, meter: StrideMeter | None
    ) -> None:
        """Take every counter of a run on by so much time."""
        keeper = self.keeper
        facts, watering = keeper.facts, keeper.watering
        ms = ticks * TICK_MS
        keeper._last_ms = (keeper._last_ms + ms) & MASK
        keeper.in_state_ms += ms
        keeper.relay.on_ms += ms
        heat_ms = min(facts.heat_ms + ms, GAP_MS_MAX)
        watch = keeper.relaywatch
        if keeper.settings.battery_fitted:
            watch._felt_ms = min(watch._felt_ms + ms, FELT_MS)
        if watch.sensed or watch.inferred:
            if watch._chatter_ms + ms >= CHATTER_MS:
                watch.chatter = 0
            watch._chatter_ms = (watch._chatter_ms + ms) % CHATTER_MS
        for rule, held_ms in enumerate(keeper.guard.held_ms):
            if held_ms >= 0:
                keeper.guard.held_ms[rule] = min(held_ms + ms, GAP_MS_MAX)
        begun_ms = watering._second_ms
        seconds = (begun_ms + ms) // 1000
        passed = 0
        while passed < seconds:
            piece = min(seconds - passed, MINUTE_S - watering.tally.seconds)
            ends_ms = (passed + piece) * 1000 - begun_ms
            keeper.journal.day, keeper.journal.second, _ = clock(ends_ms // TICK_MS)
            from_share, to_share = passed / seconds, (passed + piece) / seconds
            facts.heat_ms = heat_ms - ms + ends_ms
            from_units, to_units = (
                _between(first, last, share) for share in (from_share, to_share)
            )
            flow_ml_min = keeper.operating.flow_ml_min(_between(from_units, to_units, 0.5).pa)
            if meter:
                flow_ml_min = meter.flow_ml_min(ends_ms // TICK_MS, piece * 1000)
            self._pass_seconds(piece, from_units, to_units, flow_ml_min)
            passed += piece
        if meter:
            self.pulses = meter.end(ticks)
        watering._second_ms = begun_ms + ms - seconds * 1000
        facts.heat_ms = heat_ms

    def _pass_seconds(self, seconds: int, first: Units, last: Units, flow_ml_min: int) -> None:
        """What the board does once a second of a run, for the seconds up to a minute's record."""
        keeper = self.keeper
        facts, watering, operating = keeper.facts, keeper.watering, keeper.operating
        ms = seconds * 1000
        mean = _between(first, last, 0.5)
        keeper.judge_clock(ms)
        watering.pump_ma = keeper.q[CURRENT_MA] = last.ma
        self._count(mean.ma, ms)
        watering._lift_mv = keeper.charge.lift_mv(last.ma)
        keeper.q[HEAT_S] = facts.heat_ms // 1000
        keeper.rain.feel(ms, 0, keeper.journal)
        watering._seconds += seconds
        watering._ml_min_ms += flow_ml_min * ms
        ml = watering._ml_min_ms // 60000
        watering._ml_min_ms -= ml * 60000
        facts.night_ml += ml
        keeper.plan.deliver(seconds, ml)
        tonight_pa = facts.tonight_pa or facts.base_pa or keeper.settings.normal_pa
        operating.expected_pa = tonight_pa + operating._shift_pa(last.mv)
        if not facts.tonight_pa and operating._seconds >= LEARN_S[0]:
            operating._sum_pa += seconds * (mean.pa - operating._shift_pa(mean.mv))
        operating._seconds += seconds
        self._follow_source(seconds, first, last)
        tally = watering.tally
        tally.seconds += seconds
        tally.pressure_sum_pa += seconds * mean.pa
        tally.battery_sum_mv += seconds * mean.mv
        tally.current_sum_ma += seconds * mean.ma
        tally.flow_sum_ml_min += seconds * flow_ml_min
        if tally.seconds >= MINUTE_S:
            watering._say_minute()

    def _count(self, pump_ma: int, ms: int) -> None:
        """What Charge.count does with each milliampere-hour by itself."""
        facts, charge = self.keeper.facts, self.keeper.charge
        mah, facts.part_ma_ms = divmod(facts.part_ma_ms + pump_ma * ms, MS_PER_H)
        facts.used_mah += mah
        facts.since_mah += mah
        facts.left_mah = max(facts.left_mah - mah, 0)
        charge.count_board(ms)

    def _follow_source(self, seconds: int, first: Units, last: Units) -> None:
        """The slow mean of what the battery gives, second by second as the supply does it."""
        keeper = self.keeper
        supply = keeper.watering.supply
        if not supply._learned or (supply._charged and supply._mohm < 0):
            return
        known_mohm = keeper.facts.resistance_mohm
        given_mv = first.mv + first.ma * known_mohm // 1000
        rise_mv = last.mv + last.ma * known_mohm // 1000 - given_mv
        kept = supply._source_sum
        for second in range(1, seconds + 1):
            kept += given_mv + rise_mv * second // seconds - kept // 16
        supply._source_sum = kept
        supply.source_mv = kept // 16

    def _write(self) -> None:
        journal = self.keeper.journal
        while journal.waiting:
            self.log.append(_format_line(journal.take()))
        self.dropped = journal.dropped

    def _feel(self, counts: Readings, pressure_pa: int) -> None:
        """The channels as they would have been read last."""
        keeper = self.keeper
        settings, senses = keeper.settings, keeper.senses
        keeper.watering.line._sum_pa = pressure_pa * SMOOTH_TICKS
        for fitted, channel, count in (
            (settings.battery_fitted, senses.battery, counts.battery),
            (settings.pressure_fitted, senses.pressure, counts.pressure),
            (settings.current_fitted, senses.current, counts.current),
        ):
            if fitted:
                channel.last = channel.last_but_one = int(count)


def _between(first: Units, last: Units, share: float) -> Units:
    """What is read at a share of the way."""
    mv, pa, ma = first
    return Units(
        int(mv + share * (last.mv - mv)),
        int(pa + share * (last.pa - pa)),
        int(ma + share * (last.ma - ma)),
    )
