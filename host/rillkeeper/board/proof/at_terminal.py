"""The person at a terminal: questions on it, readings in one line that is written over."""

import re
from datetime import datetime

import click

from rillkeeper import units
from rillkeeper.board.proof.calibrate import head_pa
from rillkeeper.board.proof.person import Skipped
from rillkeeper.board.proof.step import Step
from rillkeeper.units import UnitError

_BARE_UNITS = {"voltage": "V", "current": "A"}
_WIDTH = 78


class AtTerminal:
    """Asks with click; Ctrl-C at any question breaks the proof off."""

    def __init__(self) -> None:
        self._watching = False

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
        self._end_watch()
        if text == step.after:
            click.prompt(f"{text} Then press Enter", default="", show_default=False)
            return
        answer = click.prompt(
            f"{text} Press Enter when it is so, or s to leave this step out",
            default="",
            show_default=False,
        )
        if answer.strip().lower() == "s":
            raise Skipped(click.prompt("Why (it is recorded as not proved)").strip())

    def tell(self, step: Step, text: str) -> None:
        """Say what is to be done now; the bell rings."""
        self._end_watch()
        click.secho(f"{datetime.now():%H:%M:%S}  NOW: {text}\a", bold=True)

    def confirm(self, step: Step, question: str) -> bool:
        """A yes or a no."""
        self._end_watch()
        return click.confirm(question)

    def value(self, step: Step, question: str, dimension: str) -> float | None:
        """A quantity with its unit; a pressure may be a height of water."""
        self._end_watch()
        while True:
            text = click.prompt(question, default="", show_default=False).strip()
            if not text:
                return None
            try:
                return read_value(text, dimension)
            except UnitError as error:
                click.echo(f"{error}", err=True)

    def watch(self, step: Step, line: str) -> None:
        """Readings, in place."""
        self._watching = True
        click.echo(f"\r  {line[:_WIDTH]:<{_WIDTH}}", nl=False, err=True)

    def _end_watch(self) -> None:
        if self._watching:
            self._watching = False
            click.echo(err=True)


def read_value(text: str, dimension: str) -> float:
    """A measured value in SI units. Raises UnitError.

    >>> read_value("12.61", "voltage"), round(read_value("10 m of water", "pressure"))
    (12.61, 97890)
    """
    text = re.sub(r"\s+(of\s+)?water$", "", text.strip(), flags=re.I)
    bare = text.replace(",", ".").replace(".", "", 1).removeprefix("-").isdigit()
    if bare and dimension in _BARE_UNITS:
        text = f"{text.replace(',', '.')} {_BARE_UNITS[dimension]}"
    if dimension == "pressure":
        try:
            return head_pa(units.parse(text, "length"))
        except UnitError:
            pass
    return units.parse(text, dimension)
