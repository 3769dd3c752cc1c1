"""The twin: what the control package writes in CPython, the whole firmware writes as well.

The same nights over the same plant, once with ``keeper`` alone, once with boot.py, main.py and
the device package in MicroPython, from a littlefs image, behind converter counts and pin levels.
The log read back from that flash must be the same bytes.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.limits import settings_of
from rillkeeper.sitefile import demo_site
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec
from rillsim.virtualboard import VirtualBoard
from tests.interpreters import rigs

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("twin")]

Need = Callable[[str], Path]

# Ten and three quarter hours after the first noon the first set is under way.
FIRST_MS = 2**30 - int(10.75 * 3600 * 1000)


def twins(
    micropython: Path, folder: Path, nights: int, fault: FaultSpec | None = None, first_ms: int = 0
) -> tuple[Week, Week]:
    site = demo_site()
    settings = settings_of(site)
    faults = () if fault is None else (fault,)
    alone = replay(site, settings, nights=nights, seed=1, faults=faults, first_ms=first_ms)
    with VirtualBoard(micropython, rigs.FIRMWARE, folder, settings, first_ms=first_ms) as board:
        whole = replay(site, settings, nights=nights, seed=1, faults=faults, board=board)
        assert board.restarts == 0
    return alone, whole


@pytest.mark.slow
def test_the_demo_week(need: Need, tmp_path: Path) -> None:
    """Seven nights, the counter's wrap while the pump runs, the battery's trips home."""
    alone, whole = twins(need("micropython"), tmp_path, 7, first_ms=FIRST_MS)
    assert len(alone.log) > 300
    assert sum(" night " in line for line in alone.log) == 7
    assert sum(" boot cause=1 " in line for line in alone.log) >= 1, "no trip home, no restart"
    assert "\n".join(whole.log) == "\n".join(alone.log)


@pytest.mark.parametrize("name", ["outlet_shut", "source_empty", "weak_cell"])
def test_a_night_with_a_fault(name: str, need: Need, tmp_path: Path) -> None:
    """A trip, its retry and the stop for the night go through the same records."""
    fault = FaultSpec(name, night=1, offset_s=300.0)
    alone, whole = twins(need("micropython"), tmp_path, 1, fault)
    assert alone.faults[-1].felt, "the fault had no effect: nothing was tested"
    assert any(" trip " in line for line in alone.log)
    assert whole.log == alone.log


def test_the_comparison_can_fail(need: Need, tmp_path: Path) -> None:
    """A firmware that swaps two channels writes another log: the comparison can fail."""
    firmware = tmp_path / "firmware"
    firmware.mkdir()
    for path in rigs.FIRMWARE.iterdir():
        if path.name != "device":
            (firmware / path.name).symlink_to(path)
    (firmware / "device").mkdir()
    for path in (rigs.FIRMWARE / "device").glob("*.py"):
        text = path.read_text(encoding="utf-8")
        text = text.replace('"battery": 26', '"battery": 27').replace(
            '"pressure": 27', '"pressure": 26'
        )
        (firmware / "device" / path.name).write_text(text, encoding="utf-8")
    site = demo_site()
    settings = settings_of(site)
    with VirtualBoard(need("micropython"), firmware, tmp_path, settings) as board:
        whole = replay(site, settings, nights=1, seed=1, board=board)
    assert not any(" start " in line for line in whole.log)
    assert any(" trip " in line for line in whole.log)
