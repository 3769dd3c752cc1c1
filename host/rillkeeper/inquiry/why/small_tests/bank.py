"""The small tests tried out in the plant: what each would read on a site with a fault.

Plant, board and hands are those of a virtual board: the board's own limits stop what they would
stop, and what a person would measure is what a meter, a watch or a tape would show there.
"""

from collections.abc import Callable, Collection, Iterable
from dataclasses import replace
from math import log, nan

from keeper import Settings, cycle
from keeper.hand import RUN, STOP
from keeper.quantities import BATTERY_MV, PRESSURE_PA
from rillkeeper.inquiry.why.small_tests.table import (
    BUCKET,
    HOUR_S,
    RESTED,
    SETTLE_S,
    SHUT,
    TESTS,
    SmallTest,
)
from rillkeeper.inquiry.why.trials import SensorShift
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.runlog.runs import Run
from rillsim.boards.board import Board
from rillsim.handled import Handled, HandledPlant
from rillsim.site import FaultSpec, HomeSpec, Site

Readings = dict[str, float]
"""By the key of each reading, as it is compared; not a number where the test gave none."""

TICKS_PER_S = 10
LIVES_S = 23 * 3600
"""The faults are there for so long before the first test; the plant rests."""
_WAKE_S = 20
"""The board is watched from so long before the first start."""
_BEGIN_S = 15 * 3600
_START_DAY = 20643
_DAY_S = 86400
_PATIENCE_S = 150.0
PAUSE_S = 60.0
"""Between two runs: their decay is written."""
SHUT_S = 10.0
"""A pump that comes to no pressure against the shut tap is stopped after so long."""
HELD_MS = 15000
"""The board's look at the decay by which a shut line is judged."""
_LEAST_PA = 1000.0
_LAST_S = 10
"""Over so many seconds readings are averaged."""


class Bank:
    """One site with whatever is wrong with it, its board, and a person."""

    def __init__(
        self,
        site: Site,
        settings: dict[str, int],
        faults: Iterable[tuple[str, float]] = (),
        shift: SensorShift | None = None,
        in_a_run: Collection[str] = (),
    ) -> None:
        """``settings`` are the board's, for the site as it was meant. Faults whose names are
        among ``in_a_run`` come in the midst of a run before the first test."""
        first_s = (min(one.start_s for one in site.sets) - _BEGIN_S) % _DAY_S
        comes_s = dict.fromkeys(in_a_run, LIVES_S - first_s + SETTLE_S)
        specs = tuple(
            FaultSpec(name, 1, comes_s.get(name, -float(LIVES_S)), much) for name, much in faults
        )
        self.plant = HandledPlant(
            replace(
                site,
                faults=specs,
                battery_trips=(),
                home=HomeSpec(),
                water=replace(site.water, stored_m3=0.0),
            ),
            1,
            start_s=_BEGIN_S,
            start_day=_START_DAY,
            observed=False,
        )
        self.plant.sensors.be_exact()
        if shift:
            shift(self.plant.sensors)
        self.settings = settings
        self.site = site
        quiet = {f"set{number}_unit": 0 for number in (1, 2, 3) if f"set{number}_unit" in settings}
        self.board = Board(Settings({**settings, **quiet, "starts_max": 60}))
        self._n = (LIVES_S - _WAKE_S) * TICKS_PER_S
        self._level = 0
        self._until(lambda: False, _WAKE_S)
        if in_a_run:
            self.start()
            self.seconds(2.0 * SETTLE_S)
            self.stop()

    def seconds(self, seconds: float) -> None:
        """Let time pass."""
        self._until(lambda: False, seconds)

    def _until(self, seen: Callable[[], bool], seconds: float) -> bool:
        """Until something is seen, or so much time has passed."""
        end = self._n + round(seconds * TICKS_PER_S)
        plant, board = self.plant, self.board
        while self._n < end:
            n = self._n
            counts = plant.read(n)
            before = self._level
            if plant.board_powered:
                self._level = board.step(n, plant.clock.reading(n), counts)
                if self._level != before:
                    plant.drive(n, self._level)
            else:
                self._level = 0
            if seen():
                self._n += 1
                return True
            if self._level or board.keeper.hand.busy():
                self._n = n + 1
            else:
                wake = n + board.nap_ticks()
                self._n = max(n + 1, min(wake, plant.next_event_tick(), end))
        return seen()

    def hands(self, **how: object) -> None:
        """Leave the site like this."""
        self.plant.read(self._n)
        self.plant.handle(self._n, replace(Handled(), **how))  # type: ignore[arg-type]

    def start(self) -> bool:
        """Start by hand; whether the pump has come to work with its line full."""
        keeper = self.board.keeper
        keeper.command(RUN, 4)
        self._until(lambda: keeper.state in (cycle.CHECK, cycle.PRIME), 2.0)
        going = (cycle.CHECK, cycle.PRIME)
        self._until(lambda: keeper.state not in going, _PATIENCE_S)
        return keeper.state == cycle.RUN

    def start_shut(self) -> None:
        """Start against the shut tap: the board stops by itself, and is told not to try again."""
        self.start()
        self._until(lambda: not self.board.keeper.pumping(), SHUT_S)
        self.stop()

    def stop(self) -> None:
        """Stop, and let the decay be written."""
        if self.board.keeper.state not in (cycle.IDLE, cycle.DONE):
            self.board.keeper.command(STOP, 0)
        self.seconds(PAUSE_S)

    def settled(self) -> tuple[float, float] | None:
        """Pressure [Pa] and voltage [V] by the board, once the run has settled."""
        keeper = self.board.keeper
        if not self.start():
            return None
        self._until(lambda: keeper.state != cycle.RUN, SETTLE_S - _LAST_S)
        sums = [0.0, 0.0, 0.0]
        for _ in range(_LAST_S):
            self.seconds(1.0)
            if keeper.state != cycle.RUN:
                return None
            for place, value in enumerate((keeper.q[PRESSURE_PA], keeper.q[BATTERY_MV] / 1e3)):
                sums[place] += value / _LAST_S
        return sums[0], sums[1]

    @property
    def runs(self) -> tuple[Run, ...]:
        """What the board has written of its runs."""
        return nights_of(read_log(self.board.log), self.site.board, complete=True).runs

    def meters(self) -> tuple[float, float, float, float]:
        """Volts at the posts and in the pump's plug, flow [m3/s] at the nozzle and throw [m]."""
        plant = self.plant
        now, circuit = plant.truth(self._n - 1), plant.rig.circuit
        posts_v = now.board_v + (now.current_a + circuit.board_a) * circuit.wiring_ohm
        plug_v = now.board_v - now.current_a * circuit.contact_ohm
        return posts_v, plug_v, now.flow_m3_s, now.throw_m


