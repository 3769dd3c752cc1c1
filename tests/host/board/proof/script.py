"""A person who does what the steps say, on the workbench, as a rehearsal says it."""

from functools import partial

from rillkeeper.board.proof.calibrate import head_pa
from rillkeeper.board.proof.person import Skipped
from rillkeeper.board.proof.rehearsal import LOOK, hands_for, hands_to_answer
from rillkeeper.board.proof.step import Step
from rillkeeper.commands.hand import BETWEEN_S
from tests.host.board.proof.workbench import Workbench

COLUMN_PA = head_pa(4.0)
"""Of the hose that is held up (``rehearsal``)."""
FUSE_A = 25.0
HANDS_OFF_TICKS = 30
BEGIN_S = 0.5
"""From a word to the hand that it moves."""


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
        self.acts = True
        """Whether hands do more than plug the pump in or out."""
        self.instead: dict[str, str] = {}
        """What is done for a text in place of what it says."""
        self.turned_round = False
        self.warm_joint = False
        self.fuse_a = FUSE_A
        self.there = {row["hand"] for row in bench.hands.listed()}

    def ready(self, step: Step, text: str) -> None:
        self.said.append((step.id, text))
        if step.id in self.skips and text == step.before:
            raise Skipped(self.skips[step.id])
        began = self.bench.n
        took_s = self._do(self._hands(step, text))
        self.bench.ticks(round(10 * took_s) + HANDS_OFF_TICKS)
        self.handled_ticks += self.bench.n - began

    def tell(self, step: Step, text: str) -> None:
        self.said.append((step.id, text))
        self._do(self._hands(step, text))

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
            seen = {
                "hand-switch": plant.handled.switched_off,
                "pressure-switch": any("pressure switch" in words for _, words in plant.seen),
            }
            return seen.get(step.id, not self.warm_joint)
        return True

    def value(self, step: Step, question: str, dimension: str) -> float | None:
        self.said.append((step.id, question))
        if dimension == "current":
            return self.fuse_a if "printed" in question else FUSE_A
        if step.id == "polarity":
            volts = self.bench.meter_v() if self.bench.plant.pump_wired else 0.0
            return -volts if self.turned_round else volts
        if dimension == "volume":
            tub = next(line for line in self.bench.hands.look() if line.startswith("Tub: "))
            return float(tub.split()[1]) * 1e-3 * self.gauge_error
        if dimension == "voltage":
            return self.bench.meter_v() * self.gauge_error
        assert hands_to_answer(question) != LOOK
        self._do(hands_to_answer(question))
        self.bench.ticks(20)
        return COLUMN_PA * self.gauge_error

    def watch(self, step: Step, line: str) -> None:
        self.watched.append(line)

    def _hands(self, step: Step, text: str) -> str:
        words = self.instead.get(text) or hands_for(step, text, self.there)
        if self.acts or not words:
            return words
        pairs = words.split()
        places = [at for at, word in enumerate(pairs) if word == "pump-plug"]
        return " ".join(word for at in places for word in pairs[at : at + 2])

    def _do(self, words: str) -> float:
        """Do one thing after another, as `rillkeeper hand` does; how long that takes, in s."""
        at_s = BEGIN_S
        pairs = words.split()
        for what, how in zip(pairs[::2], pairs[1::2], strict=True):
            if what == "wait":
                at_s += float(how)
                continue
            self.bench.later(at_s, partial(self.bench.hands.do, what, how))
            at_s += BETWEEN_S
        return at_s
