"""A person who does what the steps say, on the workbench."""

from collections.abc import Callable

from rillkeeper.board.proof.person import Skipped
from rillkeeper.board.proof.step import Step
from rillsim.boards import contact
from rillsim.boards.sensors import BATTERY, CURRENT, FROST, GOOD, OPEN, PRESSURE
from tests.host.board.proof.workbench import Workbench

COLUMN_PA = 60_000.0
BENCH_V = 1.3
"""How far a bench supply pulls the voltage down for the second point."""


class ScriptedPerson:
    """Turns the knobs; ``said`` keeps what was asked and told, step by step."""

    def __init__(self, bench: Workbench) -> None:
        self.bench = bench
        self.said: list[tuple[str, str]] = []
        self.watched: list[str] = []
        self.skips: dict[str, str] = {}
        self.gauge_error = 1.0
        self.presses = True
        before, during, after = hands(bench)
        self.hands = {"before": before, "during": during, "after": after}

    def ready(self, step: Step, text: str) -> None:
        self.said.append((step.id, text))
        if step.id in self.skips and text == step.before:
            raise Skipped(self.skips[step.id])
        stage = "after" if text == step.after else "before"
        self._do(stage, step)
        self.bench.ticks(30)

    def tell(self, step: Step, text: str) -> None:
        self.said.append((step.id, text))
        if step.id == "button" and self.presses:
            self.bench.plant.button = True
            self.bench.later(0.4, self._let_go)
        self._do("during", step)

    def confirm(self, step: Step, question: str) -> bool:
        self.said.append((step.id, question))
        if "load side" in question:
            return self.bench.plant.pump_wired
        if "show nothing" in question:
            return not self.bench.plant.pump_wired
        return not question.startswith("Try")

    def value(self, step: Step, question: str, dimension: str) -> float | None:
        self.said.append((step.id, question))
        if dimension == "voltage":
            if question.startswith("Now"):
                self.bench.turn(added_v=-BENCH_V)
                self.bench.ticks(20)
            return self.bench.meter_v() * self.gauge_error
        self.bench.known_pa = COLUMN_PA
        self.bench.ticks(20)
        return COLUMN_PA * self.gauge_error

    def watch(self, step: Step, line: str) -> None:
        self.watched.append(line)

    def _let_go(self) -> None:
        self.bench.plant.button = False

    def _do(self, stage: str, step: Step) -> None:
        act = self.hands[stage].get(step.id)
        if act is not None:
            act()


Acts = dict[str, Callable[[], None]]


def hands(bench: Workbench) -> tuple[Acts, Acts, Acts]:
    """What is done before, during and after each step."""

    def chatter() -> None:
        for half in range(12):
            bench.later(0.5 * half, lambda off=half % 2 == 0: setattr(bench, "sense_off", off))

    def pull() -> None:
        bench.later(1.0, bench.pull_power)
        bench.later(12.0, bench.power_on)

    def lose_clock() -> None:
        """The plug of the chip; a board without one forgets when it has no power."""
        if bench.plant.clock.backed:
            bench.turn(clock_lost=True)
            return
        bench.pull_power()
        bench.later(10.0, bench.power_on)
        bench.ticks(101)

    before: Acts = {
        "pressure-known": lambda: setattr(bench, "known_pa", 0.0),
        "rain-contact": lambda: bench.turn(raining=True),
        "bad-battery": lambda: bench.channel(BATTERY, OPEN),
        "bad-pressure": lambda: bench.channel(PRESSURE, OPEN),
        "bad-frost": lambda: bench.channel(FROST, OPEN),
        "bad-current": lambda: bench.channel(CURRENT, OPEN),
        "swapped": lambda: bench.turn(channels_swapped=True),
        "frost": lambda: bench.turn(air_c=0.2),
        "relay-open": lambda: bench.turn(contact_mode=contact.STUCK_OPEN),
        "relay-closed": bench.bridge,
        "relay-stuck": bench.bridge_first,
        "no-clock": lose_clock,
        "no-prime": lambda: bench.turn(source_gone=True),
    }
    during: Acts = {
        "relay-chatter": chatter,
        "dead-head": lambda: bench.turn(open_share=0.0),
        "line-open": lambda: bench.turn(nozzle_area=8.0),
        "slow-choke": lambda: bench.turn(open_share=0.86),
        "power-pulled": pull,
        "dry-too-long": lambda: bench.turn(source_gone=True),
        "dry-run": lambda: bench.turn(source_gone=True),
        "relay-closed-unsensed": bench.bridge,
    }
    healthy = contact.GOOD
    after: Acts = {
        "pressure-known": lambda: setattr(bench, "known_pa", None),
        "battery-meter": lambda: bench.turn(added_v=0.0),
        "rain-contact": lambda: bench.turn(raining=False),
        "bad-battery": lambda: bench.channel(BATTERY, GOOD),
        "bad-pressure": lambda: bench.channel(PRESSURE, GOOD),
        "bad-frost": lambda: bench.channel(FROST, GOOD),
        "bad-current": lambda: bench.channel(CURRENT, GOOD),
        "swapped": lambda: bench.turn(channels_swapped=False),
        "frost": lambda: bench.turn(air_c=None),
        "relay-open": lambda: bench.turn(contact_mode=healthy),
        "relay-closed": bench.unbridge,
        "relay-stuck": bench.unbridge,
        "relay-closed-unsensed": bench.unbridge,
        "no-clock": lambda: bench.turn(clock_lost=False),
        "dead-head": lambda: bench.turn(open_share=1.0),
        "line-open": lambda: bench.turn(nozzle_area=1.0),
        "slow-choke": lambda: bench.turn(open_share=1.0),
        "dry-too-long": lambda: bench.turn(source_gone=False),
        "no-prime": lambda: bench.turn(source_gone=False),
    }
    return before, during, after
