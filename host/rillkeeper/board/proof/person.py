"""What the proof asks of the person at the board; a terminal, or a script in the tests."""

from collections.abc import Iterator
from typing import Protocol

from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.session import LOOK_S, Session
from rillkeeper.board.proof.step import Step
from rillkeeper.display_units import Shown

_SHOWN = Shown()


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


def looks(session: Session, person: Person, step: Step, patience_s: float) -> Iterator[Status]:
    """The board, look after look, until patience ends; the person sees each, and the time left."""
    end_s = session.clock_s() + patience_s
    while session.clock_s() < end_s:
        now = session.status()
        yield now
        show(person, step, now, end_s - session.clock_s())
        session.sleep(LOOK_S)


def show(person: Person, step: Step, now: Status, left_s: float) -> None:
    """One look, as the person sees it."""
    words = [now.doing, f"{max(left_s, 0.0):.0f} s left"]
    if now.pressure_pa is not None and now.battery_mv is not None:
        words.insert(1, _SHOWN.text(now.pressure_pa, "pressure"))
        words.insert(2, _SHOWN.text(now.battery_mv / 1000.0, "voltage"))
    person.watch(step, ", ".join(words))