def read_all(bank: Bank, tests: Iterable[SmallTest] = TESTS) -> Readings:
    """Every test on one site, one after the other."""
    ways = {test.way for test in tests}
    found = {one.key: nan for test in tests for one in test.readings}
    static_pa = float(bank.settings["static_pa"])
    settled = bank.settled()
    if settled:
        posts_v, plug_v, flow_m3_s, throw_m = bank.meters()
        found |= {
            "drop": posts_v - plug_v,
            "feed": posts_v - settled[1],
            "throw": log(max(throw_m, 0.1)),
            "conductance": conductance(flow_m3_s, settled[0], static_pa),
        }
    bank.stop()
    if SHUT in ways:
        bank.hands(tap=0.0)
        bank.start_shut()
        found |= against_shut_tap(bank.runs[-1], static_pa) if bank.runs else {}
        bank.hands()
    if BUCKET in ways:
        bank.hands(suction_in_bucket=True)
        lifted = bank.settled()
        found |= out_of_bucket(settled[0] if settled else None, lifted[0] if lifted else None)
        bank.stop()
        bank.hands()
        bank.settled()
        bank.stop()
    if RESTED in ways:
        bank.start()
        bank.stop()
        bank.seconds(HOUR_S)
        bank.start()
        bank.stop()
        found |= after_rest(bank.runs)
    return found


def conductance(flow_m3_s: float, pressure_pa: float, static_pa: float) -> float:
    """Logarithm of a flow over the root of the pressure that drives it."""
    return log(max(flow_m3_s, 1e-7)) - 0.5 * log(max(pressure_pa - static_pa, _LEAST_PA))


def against_shut_tap(run: Run, static_pa: float) -> Readings:
    """How high a start against the shut tap came, and what the shut line kept of it."""
    if run.stop is None or run.stop.pressure_pa is None:
        return {}
    top_pa = run.stop.pressure_pa
    looks = [look.pressure_pa for look in run.decay if look.after_ms == HELD_MS]
    held = nan
    if looks and looks[0] is not None:
        held = (looks[0] - static_pa) / max(top_pa - static_pa, _LEAST_PA)
    return {"rise": log(max(top_pa, _LEAST_PA)), "held": held}


def out_of_bucket(before_pa: float | None, after_pa: float | None) -> Readings:
    """By what the pressure has grown."""
    if before_pa is None or after_pa is None:
        return {}
    return {"lifted": log(max(after_pa, _LEAST_PA) / max(before_pa, _LEAST_PA))}


def after_rest(runs: tuple[Run, ...]) -> Readings:
    """How much longer the last start took to prime than the one before it."""
    times = [run.prime_ms for run in runs[-2:]]
    if len(times) < 2 or times[0] is None or times[1] is None:
        return {}
    return {"drained": log(max(times[1], 100) / max(times[0], 100))}
