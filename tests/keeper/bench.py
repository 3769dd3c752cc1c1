"""A tiny site made of whole numbers: every reading is a knob, and time moves tick by tick.

Scales are chosen so that one count is a round step: 400 Pa, 5 mV, 0.1 degree C, 10 mA. A test
can therefore stand exactly on a limit, and one count past it.
"""

from collections.abc import Callable
from typing import Any

from keeper import Keeper, Settings, memory
from keeper.checked import MINUTES, OFF
from keeper.cycle import SET_DUE, STATES
from keeper.facts import Facts
from keeper.hand import BATTERY, CLEAR, RUN, STOP
from keeper.plan import NONE
from keeper.quantities import QUANTITIES
from keeper.records import COMPLETE, KIND, KINDS, TRIP, WARN
from keeper.records import FIRST as FIRST_NUMBER
from keeper.relay import BOTH, FIRST
from keeper.rules import NAME, RULES
from keeper.ticks import MASK

TICK_MS = 100
DAY_MS = 86400000
DAY0 = 20635  # 2026-07-01
NOON_S = 43200
PASCALS, MILLIVOLTS, MILLIAMPS = 400, 5, 10  # in one count
ZERO_COUNT = 410
FROST_ZERO = 621
RULE_NAMES = [row[NAME] for row in RULES]
SPARE_SET = 3
PULSES = 5
"""Of a flow meter, in a tick: at 5000 uL, 15 L/min."""
WORKING_PA, REST_MV, LOADED_MV, WORKING_MA = 200000, 12600, 12000, 12000

SITE: dict[str, int] = {
    **{name + "_fitted": 1 for name in ("battery", "pressure", "load_sense", "rain", "button")},
    "frost_fitted": 1,
    "current_fitted": 0,
    "pulse_ul": 5000,
    "battery_full_mv": 20480,
    "pressure_span_count": 2500,
    "pressure_span_kpa": 1000,
    "frost_mc_per_count": 100,
    "current_full_ma": 40960,
    "normal_pa": WORKING_PA,
    "normal_mv": LOADED_MV,
    "dry_pa": 24000,
    "primed_pa": 40000,
    "dead_head_pa": 280000,
    "rating_pa": 410000,
    "prime_ms": 90000,
    "cutout_mv": 11900,
    "reconnect_mv": 12500,
    "floor_mv": 8500,
    "stall_sag_mv": 3500,
    "resistance_mohm": 50,
    "resistance_warn_mohm": 120,
    "resistance_refuse_mohm": 250,
    # 12 A at the working pressure: over 50 mohm that is a lift of 600 mV.
    "current_zero_ma": 8000,
    "current_ma_per_bar": 2000,
    "capacity_mah": 45000,
    "charged_mv": 12550,
    "wet_area_m2": 120,
    "flow_ml_min": 14000,
    "hand_minutes": 4,
    "set1_unit": 1,
    "set1_amount": 30,
    "set1_start_s": 22 * 3600,
}


def part(made: Any, **changes: int) -> Any:
    """A part of a keeper by itself."""
    settings = Settings({**SITE, **changes}, trial=True)
    return made(settings, Facts(settings))


