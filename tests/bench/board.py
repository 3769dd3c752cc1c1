"""The figures of the board's firmware: what it survives, how late it may be, how much it takes."""

from collections.abc import Callable

from tests.bench import (
    firmware_size,
    injection,
    log_rate,
    loop_time,
    naps,
    noise,
    reboots,
    watch_day,
    wear,
)
from tests.bench.table import Row


def figures(quick: bool) -> dict[str, Callable[[], list[Row]]]:
    """Their names, and what measures each."""
    return {
        "board: size, heap, tick": firmware_size.rows,
        "board: loop time": loop_time.rows,
        "board: noise": lambda: noise.rows(*((1_000_000, 400_000) if quick else ())),
        "board: log rate": lambda: log_rate.rows(*((800,) if quick else ())),
        "board: watch": lambda: watch_day.rows(*((2.0,) if quick else ())),
        "board: naps": naps.rows,
        "board: flash wear": lambda: wear.rows(*((3,) if quick else ())),
        "board: errors": lambda: injection.rows(*((20,) if quick else ())),
        "board: reboots": lambda: reboots.rows(*((10,) if quick else ())),
    }
