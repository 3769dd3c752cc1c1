"""An error in front of statements of the device package; ``python -m tests.bench`` does all."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.device import injection
from tests.device.injection import Tally

EVERY = 61

pytestmark = pytest.mark.interpreter


def test_the_relay_is_open_after_an_error(need: Callable[[str], Path], tmp_path: Path) -> None:
    need("micropython")
    places = list(injection.places())
    assert len(places) > 500
    tally = Tally()
    for number, place in enumerate(places[::EVERY]):
        folder = tmp_path / str(number)
        folder.mkdir()
        injection.try_place(place, "RuntimeError", folder, tally)
    assert tally.wrong == []
    assert tally.raised > 0
    assert tally.not_reached > 0


@pytest.mark.parametrize("tick", range(10, injection.TICKS, 13))
def test_the_relay_is_open_after_ctrl_c(
    tick: int, need: Callable[[str], Path], tmp_path: Path
) -> None:
    need("micropython")
    assert injection.try_interrupt(tick, tmp_path) == ""
