"""What the proof asks of the person at the board; a terminal, or a script in the tests."""

from typing import Protocol

from rillkeeper.board.proof.step import Step


class Skipped(Exception):
    """The person leaves a step out; the text is why."""


class Person(Protocol):
    """Somebody who does what a step says."""

    def ready(self, step: Step, text: str) -> None:
        """Wait until the person has done what the text says. Raises Skipped."""

    def tell(self, step: Step, text: str) -> None:
        """Say what is to be done now, without waiting."""

    def confirm(self, step: Step, question: str) -> bool:
        """A yes or a no."""

    def value(self, step: Step, question: str, dimension: str) -> float | None:
        """A measured value in SI units, or None where there is none."""

    def watch(self, step: Step, line: str) -> None:
        """Show readings while the board is waited for."""


class Nobody:
    """Stands in where a round needs no person: what must be so was said before it began."""

    def __init__(self, person: Person) -> None:
        self._person = person

    def ready(self, step: Step, text: str) -> None:
        """It is so."""

    def tell(self, step: Step, text: str) -> None:
        """Say it all the same."""
        self._person.tell(step, text)

    def confirm(self, step: Step, question: str) -> bool:
        """Nobody has seen it, and nobody wants it again."""
        return False

    def value(self, step: Step, question: str, dimension: str) -> float | None:
        """Nobody has measured."""
        return None

    def watch(self, step: Step, line: str) -> None:
        """Show readings."""
        self._person.watch(step, line)
