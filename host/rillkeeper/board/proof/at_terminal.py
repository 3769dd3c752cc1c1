"""The person at a terminal: questions on it, readings in one line that is written over."""

import re
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from datetime import datetime

import click

from rillkeeper import units
from rillkeeper.board.proof.calibrate import head_pa
from rillkeeper.board.proof.look_at import LOOK_AT
from rillkeeper.board.proof.outcome import FAILED, Outcome
from rillkeeper.board.proof.person import Skipped
from rillkeeper.board.proof.rehearsal import hands_for, hands_to_answer, lacking
from rillkeeper.board.proof.step import Step
from rillkeeper.units import UnitError

_BARE_UNITS = {"voltage": "V", "current": "A"}
_WIDTH = 78
_COLOURS = {"passed": "green", "failed": "red"}


def leaves_out(text: str) -> bool:
    """Wait for Enter, or for "s". Nothing else goes on: whoever types "no" starts no pump."""
    while True:
        answer = click.prompt(text, default="", show_default=False).strip().lower()
        if answer in ("", "s"):
            return bool(answer)
        click.echo("only Enter goes on, and s leaves it out; Ctrl-C stops", err=True)


class AtTerminal:
    """Asks with click; Ctrl-C at any question breaks the proof off."""

    def __init__(self, hand: str = "", there: Collection[str] = ()) -> None:
        """``hand`` is the command that handles the site of a virtual board, and ``there`` is what
        that site has: each step then says how it is done at a desk."""
        self._hand = hand
        self._there = there
        self._watching = False
        self._asking = False
        """Whether the cursor stands behind a question: Ctrl-C leaves it there."""

    def begin(self, step: Step, number: int, of: int, seconds: float) -> None:
        """The heading of a step, and about how long it takes."""
        click.echo()
        about = f"{seconds / 60:.0f} min" if seconds > 90 else f"{max(seconds, 10):.0f} s"
        click.secho(f"{number}/{of}  {step.title}  [{step.id}], about {about}", bold=True)
        if step.rule:
            click.echo(f"Proves: {step.rule}. Must happen: {step.happens}.")
        if step.caution:
            click.secho(f"Caution: {step.caution}", fg="yellow")

    def ready(self, step: Step, text: str) -> None:
        """Wait for Enter; "s" leaves the step out, with a reason."""
        if self._hand and (part := lacking(step, self._there)) and text == step.before:
            click.secho(f"Virtual board: no {part} is fitted there; leave the step out", fg="cyan")
        self._how(hands_for(step, text, self._there))
        with self._question():
            if text == step.after:
                then = f"{text} Then press Enter"
                while click.prompt(then, default="", show_default=False).strip():
                    pass
                return
            if not leaves_out(f"{text} Press Enter when it is so, or s to leave this step out"):
                return
            reason = ""
            while not reason:
                reason = click.prompt("Why (it is recorded as not proved)").strip()
        raise Skipped(reason)

    def tell(self, step: Step, text: str) -> None:
        """Say what is to be done now; the bell rings."""
        self._end_watch()
        if self._asking:
            click.echo()
        click.secho(f"{datetime.now():%H:%M:%S}  NOW: {text}\a", bold=True)
        self._how(hands_for(step, text, self._there))

    def confirm(self, step: Step, question: str) -> bool:
        """A yes or a no."""
        self._how(hands_to_answer(question))
        with self._question():
            return click.confirm(question)

    def value(self, step: Step, question: str, dimension: str) -> float | None:
        """A quantity with its unit; a pressure may be a height of water."""
        self._how(hands_to_answer(question))
        with self._question():
            while text := click.prompt(question, default="", show_default=False).strip():
                try:
                    return read_value(text, dimension)
                except UnitError as error:
                    click.echo(f"{error}", err=True)
            return None

    def watch(self, step: Step, line: str) -> None:
        """Readings, in place."""
        self._watching = True
        click.echo(f"\r  {line[:_WIDTH]:<{_WIDTH}}", nl=False, err=True)

    def result(self, outcome: Outcome) -> None:
        """What came of the step; where it failed, what to look at."""
        self._end_watch()
        measured = f", {outcome.measured_text} of {outcome.limit_text}" if outcome.measured else ""
        note = f" ({outcome.note})" if outcome.note else ""
        colour = _COLOURS.get(outcome.result, "yellow")
        click.secho(f"{outcome.result}{measured}{note}", fg=colour)
        if outcome.result == FAILED:
            click.echo(f"Look at: {LOOK_AT[outcome.step]}")

    def _how(self, words: str) -> None:
        """How that is done on a virtual board."""
        if self._hand and words:
            self._end_watch()
            click.secho(f"Virtual board: {self._hand} {words}", fg="cyan")

    @contextmanager
    def _question(self) -> Iterator[None]:
        """Ctrl-C comes out of here with the question still open."""
        self._end_watch()
        self._asking = True
        yield
        self._asking = False

    def _end_watch(self) -> None:
        if self._watching:
            self._watching = False
            click.echo(err=True)


def read_value(text: str, dimension: str) -> float:
    """A measured value in SI units. Raises UnitError.

    >>> read_value("12.61", "voltage"), round(read_value("10 m of water", "pressure"))
    (12.61, 97890)
    >>> read_value("12,61 V", "voltage"), read_value("+12.61", "voltage")
    (12.61, 12.61)
    """
    text = re.sub(r"\s+(of\s+)?water$", "", text.strip().removeprefix("+"), flags=re.I)
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")  # As many meters and people write it.
    bare = text.replace(".", "", 1).removeprefix("-").isdigit()
    if bare and dimension in _BARE_UNITS:
        text = f"{text} {_BARE_UNITS[dimension]}"
    if dimension == "pressure":
        try:
            return head_pa(units.parse(text, "length"))
        except UnitError:
            pass
    return units.parse(text, dimension)
