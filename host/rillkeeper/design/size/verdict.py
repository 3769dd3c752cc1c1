"""The verdict: a handful of questions, each answered in plain words with its figure.

Every question is judged by the same rule wherever it is asked: in the report, for each change
that is tried, and for each draw of an uncertain site.
"""

from dataclasses import dataclass
from math import isfinite

from rillkeeper.design.size.answer import ACT, GOOD, LOOK, Answer
from rillkeeper.design.size.facts import Facts
from rillkeeper.design.size.power_answers import battery, limits, volts, wiring
from rillkeeper.design.size.water_answers import cover, falls, need, soil, source, suction, water
from rillkeeper.display_units import Shown


@dataclass(frozen=True)
class Verdict:
    """All answers, in the order of the water's and the current's way."""

    answers: tuple[Answer, ...]

    @property
    def works(self) -> bool:
        """Nothing stands in the way."""
        return all(answer.state != ACT for answer in self.answers)

    @property
    def state(self) -> str:
        """The worst of the answers."""
        states = {answer.state for answer in self.answers}
        return next(state for state in (ACT, LOOK, GOOD) if state in states)

    @property
    def sentence(self) -> str:
        """The whole in one sentence."""
        wrong = [answer for answer in self.answers if answer.state == ACT]
        if wrong and wrong[0].key == "water":
            return f"This site cannot work: {_within(wrong[0].sentence)}"
        if wrong:
            reasons = "; ".join(_within(answer.short) for answer in wrong)
            return f"This site does not do its work yet: {reasons}."
        lesser = [answer for answer in self.answers if answer.state == LOOK]
        if lesser:
            reasons = "; ".join(_within(answer.short) for answer in lesser)
            return f"This site works, with a but: {reasons}."
        return "This site works: the spray covers the plot and nothing is overloaded."


def verdict_of(facts: Facts, shown: Shown) -> Verdict:
    """What the facts say to somebody who wants to know whether to buy."""
    first = water(facts, shown)
    if not facts.runs:
        return Verdict((first,))
    rest = [suction, cover, volts, wiring, limits, battery, soil, need]
    if not isfinite(facts.watering.need_s):  # Nothing lands on the plot: no time is long enough.
        rest = [suction, cover, volts, wiring, need]
    if falls(facts):
        rest.insert(0, source)
    return Verdict((first, *(ask(facts, shown) for ask in rest)))


def _within(sentence: str) -> str:
    """A sentence inside another."""
    return sentence[:1].lower() + sentence[1:]
