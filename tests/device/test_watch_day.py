"""A host looks once a second, half an hour; ``python -m tests.bench`` has it look for a day."""

from pathlib import Path

import pytest

from tests.device import watchday

HOURS = 0.5

pytestmark = pytest.mark.interpreter


def test_half_an_hour_of_watch(tmp_path: Path) -> None:
    """No tick is missed, no look is late, the heap stays as it is, the log has no gap."""
    told = watchday.watch(tmp_path, HOURS)
    assert watchday.troubles(tmp_path, HOURS, told) == []
    assert any(" given set=1 cause=0 " in line for line in watchday.log_lines(tmp_path))
