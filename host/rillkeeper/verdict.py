"""A verdict in plain words: a few questions, each with its answer, and the whole in a sentence.

The sizing of a site and the report of its nights both end in one.
"""

from collections.abc import Iterable
from dataclasses import dataclass

GOOD, LOOK, ACT = "good", "look", "act"


@dataclass(frozen=True)
class Answer:
    """The answer to one question."""

    key: str
    """Names the question."""
    question: str
    state: str
    """"good", "look" (works, with a but; worth a look when you are there) or "act"."""
    short: str
    """In a few words, under the question."""
    sentence: str
    """The same as a sentence that stands alone."""
    detail: str = ""
    """What to change, or what else there is to know; empty where nothing needs it."""


@dataclass(frozen=True)
class Verdict:
    """All answers, in the order in which a gardener asks, and the sentence that joins them."""

    answers: tuple[Answer, ...]
    sentence: str

    def __getitem__(self, key: str) -> Answer:
        return next(answer for answer in self.answers if answer.key == key)

    @property
    def works(self) -> bool:
        """Nothing stands in the way."""
        return not in_state(self.answers, ACT)

    @property
    def state(self) -> str:
        """The worst of the answers."""
        return next(state for state in (ACT, LOOK, GOOD) if in_state(self.answers, state))


def in_state(answers: Iterable[Answer], state: str) -> list[Answer]:
    """The answers of one state."""
    return [answer for answer in answers if answer.state == state]
