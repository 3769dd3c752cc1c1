"""The log comes at nine tenths of what a line at 115200 baud can carry, and no tick waits."""

import pytest

from device import commands
from keeper import lines
from tests.device.uartline import READ_US, TICK_US, Reading

RECORDS = 400
SHARE = 0.9


@pytest.mark.parametrize("port", ["rp2", "esp32"])
def test_the_log_at_the_rate_of_the_line(port: str) -> None:
    reading = Reading(port, RECORDS)
    assert reading.run() >= SHARE
    numbers = [lines.parse_line(line)[0] for line in reading.wire.records]
    assert numbers == list(range(len(numbers)))
    assert len(numbers) > RECORDS
    assert reading.late_ms <= (TICK_US + 2 * READ_US) / 1000


def test_short_chunks_would_be_too_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """The model tells a board that waits for its host too often."""
    monkeypatch.setattr(commands, "CHUNK_LINES_MAX", commands.CHUNK_LINES)
    assert Reading("rp2", RECORDS).run() < SHARE
