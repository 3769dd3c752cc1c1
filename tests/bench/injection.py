"""An error, or Ctrl-C, in front of every statement of the device package, in real MicroPython."""

import tempfile
from pathlib import Path

from tests.bench.table import Row
from tests.device.injection import TICKS, Tally, places, try_interrupt, try_place


def rows(every: int = 1) -> list[Row]:
    """A board for each statement and each error."""
    rows = [_row(error, every) for error in ("RuntimeError", "KeyboardInterrupt")]
    return [*rows, _interrupt_row(every)]


def _interrupt_row(every: int) -> Row:
    found = []
    ticks = range(1, TICKS - 2, every)
    for tick in ticks:
        with tempfile.TemporaryDirectory() as folder:
            found.append(try_interrupt(tick, Path(folder)))
    wrong = [what for what in found if what]
    return Row(
        "Ctrl-C at every tick of a start and a run",
        f"{len(found) - len(wrong)} of {len(found)} leave the relay open",
        result=wrong[0] if wrong else "-",
        goal="all",
        met=not wrong,
    )


def _row(error: str, every: int) -> Row:
    tally = Tally()
    for place in list(places())[::every]:
        with tempfile.TemporaryDirectory() as folder:
            try_place(place, error, Path(folder), tally)
    return Row(
        f"{error} at {tally.tried} statements, {tally.raised} of them reached while pumping",
        f"{tally.tried - len(tally.wrong)} of {tally.tried} leave the relay open",
        result=tally.wrong[0] if tally.wrong else f"{len(tally.by_timer)} by the timer",
        goal="all",
        met=not tally.wrong,
    )