class Bench:
    """A keeper and the knobs of its site. A knob that is None follows the site's physics.

    ``without`` names rules that are taken out of the table, as if their rows were deleted.
    """

    def __init__(
        self, *, clock: str = "12:01:00", ticks_ms: int = 0, without: Any = (), **changes: int
    ) -> None:
        hours, minutes, seconds = (int(word) for word in clock.split(":"))
        self.at_ms = (hours * 3600 + minutes * 60 + seconds) * 1000
        self.ticks_from_ms = ticks_ms - self.at_ms
        self.without = without
        # As on trial: a limit is brought down to what is harmless, to see it trip.
        self.settings = Settings({**SITE, **changes}, trial=True)
        self.level = 0
        self.whole = BOTH if self.settings.second_relay_fitted else FIRST
        self.stuck = 0
        """Bits of the relays that stay closed."""
        self.log: list[list[int]] = []
        self.steps = 0
        self.rain = self.button = 0
        self.clock_ok = 1
        self.clock_off_ms = 0
        self.calm()
        self.keeper = self._board()
        self.tick()

    def calm(self) -> None:
        """Let go of every knob: the site is as it should be."""
        self.water_pa = WORKING_PA
        self.rest_mv, self.loaded_mv = REST_MV, LOADED_MV
        self.pump_ma = WORKING_MA
        self.pulses = PULSES
        self.frost_dc = 150
        self.pressure_pa: int | None = None
        self.battery_mv: int | None = None
        self.load_on: int | None = None
        self.raw: dict[str, int] = {}

    def _board(self) -> Keeper:
        keeper = Keeper(self.settings)
        guard = keeper.guard
        gone = {RULE_NAMES.index(name) for name in self.without}
        guard.watched = [tuple(r for r in rules if r not in gone) for rules in guard.watched]
        return keeper

    def reboot(self, away_ms: int = 5000) -> None:
        """The power fails and comes back; the board remembers what memory.py keeps."""
        row = memory.save(self.keeper)
        self.keeper = self._board()
        memory.load(self.keeper, row)
        self.level = 0
        self.at_ms += away_ms
        self.tick()

    def apply(self, trial: bool = False, **changes: int) -> None:
        """Other settings from now on, gone on with as device/board.py does."""
        before = self.keeper
        self.settings = Settings({**self.settings.values(), **changes}, trial=True)
        self.keeper = self._board()
        memory.load(self.keeper, memory.save(before))
        self.keeper.take_over(before, trial)
        self.tick()

    # Time.

    def tick(self, dt_ms: int = TICK_MS) -> int:
        self.at_ms += dt_ms
        counts = self.counts()
        clock_ms = self.at_ms + self.clock_off_ms
        self.keeper.pulses = self.pulses if self.pump_on else 0
        self.level = self.keeper.step(
            (self.ticks_from_ms + self.at_ms) & MASK,
            DAY0 + clock_ms // DAY_MS,
            clock_ms % DAY_MS // 1000,
            self.clock_ok,
            counts["battery"],
            counts["pressure"],
            int(self.pump_on) if self.load_on is None else self.load_on,
            self.contacts,
            counts["frost"],
            counts["current"],
        )
        self.steps += 1
        while self.keeper.journal.waiting:
            self.log.append(list(self.keeper.journal.take()))
        return self.level

    @property
    def pump_on(self) -> bool:
        """Whether every relay in the pump's wire is closed."""
        return self.level | self.stuck & self.whole == self.whole

    def counts(self) -> dict[str, int]:
        on = self.pump_on
        water = self.water_pa if on else 0
        pressure = water if self.pressure_pa is None else self.pressure_pa
        mv = (self.loaded_mv if on else self.rest_mv) if self.battery_mv is None else None
        battery = self.battery_mv if mv is None else mv
        # A blip of one tick in ten seconds: a live channel, which the median does not show.
        blip = 1 if self.at_ms // TICK_MS % 100 == 0 else 0
        return {
            "battery": battery // MILLIVOLTS + blip,
            "pressure": ZERO_COUNT + pressure // PASCALS + blip,
            "frost": FROST_ZERO + self.frost_dc,
            "current": self.pump_ma // MILLIAMPS if on else 0,
            **self.raw,
        }

    def ticks(self, ms: int) -> None:
        for _ in range(ms // TICK_MS):
            self.tick()

    def sleep(self, seconds: int) -> None:
        """Let time pass, honouring the naps as a device may."""
        end_ms = self.at_ms + seconds * 1000
        while self.at_ms < end_ms:
            self.tick(min(self._nap_ms(), end_ms - self.at_ms))

    def sleep_until(self, clock: str) -> None:
        """To this time of the day, today or tomorrow."""
        hours, minutes, seconds = (int(word) for word in clock.split(":"))
        wanted_ms = (hours * 3600 + minutes * 60 + seconds) * 1000
        self.sleep((wanted_ms - self.at_ms) % DAY_MS // 1000 or DAY_MS // 1000)

    def until(self, wanted: str | Callable[[], bool], limit_s: int = 600) -> None:
        """Until the board is in a state, or something is so."""
        end_ms = self.at_ms + limit_s * 1000
        reached = (lambda: self.state == wanted) if isinstance(wanted, str) else wanted
        while not reached():
            assert self.at_ms < end_ms, f"not reached; the board is in {self.state}: {self.tail()}"
            self.tick(self._nap_ms())

    def _nap_ms(self) -> int:
        """A contact that has changed ends a nap."""
        awake = self.level or self.contacts != self.keeper.contacts
        return TICK_MS if awake else max(self.keeper.nap_ms, TICK_MS)

    @property
    def contacts(self) -> int:
        return self.rain + 2 * self.button

    # States.

    def go(self, state: str) -> None:
        """Bring the board to a state, from idle, done or a rest."""
        if state in ("check", "prime", "run", "soak"):
            if self.state == "idle":
                self._take_up(2 if state == "soak" else 1)
            elif self.state == "done":
                self.keeper.command(RUN, 0)
            if state == "prime":
                self.pressure_pa = 0
            self.until(state, 1200)
        elif state == "rest":
            self._trip("run", "pressure", 300000)
        elif state == "done":
            self.go("run")
            self.keeper.command(STOP, 0)
            self.until("done")
        elif state == "flat":
            self.go("run")
            self.ticks(6000)
            self.rest_mv = 12200
            # A battery goes down slowly; what goes down at once is a joint.
            while self.loaded_mv > 11200:
                self.loaded_mv -= MILLIVOLTS
                self.ticks(500)
            self.until("flat")
            self.loaded_mv = LOADED_MV
        elif state == "lockout":
            self._trip("run", "pressure", 420000)
        assert self.state == state

    def _take_up(self, runs: int) -> None:
        """A set that is due now, whatever the clock says. It is set 3, which is in no plan."""
        sets = self.keeper.plan
        sets.units[SPARE_SET] = MINUTES
        sets.amounts[SPARE_SET] = self.settings.hand_minutes
        sets.runs[SPARE_SET], sets.soaks_s[SPARE_SET] = runs, 600
        sets.begun_night[SPARE_SET] = NONE
        self.keeper.take_up(SPARE_SET, SET_DUE, COMPLETE)
        sets.units[SPARE_SET] = OFF

    def _trip(self, state: str, knob: str, value: int) -> None:
        self.go(state)
        setattr(self, knob + "_pa", value)
        self.until(lambda: self.state != state)
        setattr(self, knob + "_pa", None)

    def clear(self) -> None:
        self.keeper.command(CLEAR, 0)
        self.tick()

    def new_battery(self) -> None:
        self.keeper.command(BATTERY, 0)
        self.tick()

    # What the board shows.

    @property
    def state(self) -> str:
        return STATES[self.keeper.state]

    def q(self, name: str) -> int:
        return self.keeper.q[QUANTITIES.index(name)]

    def records(self, kind: int) -> list[dict[str, int]]:
        """The records of a kind, as dictionaries of their fields."""
        names = KINDS[kind][1]
        return [
            dict(zip(names, row[FIRST_NUMBER:], strict=False))
            for row in self.log
            if row[KIND] == kind
        ]

    def kinds(self) -> list[str]:
        return [KINDS[row[KIND]][0] for row in self.log]

    def said(self, rule: str) -> list[dict[str, int]]:
        """Trips and warnings of a rule."""
        number = RULE_NAMES.index(rule)
        both = self.records(TRIP) + self.records(WARN)
        return [record for record in both if record["rule"] == number]

    def tail(self) -> list[str]:
        return [f"{KINDS[row[KIND]][0]} {row[FIRST_NUMBER:]}" for row in self.log[-6:]]
