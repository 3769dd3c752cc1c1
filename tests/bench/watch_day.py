"""A day of ``watch`` in the board's time: the whole loop in MicroPython, asked once a second."""

import tempfile
from pathlib import Path

from tests.bench.table import Row
from tests.device.watchday import HEAP_BYTES, log_lines, troubles, watch


def rows(hours: float = 24.0) -> list[Row]:
    """Ticks, looks, heap and log."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        told = watch(folder, hours)
        wrong = troubles(folder, hours, told)
        records = len(log_lines(folder))
    early, late = told["used"]
    return [
        Row(
            f"watch for {hours:g} h: {told['ticks']:,} ticks, {told['looks']:,} looks, "
            f"{records} records",
            f"heap {late - early:+d} bytes, looks late by {told['late_ms']} ms",
            result=wrong[0] if wrong else "nothing missed",
            goal=f"heap within {HEAP_BYTES}, no gap",
            met=not wrong,
        )
    ]
