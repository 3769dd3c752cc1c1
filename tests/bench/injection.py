"""An error, or Ctrl-C, in front of every statement of the device package, in real MicroPython."""

import tempfile
from pathlib import Path

from tests.bench.table import Row
from tests.device.injection import Tally, places, try_place


def rows(every: int = 1) -> list[Row]:
    """A board for each statement and each error."""
    return [_row(error, every) for error in ("RuntimeError", "KeyboardInterrupt")]


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
