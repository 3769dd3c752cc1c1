"""How fast the log is read over a serial line, in its model (tests/device/uartline.py)."""

from tests.bench.table import Row
from tests.device.uartline import BYTE_US, Reading

GOAL = 0.9


def rows(records: int = 4000) -> list[Row]:
    """A log of so many records, by each board's way of writing to its port."""
    return [_row(port, records) for port in ("rp2", "esp32")]


def _row(port: str, records: int) -> Row:
    reading = Reading(port, records)
    share = reading.run()
    return Row(
        f"log of {len(reading.wire.records):,} records at 115200 baud, {port} (model)",
        f"{share * 1e6 / BYTE_US:,.0f} bytes/s; latest tick {reading.late_ms:.0f} ms",
        "11,520 bytes/s",
        f"{100 * share:.1f} % of the line",
        f"at least {100 * GOAL:.0f} %",
        share >= GOAL,
    )
