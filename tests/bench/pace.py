"""How well a virtual board keeps the pace that was asked for, by the clock of this machine."""

import tempfile
from datetime import datetime
from pathlib import Path
from time import monotonic, sleep

from rillkeeper.board.link import state
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.talk import Talk
from tests.bench.table import Row
from tests.host.board.link.virtual import Running

SPEEDS = (1.0, 20.0, 60.0)
OFF_PERCENT = 5.0


def rows(seconds: float = 20.0) -> list[Row]:
    """The board's seconds in one, for each speed, over so many seconds."""
    return [_row(speed, seconds) for speed in SPEEDS]


def _row(speed: float, seconds: float) -> Row:
    with tempfile.TemporaryDirectory() as folder:
        board = Running(Path(folder), "--speed", f"{speed:g}")
        try:
            with Port(board.path) as port:
                talk = Talk(port)
                first, begun_s = _edge(talk)
                sleep(seconds)
                last, ended_s = _edge(talk)
        finally:
            board.close()
    pace = (last - first).total_seconds() / (ended_s - begun_s)
    off_percent = 100.0 * (pace / speed - 1.0)
    return Row(
        f"pace of a virtual board at {speed:g}, over {seconds:g} s",
        f"{pace:.3f}",
        f"{speed:g}",
        f"{off_percent:+.2f} %",
        f"within {OFF_PERCENT:g} %",
        abs(off_percent) <= OFF_PERCENT,
    )


def _edge(talk: Talk) -> tuple[datetime, float]:
    """The board's clock just as its second changes, and the clock here [s]."""
    before = state.board_time(talk).now
    while (now := state.board_time(talk).now) == before:
        pass
    assert now is not None
    return now, monotonic()
