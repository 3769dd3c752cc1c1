"""A person who does what the steps say, on the workbench."""

from collections.abc import Callable

from rillkeeper.board.proof.person import Skipped
from rillkeeper.board.proof.step import WATER, Step
from rillsim.boards import contact
from rillsim.boards.sensors import BATTERY, CURRENT, FROST, GOOD, OPEN, PRESSURE
from tests.host.board.proof.workbench import Workbench

COLUMN_PA = 36_000.0
"""Of a hose that is held up."""
FUSE_A = 25.0
HANDS_OFF_TICKS = 30
LEAD_TICKS = 200
"""Longer than the board takes a stop for one that is going on."""


class ScriptedPerson:
    """Turns the knobs; ``said`` keeps what was asked and told, step by step."""

    def __init__(self, bench: Workbench) -> None:
        self.bench = bench
        self.said: list[tuple[str, str]] = []
        self.watched: list[str] = []
        self.handled_ticks = 0
        """Time that passed for its hands, of which nothing is to be learned."""
        self.skips: dict[str, str] = {}
        self.gauge_error = 1.0
        self.presses = True
        self.turned_round = False
        self.warm_joint = False
        self.fuse_a = FUSE_A
        before, during, after = hands(bench)
        self.hands = {"before": before, "during": during, "after": after}

    def ready(self, step: Step, text: str) -> None:
        self.said.append((step.id, text))
        if step.id in self.skips and text == step.before:
            raise Skipped(self.skips[step.id])
        stage = "after" if text == step.after else "before"
        if stage == "before":
            self.bench.plug(step.place == WATER)
        began = self.bench.n
        self._do(stage, step)
        self.bench.ticks(HANDS_OFF_TICKS)
        self.handled_ticks += self.bench.n - began

    def tell(self, step: Step, text: str) -> None:
        self.said.append((step.id, text))
        if step.id == "button" and self.presses:
            self.bench.plant.button = True
            self.bench.later(0.4, self._let_go)
        self._do("during", step)

    def confirm(self, step: Step, question: str) -> bool:
        self.said.append((step.id, question))
        plant = self.bench.plant
        if question.startswith("Try"):
            return False
        if "load side" in question:
            return plant.pump_wired
        if "show nothing" in question or step.id in ("pull-down", "stays-dead"):
            return not plant.pump_wired
        if question == step.ask:
            seen = {"hand-switch": not plant.hand_on, "pressure-switch": plant.cut_out}
            return seen.get(step.id, not self.warm_joint)
        return True

    def value(self, step: Step, question: str, dimension: str) -> float | None:
        self.said.append((step.id, question))
        if dimension == "current":
            return self.fuse_a if "printed" in question else FUSE_A
        if step.id == "polarity":
            volts = self.bench.meter_v() if self.bench.plant.pump_wired else 0.0
            return -volts if self.turned_round else volts
        if dimension == "voltage":
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

    def pull_and_put_back() -> None:
        bench.later(1.0, lambda: setattr(bench, "sense_off", True))
        bench.later(2.0, lambda: setattr(bench, "sense_off", False))

    def pull() -> None:
        bench.later(1.0, bench.pull_power)
        bench.later(12.0, bench.power_on)

    def lead_on(over: Callable[[], None]) -> None:
        bench.hand_switch(False)
        bench.ticks(LEAD_TICKS)
        over()
        bench.hand_switch(True)

    def lead_off() -> None:
        bench.hand_switch(False)
        bench.unbridge()
        bench.hand_switch(True)

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
        "pressure-zero": lambda: setattr(bench, "known_pa", 0.0),
        "rain-contact": lambda: bench.turn(raining=True),
        "bad-battery": lambda: bench.channel(BATTERY, OPEN),
        "bad-pressure": lambda: bench.channel(PRESSURE, OPEN),
        "bad-frost": lambda: bench.channel(FROST, OPEN),
        "bad-current": lambda: bench.channel(CURRENT, OPEN),
        "swapped": lambda: bench.turn(channels_swapped=True),
        "frost": lambda: bench.turn(air_c=0.2),
        "relay-open": lambda: bench.turn(contact_mode=contact.STUCK_OPEN),
        "relay-closed": lambda: lead_on(bench.bridge),
        "relay-closed-unsensed": lambda: lead_on(bench.bridge),
        "relay-stuck": lambda: lead_on(bench.bridge_first),
        "no-clock": lose_clock,
        "no-prime": lambda: bench.turn(source_gone=True),
    }
    during: Acts = {
        "stays-dead": pull,
        "hand-switch": lambda: bench.later(0.5, lambda: bench.hand_switch(False)),
        "relay-chatter": pull_and_put_back,
        "dead-head": lambda: bench.turn(open_share=0.0),
        "pressure-switch": lambda: bench.turn(open_share=0.0),
        "line-open": lambda: bench.turn(nozzle_area=8.0),
        "slow-choke": lambda: bench.turn(open_share=0.86),
        "power-lost": pull,
        "dry-too-long": lambda: bench.turn(source_gone=True),
        "dry-run": lambda: bench.turn(source_gone=True),
    }
    after: Acts = {
        "pressure-known": lambda: setattr(bench, "known_pa", None),
        "pressure-zero": lambda: setattr(bench, "known_pa", None),
        "hand-switch": lambda: bench.hand_switch(True),
        "rain-contact": lambda: bench.turn(raining=False),
        "bad-battery": lambda: bench.channel(BATTERY, GOOD),
        "bad-pressure": lambda: bench.channel(PRESSURE, GOOD),
        "bad-frost": lambda: bench.channel(FROST, GOOD),
        "bad-current": lambda: bench.channel(CURRENT, GOOD),
        "swapped": lambda: bench.turn(channels_swapped=False),
        "frost": lambda: bench.turn(air_c=None),
        "relay-open": lambda: bench.turn(contact_mode=contact.GOOD),
        "relay-closed": lead_off,
        "relay-closed-unsensed": lead_off,
        "relay-stuck": lead_off,
        "no-clock": lambda: bench.turn(clock_lost=False),
        "dead-head": lambda: bench.turn(open_share=1.0),
        "pressure-switch": lambda: bench.turn(open_share=1.0),
        "line-open": lambda: bench.turn(nozzle_area=1.0),
        "slow-choke": lambda: bench.turn(open_share=1.0),
        "dry-too-long": lambda: bench.turn(source_gone=False),
        "no-prime": lambda: bench.turn(source_gone=False),
    }
    return before, during, after
