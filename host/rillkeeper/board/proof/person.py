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
